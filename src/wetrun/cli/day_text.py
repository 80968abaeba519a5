"""The day in the yard: which tests fit the minutes there are, and what stays unproven."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from wetrun.cli.telling import say
from wetrun.papers.reader import Reader
from wetrun.percent import per_cent
from wetrun.proving.dayplan import DayPlan
from wetrun.quantity import Kind
from wetrun.spray.definitions import MINUTE_S

FORMAT_VERSION: Final = 1


def tell_day(title: str, plan: DayPlan, minutes: float, reader: Reader) -> None:
    """Print a day's plan.

    Parameters
    ----------
    title : str
        Of the wet-run file.
    plan : DayPlan
        The tests.
    minutes : float
        What there is.
    reader : Reader
        The reader's units.
    """
    say(f"{title}: {minutes:.0f} minutes")
    say()
    if not plan.tests:
        say("No test fits that time.")
    else:
        water = reader.text(plan.water_m3, Kind.VOLUME)
        say(f"In this order, about {plan.time_s / MINUTE_S:.0f} minutes and {water} of water:")
        for number, test in enumerate(plan.tests, start=1):
            say(f"  {number}. {test.value}")
    say()
    before, after = per_cent(plan.before_frac), per_cent(plan.after_frac)
    say(f"Standard uncertainty of the applied rate: {before} before, {after} after.")
    for left in plan.unproven:
        proved_by = " or ".join(test.value for test in left.proved_by)
        by = f"; proved by {proved_by}" if proved_by else ""
        say(f"Stays unproven: {left.doubt.value}, {per_cent(left.share_frac, places=0)} of the doubt that is left{by}.")
    for seen in plan.not_seen:
        say(f"Nobody will have looked at: {seen}.")
    if plan.next_test is not None:
        say(f"With more time, next: {plan.next_test.value}.")
    say("The figures behind this order are our own choice; no verdict rests on them.")


def plain_day(plan: DayPlan) -> dict[str, Any]:
    """Return a day's plan as plain data for ``--json``: names end in their SI unit."""
    return {"format_version": FORMAT_VERSION, **asdict(plan)}
