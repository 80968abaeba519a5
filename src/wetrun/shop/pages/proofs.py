"""What is proven on a machine, what has lapsed and why; what happened to it; how long proofs last in a branch."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.machine.proof_standing import State
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.handovers import steering_of_machine
from wetrun.shop.pages.listing import page_of
from wetrun.shop.pages.proof_forms import EventForm, LimitsForm, initial_of_event, initial_of_limits
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, MachineEvent, MonitorSettings, YardRules
from wetrun.shop.records.models.base import Changed
from wetrun.shop.records.readiness import stand_of
from wetrun.shop.records.upkeep import rules_of


@asks(Act.LOOK, machine=Machine)
def proofs(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Show how every proof stands, and what happened."""
    found = MachineEvent.objects.filter(machine=machine).select_related("made_by", "corrected_by__made_by")
    stand = stand_of(machine, request.desk)
    told = {
        "machine": machine,
        "standing": [one for one in stand.proofs if one.state is not State.NEVER],
        "never": [one for one in stand.proofs if one.state is State.NEVER],
        "booked": stand.booked,
        "page": page_of(request, found),
        "rules": rules_of(machine.branch_id),
    }
    return render(request, "proofs/page.html", told)


@asks(Act.ENTER, posts=True, machine=Machine)
def event_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Enter what happened to a machine."""
    return _answer(request, MachineEvent(machine=machine), {"who": request.desk.user.name})


@asks(Act.ENTER, posts=True, event=MachineEvent)
def event_correct(request: DeskRequest, event: MachineEvent) -> HttpResponse:
    """Put another entry in the place of one, or say that it never happened: the old one stays to be read."""
    if hasattr(event, "corrected_by"):
        messages.error(request, _("This entry was corrected already. Correct the one that stands."))
        return redirect("proofs", machine=event.machine_id)
    return _answer(request, MachineEvent(machine=event.machine, corrects=event), initial_of_event(event))


def _answer(request: DeskRequest, event: MachineEvent, initial: dict[str, Any]) -> HttpResponse:
    form = EventForm(request.POST or None, desk=request.desk, initial=initial)
    if request.method == "POST" and form.is_valid():
        _keep(request, form.fill(event))
        return redirect("proofs", machine=event.machine_id)
    told: dict[str, Any] = {"form": form, "machine": event.machine, "corrected": event.corrects}
    return render(request, "proofs/event.html", told)


def _keep(request: DeskRequest, event: MachineEvent) -> None:
    """Keep an entry once, however often it was sent; who corrects one that was corrected meanwhile is told."""
    with transaction.atomic():
        Machine.objects.select_for_update().get(pk=event.machine_id)
        if MachineEvent.objects.filter(entry=event.entry).exists():
            return
        if event.corrects_id and MachineEvent.objects.filter(corrects=event.corrects_id).exists():
            messages.error(request, _("Somebody corrected this entry meanwhile. Look at what stands there now."))
            return
        event.void = event.corrects_id is not None and "void" in request.POST
        event.density_in_monitor = _density_counts(event.machine)
        kept(event, request.desk, _trail_words(event), after=_told(event))
    messages.success(request, _("Kept."))


def _density_counts(machine: Machine) -> bool:
    """Whether the flow the monitor shows hangs on a density typed into it."""
    latest = MonitorSettings.objects.filter(machine=machine).first()
    scales = bool(latest is not None and latest.document.get("scales_meter_by_density"))
    return scales or not steering_of_machine(machine).metered


def _trail_words(event: MachineEvent) -> str:
    if event.void:
        return _("taken back: entered by mistake")
    return _("entered") if event.corrects_id is None else _("corrected")


def _told(event: MachineEvent) -> dict[str, Any]:
    plain = {name: str(getattr(event, name)) for name in ("kind", "on", "before_tests", "who", "note")}
    return {**plain, **event.typed}


@asks(Act.LOOK, to_post=Act.PLAN)
def proof_limits(request: DeskRequest) -> HttpResponse:
    """Show and change how long proofs last in a branch."""
    desk = request.desk
    rules = YardRules.objects.of(desk).first() or YardRules()
    posted = request.POST or None
    form = LimitsForm(posted, system=desk.system, initial=initial_of_limits(rules.lasts, desk.system))
    if request.method == "POST" and form.is_valid():
        before, rules.lasts = rules.lasts, form.typed
        try:
            kept(rules, desk, _("how long proofs last"), before=before, after=rules.lasts)
        except Changed:
            form.add_error(None, _("Somebody else changed these meanwhile. Send again to put yours in their place."))
        else:
            messages.success(request, _("Kept."))
            return redirect("proof-limits")
    return render(request, "proofs/limits.html", {"form": form, "rules": rules})


addresses = [
    path("machines/<int:machine>/proofs/", proofs, name="proofs"),
    path("machines/<int:machine>/events/new/", event_new, name="event-new"),
    path("events/<int:event>/correct/", event_correct, name="event-correct"),
    path("proof-limits/", proof_limits, name="proof-limits"),
]
