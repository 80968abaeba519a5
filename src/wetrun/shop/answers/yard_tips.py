"""A tip's reading as it comes in from a device: held against the boom, its unit made sure of, kept."""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.db import transaction

from wetrun.quantity import System
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.catch_keeping import unit_kept, wrong_with
from wetrun.shop.answers.catch_sheet import catch_sheet
from wetrun.shop.answers.wet_run_tests import YardTest, yard_test_at
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.readings import TypedReading
from wetrun.shop.typed.printed_units import with_unit
from wetrun.shop.yard.second_readings import YardKept, keep_tip


def wrong_with_tip(wet_run: WetRun, place: str, text: str, unit: str) -> str | None:
    """Return what is wrong with a tip's reading as a sentence, empty for nothing; None if the boom has no such tip."""
    test = yard_test_at(place)
    told: dict[str, Any] = {"wet_run": wet_run, "document": document_of(wet_run), "data": None}
    if test is None or test.key not in {"catch", "low-duty"}:
        return None
    places = {row.place for row in catch_sheet(told, test, System(wet_run.units)).rows}
    return wrong_with(text, unit) if place in places else None


def keep_tip_in_unit(wet_run: WetRun, typed: TypedReading, desk: Desk, *, unit: str, after: UUID | None) -> YardKept:
    """Keep what a tip gave, with the unit that was printed when it was typed.

    Parameters
    ----------
    wet_run : WetRun
        An open one.
    typed : TypedReading
        The reading, one that `wrong_with_tip` finds nothing wrong with.
    desk : Desk
        Who typed it.
    unit : str
        Printed at its box.
    after : UUID or None
        Entry that stood there as far as the device knew.

    Returns
    -------
    YardKept
        As `wetrun.shop.yard.second_readings.keep_tip`.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    EntryTaken
        If its entry stands for another reading.
    """
    test = yard_test_at(typed.place)
    with transaction.atomic():
        now = _unit_there(wet_run, desk, test, unit) if test is not None else unit
        text = typed.typed if now == unit or not typed.typed else with_unit(typed.typed, unit)
        return keep_tip(wet_run, replace(typed, typed=text), desk.user, after=after)


def _unit_there(wet_run: WetRun, desk: Desk, test: YardTest, unit: str) -> str:
    now = WetRun.objects.select_related("branch", "machine", "season").get(pk=wet_run.pk)
    return unit_kept(now, desk, test, unit) if now.is_open else unit
