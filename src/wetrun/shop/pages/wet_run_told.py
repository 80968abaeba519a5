"""What every page of a wet run is told: the run, its answer in the reader's units, and what keeps it from one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from wetrun.proving.gates import CAUTIONS
from wetrun.quantity import System
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.run_document import has_every_gate, table_of
from wetrun.shop.answers.wet_run_standing import brought_up_to_date
from wetrun.shop.answers.wet_run_tests import YardTest, yard_tests_of
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.pages.wet_run_problems import problems_told
from wetrun.shop.records.models import WetRun
from wetrun.shop.yard.second_readings import undecided


def told_of(request: DeskRequest, wet_run: WetRun) -> dict[str, Any]:
    """Return what a template is told of a wet run, judged anew if its readings changed.

    Parameters
    ----------
    request : DeskRequest
        Whose units.
    wet_run : WetRun
        The run.

    Returns
    -------
    dict
        ``wet_run``; ``document``, its readings laid in; ``data`` of its paper, None if it cannot be judged;
        ``problems``, each with the address where it can be put right; ``gates_open``, whether water may flow;
        ``may_enter``, ``may_plan``; ``cautions``; ``seconds``, readings of a tip that had another one meanwhile.
    """
    brought_up_to_date(wet_run)
    document, data = document_of(wet_run), wet_run.in_si if request.desk.system is System.SI else wet_run.in_us
    return {
        "wet_run": wet_run,
        "document": document,
        "data": data,
        "gates_open": data["started"] if data else has_every_gate(document),
        "problems": list(problems_told(request, wet_run, document)),
        "may_enter": request.desk.may_enter and wet_run.is_open,
        "may_plan": request.desk.may_plan,
        "cautions": CAUTIONS,
        "seconds": undecided(wet_run) if wet_run.is_open else [],
    }


def told_at_test(request: DeskRequest, wet_run: WetRun, test: YardTest) -> dict[str, Any]:
    """Return what the page of a test is told: also which test comes after it, and why this one is not worked out yet.

    Parameters
    ----------
    request : DeskRequest
        Whose units.
    wet_run : WetRun
        The run.
    test : YardTest
        Which test.

    Returns
    -------
    dict
        As `told_of`, with ``test``, ``after`` and ``why_not``.
    """
    told = told_of(request, wet_run)
    document = told["document"]
    tests = yard_tests_of(document, pulsed=is_pulsed(wet_run))
    after = tests[tests.index(test) + 1 :] if test in tests else ()
    why_not = "; ".join(_why_not(told["data"] or {}, test)) if test.far(document) else ""
    return told | {"test": test, "after": next(iter(after), None), "why_not": why_not}


def _why_not(data: Mapping[str, Any], test: YardTest) -> Iterator[str]:
    parts = {part.value for part in test.parts}
    untested = (one for one in data.get("untested", []) if one["part"] in parts)
    yield from (one["why"] for one in untested if one["why"] != "not tested")


def is_pulsed(wet_run: WetRun) -> bool:
    """Return whether the machine of a run pulses its tips; of a proven one, as it was then."""
    machine = wet_run.machine_then or wet_run.machine.document
    return table_of(machine, "control").get("loop") == "pulse width"
