"""Handing a machine over: the walk round, the monitor's numbers, the operator's name."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.machine.walk_round import look_of
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.handovers import LeftNumber, left_numbers, steering_of_machine
from wetrun.shop.answers.photos import photos_by_point
from wetrun.shop.handing.models import Walk
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.pages.handover_form import HandoverForm, initial_of
from wetrun.shop.pages.listing import page_of
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Handover, Machine, MonitorSettings, Season
from wetrun.shop.records.models.base import Changed
from wetrun.shop.records.readiness import stand_of

LINKS = 6


@asks(Act.LOOK, machine=Machine)
def handovers(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Show to whom a machine was handed."""
    found = Handover.objects.filter(machine=machine).defer("checks")
    links = Link.objects.filter(machine=machine, purpose=Purpose.HANDOVER.value)[:LINKS]
    told = {"machine": machine, "page": page_of(request, found), "links": links}
    return render(request, "handovers/list.html", told)


@asks(Act.ENTER, posts=True, machine=Machine)
def handover_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Begin to hand a machine over."""
    return _answer(request, machine, Handover(machine=machine))


@asks(Act.LOOK, to_post=Act.ENTER, handover=Handover)
def handover_page(request: DeskRequest, handover: Handover) -> HttpResponse:
    """Show a handover; one that is not signed is gone on with by whoever may enter."""
    if handover.signed_at is not None or not request.desk.may_enter:
        lapsed = stand_of(handover.machine, request.desk).lapsed
        told = {"handover": handover, "checks": _told(handover), "lapsed": lapsed, **_of_link(handover)}
        return render(request, "handovers/page.html", told)
    return _answer(request, handover.machine, handover)


def _answer(request: DeskRequest, machine: Machine, handover: Handover) -> HttpResponse:
    settings = MonitorSettings.objects.filter(machine=machine).first()
    stand = stand_of(machine, request.desk)
    left = () if settings is None else left_numbers(settings)
    form = _form(request, handover, stand.season, left)
    if request.method == "POST" and form.is_valid() and _keep(request, machine, handover, form):
        return redirect("handover-photos" if "photos" in request.POST else "handover", handover=handover.pk)
    told = {"form": form, "machine": machine, "handover": handover, "settings": settings}
    told["lapsed"] = stand.lapsed
    return render(request, "handovers/edit.html", told)


def _form(
    request: DeskRequest, handover: Handover, season: Season | None, left: tuple[LeftNumber, ...]
) -> HandoverForm:
    passes = [] if season is None else [str(one.get("name", "")) for one in season.document.get("pass", [])]
    if handover.pass_name and handover.pass_name not in passes:
        passes.append(handover.pass_name)
    handover.season = handover.season or season
    return HandoverForm(request.POST or None, initial=initial_of(handover), passes=passes, left=left)


def _keep(request: DeskRequest, machine: Machine, handover: Handover, form: HandoverForm) -> bool:
    """Keep or sign what was typed; False if somebody else was quicker."""
    signs = "sign" in request.POST
    form.fill(handover, steering_of_machine(machine))
    handover.signed_at = timezone.now() if signs else None
    handover.over_link = handover.over_link and not signs  # whoever signs here does so beside the specialist
    what = _("signed by %(name)s") % {"name": handover.signed_name} if signs else _("kept unfinished")
    try:
        kept(handover, request.desk, what, expected=form.cleaned_data.get("version"))
    except Changed as changed:
        form.add_error(None, changed_words(changed.now))
        return False
    messages.success(request, _("Handed over.") if signs else _("Kept. It is not signed yet."))
    return True


def _of_link(handover: Handover) -> dict[str, Any]:
    """Which signed handover stands in for this one, and for which this one stands in."""
    again = Walk.objects.filter(supersedes=handover, handover__signed_at__isnull=False).select_related("handover")
    before = Walk.objects.filter(handover=handover).exclude(supersedes=None).select_related("supersedes")
    later, earlier = again.first(), before.first()
    return {"later": later and later.handover, "earlier": earlier and earlier.supersedes}


def _told(handover: Handover) -> list[dict[str, Any]]:
    photos = photos_by_point(handover)
    return [
        {**row, "words": look_of(row["key"]).words, "photos": photos.get(row["key"], [])} for row in handover.checks
    ]


addresses = [
    path("machines/<int:machine>/handovers/", handovers, name="handovers"),
    path("machines/<int:machine>/handovers/new/", handover_new, name="handover-new"),
    path("handovers/<int:handover>/", handover_page, name="handover"),
]
