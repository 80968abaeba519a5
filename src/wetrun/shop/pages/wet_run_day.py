"""Before and after a wet run: which tests the minutes there are allow, and what changed since an earlier run."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext_lazy

from wetrun.errors import WetrunError
from wetrun.quantity import sentence
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.wet_runs import changes_between, minutes_plan
from wetrun.shop.records.models import WetRun

JUGS: Final = 8
MINUTES: Final = 60
MOST_MINUTES: Final = 24 * 60


class DayForm(forms.Form):
    """What there is for a day in the yard."""

    minutes = forms.FloatField(label=gettext_lazy("Minutes there are"), min_value=1, max_value=MOST_MINUTES)
    jugs = forms.IntegerField(label=gettext_lazy("Jugs that can be held under at once"), min_value=1, max_value=200)


@asks(Act.LOOK, wet_run=WetRun)
def wet_run_day(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Show which tests are worth the minutes there are."""
    asked = DayForm(request.GET if "minutes" in request.GET else {"minutes": MINUTES, "jugs": JUGS})
    told: dict[str, Any] = {"wet_run": wet_run, "form": asked, "day": None}
    if asked.is_valid():
        given = asked.cleaned_data
        try:
            told["day"] = minutes_plan(wet_run, given["minutes"], given["jugs"], request.desk.system)
        except WetrunError as fault:
            told["trouble"] = sentence(fault, request.desk.system)
    return render(request, "wet_runs/day.html", told)


@asks(Act.LOOK, wet_run=WetRun)
def wet_run_compare(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Show what changed since an earlier wet run of the same machine."""
    others = WetRun.objects.filter(machine=wet_run.machine_id).exclude(pk=wet_run.pk)
    others = others.only("pk", "title", "on", "proven_at", "superseded_by_id", "branch_id")
    chosen = _chosen(request, wet_run, list(others))
    told: dict[str, Any] = {"wet_run": wet_run, "others": others, "since": chosen}
    if chosen is not None:
        try:
            told |= {"data": changes_between(WetRun.objects.get(pk=chosen.pk), wet_run, request.desk.system)}
        except WetrunError as fault:
            told["trouble"] = sentence(fault, request.desk.system)
    return render(request, "wet_runs/compare.html", told)


def _chosen(request: DeskRequest, wet_run: WetRun, others: list[WetRun]) -> WetRun | None:
    """The run that was asked for; unasked the one it supersedes, else the latest before it."""
    asked = request.GET.get("since", "")
    if asked:
        return next((one for one in others if str(one.pk) == asked), None)
    superseded = [one for one in others if one.superseded_by_id == wet_run.pk]
    before = [one for one in others if one.pk < wet_run.pk]
    return next(iter(superseded or before), None)


addresses = [
    path("wet-runs/<int:wet_run>/day/", wet_run_day, name="wet-run-day"),
    path("wet-runs/<int:wet_run>/since/", wet_run_compare, name="wet-run-compare"),
]
