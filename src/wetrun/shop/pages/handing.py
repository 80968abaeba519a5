"""Makes the link by which an operator takes a machine over, and the cab card that carries its code."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.handing import offer_of
from wetrun.shop.answers.handing_card import passes_with_card, printed
from wetrun.shop.answers.papers import cab_card
from wetrun.shop.handing.models import Offer
from wetrun.shop.links.making import NewLink, end_of_day, made
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.links.shown import printed_code, shown_once
from wetrun.shop.links.sight import LinkRefused, seen_with
from wetrun.shop.pages.handing_forms import USUAL_DAYS, OfferForm
from wetrun.shop.pages.pdf import file_answer
from wetrun.shop.pages.template_tools import moment
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, TipPlan
from wetrun.shop.records.readiness import stand_of

OPENS = "handing-open"


@asks(Act.PLAN, posts=True, machine=Machine)
def handing_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Make a link by which operators take a machine over, and show it once."""
    stand = stand_of(machine, request.desk)
    passes = passes_with_card(stand.plan)
    until = request.desk.today + timedelta(days=USUAL_DAYS)
    usual = {"card": passes[0] if passes else "", "units": request.desk.system.value, "until": until}
    form = OfferForm(request.POST or None, initial=usual, passes=passes, today=request.desk.today)
    if request.method == "POST" and form.is_valid():
        return _shown(request, _linked(request, machine, stand.plan, form.cleaned_data))
    return render(request, "handing/new.html", {"form": form, "machine": machine, "passes": passes})


def _linked(request: DeskRequest, machine: Machine, plan: TipPlan | None, asked: dict[str, Any]) -> NewLink:
    offer = Offer(
        branch=machine.branch,
        machine=machine,
        plan=plan if asked["card"] else None,
        pass_name=asked["card"],
        units=asked["units"],
        once=asked["once"],
    )
    kept(offer, request.desk, _("offered over a link"))
    return made(request.desk, Purpose.HANDOVER, offer, machine, until=end_of_day(asked["until"], request.desk.zone))


def _shown(request: DeskRequest, new: NewLink) -> HttpResponse:
    told = {"machine": new.link.machine, "offer": offer_of(new.link), "shown": shown_once(request, new, OPENS)}
    answer = render(request, "handing/link.html", told)
    answer["Cache-Control"] = "no-store"  # the one page that shows the token
    return answer


@asks(Act.PLAN, posts=True, link=Link)
def handing_card(request: DeskRequest, link: Link) -> HttpResponseBase:
    """Hand out the cab card with the link's code, from the page that shows the link: the shop keeps no copy of it."""
    token = request.POST.get("token", "")
    if request.method != "POST" or not _opens(link, token):
        messages.error(request, _("The link has to be made anew first: the shop keeps no copy of it."))
        return redirect("handovers", machine=link.machine_id)
    offer, shown = offer_of(link), shown_once(request, NewLink(link, token), OPENS)
    plan = offer.plan
    if plan is None:
        raise Http404(_("This link shows no cab card."))
    words = _("Walk round, numbers, signature: until %(until)s") % {"until": moment(link.until)}
    wanted = printed(offer, code={"code_svg": printed_code(shown.address), "words": words})
    answer = file_answer(lambda: cab_card(plan, wanted))
    answer["Cache-Control"] = "no-store"  # its code is the link
    return answer


def _opens(link: Link, token: str) -> bool:
    try:
        return seen_with(token, Purpose.HANDOVER).pk == link.pk
    except LinkRefused:
        return False


addresses = [
    path("machines/<int:machine>/handovers/link/", handing_new, name="handing-new"),
    path("links/<int:link>/cab-card.pdf", handing_card, name="handing-card"),
]
