"""A wet run's own page: what it says, how far each test is, what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.wet_run_tests import TESTS, yard_tests_of
from wetrun.shop.answers.yard_stands import YardStand, yard_stands
from wetrun.shop.pages.wet_run_problems import address_of
from wetrun.shop.pages.wet_run_told import is_pulsed, told_of
from wetrun.shop.records.models import WetRun


@asks(Act.LOOK, wet_run=WetRun)
def wet_run_page(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Show a wet run: its answer, its tests, what to do next."""
    told = told_of(request, wet_run)
    document = told["document"]
    tests = yard_tests_of(document, pulsed=is_pulsed(wet_run))
    stands = list(yard_stands(tests, document, told["data"], wet_run.problems or []))
    told |= {
        "stands": stands,
        "next": next(_next(wet_run, told, stands), None),
        "earlier": getattr(wet_run, "supersedes", None),
        "readings": wet_run.readings.count(),
    }
    return render(request, "wet_runs/page.html", told)


def _next(wet_run: WetRun, told: dict[str, Any], stands: list[YardStand]) -> Iterator[tuple[str, str]]:
    """What to do next, the first thing first: words, and where."""
    data = told["data"] or {}
    if not told["gates_open"]:
        yield _("Confirm every gate before water flows."), address_of(wet_run, TESTS[0])
    for one in told["problems"]:
        yield (
            _("Put right what keeps the run from being judged: %(what)s.")
            % {"what": f"{one['test']}, {one['field']}" if one["test"] else one["field"]},
            one["address"],
        )
    if any(one["first"] for one in data.get("questions", [])):
        yield _("Answer the questions about readings, below."), "#questions"
    for step in data.get("steps", []):
        yield step, reverse("wet-run-result", kwargs={"wet_run": wet_run.pk})
    for stand in stands:
        if not stand.far and stand.test.parts:
            yield f"{stand.test.title}: {stand.test.does}", address_of(wet_run, stand.test)


addresses = [path("wet-runs/<int:wet_run>/", wet_run_page, name="wet-run")]
