"""What an operator does behind a link: sees the card, walks round, reads the numbers off, signs. One step a page."""

from __future__ import annotations

import uuid
from functools import partial
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.machine.walk_round import WALK, look_of
from wetrun.shop.answers.handing import (
    Signed,
    TooManyWalks,
    keep_step,
    left_on,
    offer_of,
    sign_walk,
    unsigned_walks,
    walk_begun,
    walk_of,
)
from wetrun.shop.answers.handing_card import card_shown
from wetrun.shop.answers.handovers import steering_of_machine
from wetrun.shop.answers.photos import photos_by_point
from wetrun.shop.handing.models import Walk
from wetrun.shop.links.door import asks_link
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.pages.handing_forms import (
    BeginForm,
    NumbersForm,
    SignForm,
    StepForm,
    WalkForm,
    compared_again,
    still_open,
)
from wetrun.shop.pages.handover_form import initial_of
from wetrun.shop.records.models import Handover
from wetrun.shop.records.models.base import Changed


@asks_link(Purpose.HANDOVER, posts=True)
def handing_open(request: HttpRequest, link: Link) -> HttpResponse:
    """Show the cab card, and begin a walk: every operator has one of his own."""
    offer = offer_of(link)
    form = BeginForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            return _to("handing-walk", request, walk_begun(offer, " ".join(form.cleaned_data["operator"].split())))
        except TooManyWalks as too_many:
            form.add_error(None, str(too_many))
    told = {"offer": offer, "card": card_shown(offer), "form": form, "begun": unsigned_walks(offer)}
    return render(request, "handing/open.html", {"token": token_of(request), **told})


@asks_link(Purpose.HANDOVER, posts=True)
def handing_walk(request: HttpRequest, link: Link, walk: uuid.UUID) -> HttpResponse:
    """Take the walk round in; of a signed walk show what was signed, and begin one that stands in for it."""
    it = walk_in(link, walk)
    if it.handover.signed_at is not None:
        return _again(request, it) if "again" in request.POST else _signed(request, it)
    form = WalkForm(request.POST or None, initial=initial_of(it.handover))
    if request.method == "POST" and form.is_valid() and _keep(it, form, _("walk round typed over the link")):
        return _after_walk(request, it)
    photos = photos_by_point(it.handover)
    points = [
        (look_of(name[5:]), form[name], form[f"remark-{name[5:]}"]) for name in form.fields if name[:5] == "look-"
    ]
    told = [(look, found, remark, photos.get(look.key, [])) for look, found, remark in points]
    return page(request, "handing/walk.html", it, form=form, points=told, step="walk")


def _after_walk(request: HttpRequest, it: Walk) -> HttpResponse:
    """Go where the button said: on, to a photo of one point, or nowhere."""
    if "stay" in request.POST:
        return _to("handing-walk", request, it)
    look = request.POST.get("photos", "")
    if any(look == each.key for each in WALK):
        return redirect(f"{_to('handing-photos', request, it)['Location']}?look={look}")
    return _to("handing-numbers", request, it)


@asks_link(Purpose.HANDOVER, posts=True)
def handing_numbers(request: HttpRequest, link: Link, walk: uuid.UUID) -> HttpResponse:
    """Take in what the monitor shows, and say of each number what a difference does to the rate."""
    it = walk_in(link, walk)
    if it.handover.signed_at is not None:
        return _to("handing-walk", request, it)
    steering = steering_of_machine(it.offer.machine)
    form = NumbersForm(request.POST or None, initial=initial_of(it.handover), left=left_on(it.offer), steering=steering)
    if request.method == "POST" and form.is_valid() and _keep(it, form, _("numbers typed over the link")):
        return _to("handing-numbers", request, it)
    return page(request, "handing/numbers.html", it, form=form, rows=form.rows(it.handover), step="numbers")


