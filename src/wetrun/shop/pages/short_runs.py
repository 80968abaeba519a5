"""The customer who comes on the day: which tests fit the minutes, what stays unproven, the rest booked."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.short_runs import short_run_of, told_of_run
from wetrun.shop.pages.short_run_forms import BookingForm, MinutesForm, TestMinutesForm, initial_of_minutes
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Booking, Machine, YardRules
from wetrun.shop.records.models.base import Changed
from wetrun.shop.records.readiness import stand_of
from wetrun.shop.records.upkeep import rules_of

USUAL: Final = {"minutes": 45, "jugs": 6}


@asks(Act.LOOK, to_post=Act.ENTER, machine=Machine)
def short_run(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Show the shortest useful wet run for the minutes there are, and book the rest."""
    sent = request.POST if request.method == "POST" else request.GET
    asked = MinutesForm(sent if "minutes" in sent else USUAL)
    stand, rules = stand_of(machine, request.desk), rules_of(machine.branch_id)
    told: dict[str, Any] = {"machine": machine, "form": asked, "rules": rules, "stand": stand, "run": None}
    booking = BookingForm(request.POST or None, desk=request.desk)
    if asked.is_valid():
        given = asked.cleaned_data
        found = short_run_of(machine, given["minutes"], given["jugs"], proofs=stand.proofs, rules=rules)
        told |= {"run": None if found is None else told_of_run(found), "nothing_typed": found is None}
    if request.method == "POST" and told["run"] and booking.is_valid():
        _book(request, machine, booking, told["run"])
        return redirect("proofs", machine=machine.pk)
    return render(request, "short_runs/page.html", told | {"booking": booking})


def _book(request: DeskRequest, machine: Machine, form: BookingForm, run: dict[str, Any]) -> None:
    on, note = form.cleaned_data["on"], form.cleaned_data["note"]
    if Booking.objects.filter(machine=machine, on=on, tests=run["later"], closed_at=None).exists():
        messages.success(request, _("That is booked already."))
        return
    booking = Booking(machine=machine, on=on, tests=run["later"], unproven=run["unproven"], note=note)
    kept(booking, request.desk, _("booked"), after={"tests": run["later"], "unproven": run["unproven"]})
    messages.success(request, _("Booked. What stays unproven stands on the cab card until it is done."))


@asks(Act.ENTER, posts=True, booking=Booking)
def booking_close(request: DeskRequest, booking: Booking) -> HttpResponse:
    """Take down that booked tests were done, or are no longer wanted."""
    if request.method == "POST" and booking.closed_at is None:
        booking.closed_at = timezone.now()
        kept(booking, request.desk, _("closed"))
        messages.success(request, _("Closed."))
    return redirect("proofs", machine=booking.machine_id)


@asks(Act.LOOK, to_post=Act.PLAN)
def test_minutes(request: DeskRequest) -> HttpResponse:
    """Show and change what tests take in a branch."""
    rules = YardRules.objects.of(request.desk).first() or YardRules()
    form = TestMinutesForm(request.POST or None, initial=initial_of_minutes(rules.minutes))
    if request.method == "POST" and form.is_valid():
        before, rules.minutes = rules.minutes, form.typed
        try:
            kept(rules, request.desk, _("what tests take"), before=before, after=rules.minutes)
        except Changed:
            form.add_error(None, _("Somebody else changed these meanwhile. Send again to put yours in their place."))
        else:
            messages.success(request, _("Kept."))
            return redirect("test-minutes")
    return render(request, "short_runs/minutes.html", {"form": form, "rules": rules})


addresses = [
    path("machines/<int:machine>/short-run/", short_run, name="short-run"),
    path("bookings/<int:booking>/close/", booking_close, name="booking-close"),
    path("test-minutes/", test_minutes, name="test-minutes"),
]
