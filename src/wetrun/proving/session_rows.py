"""Lines of evidence made of a verdict: ratios as *less one*, limits beside them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from wetrun.proving.session_result import Evidence, Part
from wetrun.proving.verdict import Judged, Verdict
from wetrun.sources import source
from wetrun.units import RATIO, Unit

METER_THING = "error of the flow meter"
SET_THING = "whole set against new"


def speed_thing(name: str) -> str:
    """Return what the line of a speed source is called."""
    return f"speed by {name}"


@dataclass(frozen=True, slots=True)
class Held:
    """What a value is held against: the rule in words, where it is from, and whether that is a limit of the trade."""

    rule: str
    source_key: str
    of_trade: bool = True

    @property
    def caution(self) -> str:
        """What to say of the rule's own standing; empty if its number was read, follows from others or is exact.

        A test for chance has no limit of the trade: its share of false alarms is told with the rule.
        """
        status = source(self.source_key).status
        return "" if not self.of_trade or status in {"read", "derived", "definition"} else f"the limit is {status}"


@dataclass(frozen=True, slots=True)
class About:
    """What a line is about: the part, the thing in words, what to do, and its name from run to run."""

    part: Part
    thing: str
    next_step: str = ""
    place: str = ""


def line_of(about: About, found: Judged, held: Held, *, unit: Unit = RATIO, less: float = 0.0) -> Evidence:
    """Return a verdict as a line of evidence.

    Parameters
    ----------
    about : About
        What it is about.
    found : Judged
        The verdict.
    held : Held
        The rule.
    unit : Unit
        Unit of the value.
    less : float
        What is taken off value and limits: 1 for a flow over new, so that the line shows how much it is off.

    Returns
    -------
    Evidence
        One line.
    """
    return Evidence(
        part=about.part,
        thing=about.thing,
        value=found.value - less,
        expanded=found.expanded,
        low=None if found.low is None else found.low - less,
        high=None if found.high is None else found.high - less,
        unit=unit,
        rule=held.rule,
        source_key=held.source_key,
        verdict=found.verdict,
        next_step=about.next_step,
        place=about.place,
        caution=held.caution,
        budget=found.budget,
    )


def told(about: About, value: float, expanded: float | None = None, *, unit: Unit | None = RATIO) -> Evidence:
    """Return a value that is held against nothing.

    Parameters
    ----------
    about : About
        What it is about.
    value : float
        In the unit.
    expanded : float or None
        Its expanded uncertainty.
    unit : Unit or None
        None for a count.

    Returns
    -------
    Evidence
        A line without a verdict.
    """
    return Evidence(
        part=about.part,
        thing=about.thing,
        value=value,
        expanded=expanded,
        low=None,
        high=None,
        unit=unit,
        rule="",
        source_key="user",
        verdict=None,
        next_step=about.next_step,
        place=about.place,
        counts=False,
    )


def counted(about: About, bad: int, held: Held, *, verdict: Verdict | None = None) -> Evidence:
    """Return how many of something are wrong, where none should be.

    Parameters
    ----------
    about : About
        What it is about.
    bad : int
        How many.
    held : Held
        The rule.
    verdict : Verdict or None
        None takes fail if there are any, else pass.

    Returns
    -------
    Evidence
        A line with a count.
    """
    return Evidence(
        part=about.part,
        thing=about.thing,
        value=float(bad),
        expanded=None,
        low=None,
        high=0.0,
        unit=None,
        rule=held.rule,
        source_key=held.source_key,
        verdict=verdict or (Verdict.FAIL if bad else Verdict.PASS),
        next_step=about.next_step,
        place=about.place,
        caution=held.caution,
    )


def positions(numbers: Iterable[int]) -> str:
    """Return positions as people list them, runs drawn together.

    Example
    -------
    >>> positions([3, 4, 5, 9])
    '3–5, 9'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}" if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)


def farthest(lines: Sequence[Judged]) -> Judged:
    """Return the verdict that stands out most: a fail before undecided before pass, and then the least room left."""
    order = [Verdict.PASS, Verdict.UNDECIDED, Verdict.FAIL]
    return max(lines, key=lambda each: (order.index(each.verdict), -_room(each)))


def _room(found: Judged) -> float:
    """Distance to the nearer limit as a share of that limit; negative beyond it."""
    low = (found.value - found.low) / (abs(found.low) or 1.0) if found.low is not None else None
    high = (found.high - found.value) / (abs(found.high) or 1.0) if found.high is not None else None
    return min(room for room in (low, high, float("inf")) if room is not None)