@asks_link(Purpose.HANDOVER, posts=True)
def handing_sign(request: HttpRequest, link: Link, walk: uuid.UUID) -> HttpResponse:
    """Show what was found once more, and take the signature if nothing is left open."""
    it = walk_in(link, walk)
    if it.handover.signed_at is not None:
        return _to("handing-walk", request, it)
    form = SignForm(request.POST or None, initial=initial_of(it.handover))
    left_open = still_open(it.handover, left_on(it.offer))
    if form.may_keep():
        if form.is_valid() and not left_open:
            if _sign(it, link, form):
                return _signed(request, it)
        elif _keep(it, form, _("name and remarks typed over the link")):
            _say_open(form, it.handover, left_open)
    return page(request, "handing/sign.html", it, form=form, step="sign", open=left_open, found=_found(it.handover))


def _say_open(form: SignForm, handover: Handover, sentences: tuple[str, ...]) -> None:
    for sentence in sentences:
        form.add_error(None, sentence)
    form.data = {**form.data.dict(), "version": str(handover.version)}  # type: ignore[attr-defined]


def _sign(it: Walk, link: Link, form: SignForm) -> bool:
    """Sign; False if somebody else was quicker."""
    left, steering = left_on(it.offer), steering_of_machine(it.offer.machine)

    def lay(now: Handover) -> None:
        form.lay(now)
        now.numbers = compared_again(now, left, steering)

    return _done(it, form, partial(sign_walk, it, link, lay))


def _keep(it: Walk, form: Any, what: str) -> bool:  # noqa: ANN401 - a step with `lay`
    """Keep a step; False if somebody else was quicker."""
    return _done(it, form, partial(keep_step, it, form.lay, what))


def _done(it: Walk, form: StepForm, do: Any) -> bool:  # noqa: ANN401 - takes the version expected
    try:
        it.handover = do(expected=form.cleaned_data.get("version") or it.handover.version)
    except Changed as changed:
        now = changed.now
        if isinstance(now, Handover):
            form.say_changed(now, initial_of(now), changed_words(now))
        return False
    except Signed:
        it.handover.refresh_from_db()
    return True


def _again(request: HttpRequest, it: Walk) -> HttpResponse:
    """Begin a walk that stands in for a signed one: what is signed is never edited."""
    try:
        return _to("handing-walk", request, walk_begun(it.offer, it.handover.operator, supersedes=it.handover))
    except TooManyWalks as too_many:
        return _signed(request, it, trouble=str(too_many))


def _signed(request: HttpRequest, it: Walk, trouble: str = "") -> HttpResponse:
    return page(request, "handing/signed.html", it, found=_found(it.handover), trouble=trouble)


def _found(handover: Handover) -> dict[str, Any]:
    """What was found: numbers that differ with what that does, and points that are wrong."""
    points = [{**row, "words": look_of(row["key"]).words} for row in handover.wrong_points]
    return {"numbers": handover.differing, "points": points}


def walk_in(link: Link, key: uuid.UUID) -> Walk:
    """Return a walk behind a link.

    Raises
    ------
    Http404
        If the link has no such walk.
    """
    offer = offer_of(link)
    walk = walk_of(offer, key)
    if walk is None:
        raise Http404(_("This link has no such walk round. Go back to the first page of the link."))
    walk.offer = offer
    return walk


def page(request: HttpRequest, template: str, it: Walk, **told: object) -> HttpResponse:
    """Return a page of a walk."""
    known = {"walk": it, "offer": it.offer, "handover": it.handover, "token": token_of(request)}
    return render(request, template, {**known, **told})


def token_of(request: HttpRequest) -> str:
    """Return the token in the address."""
    return str(request.resolver_match.kwargs["token"]) if request.resolver_match is not None else ""


def _to(name: str, request: HttpRequest, it: Walk) -> HttpResponse:
    return redirect(name, token=token_of(request), walk=it.key)


addresses = [
    path("take-over/<str:token>/", handing_open, name="handing-open"),
    path("take-over/<str:token>/<uuid:walk>/", handing_walk, name="handing-walk"),
    path("take-over/<str:token>/<uuid:walk>/numbers/", handing_numbers, name="handing-numbers"),
    path("take-over/<str:token>/<uuid:walk>/sign/", handing_sign, name="handing-sign"),
]
