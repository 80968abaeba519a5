"""A second way to what lies: whole instruments left out one by one, without a thought of any fault.

The naming of the cross-check knows how each fault shifts every reading. This knows only which readings come from one
instrument or one tool, and asks what must go for the rest to agree. Where both end at the same, the name is surer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.linalg import solve_triangular

from wetrun.errors import NotDefined
from wetrun.proving.covariance import lower_factor
from wetrun.proving.crosscheck import CrossCheck
from wetrun.proving.elimination import Elimination, Places, left_out, serially_eliminated
from wetrun.proving.explain import Explanation
from wetrun.proving.faults import SETTINGS
from wetrun.proving.gross_error import ALARM_FRAC
from wetrun.proving.identify import Scene
from wetrun.proving.reconcile import Reconciliation
from wetrun.proving.redundant import Kind, Reading, Tool
from wetrun.proving.reference import Causes, matched_freedom, statistic_limit

SHOWS = 1.0
"""Standard deviations below which what is left of a fault's imprint no longer shows."""


class Ends(StrEnum):
    """Where the second way ends."""

    SAME = "ends at the same"
    ELSEWHERE = "ends elsewhere"
    NOWHERE = "comes to no end"


@dataclass(frozen=True, slots=True)
class SecondRoute:
    """What must be left out for the rest to agree, beside what was named.

    Attributes
    ----------
    ends : Ends
        Whether it comes to the same.
    dropped : tuple of tuple of str
        What goes, step by step; several names in one step would do alike.
    steps : tuple of Elimination
        The same with what it leaves.
    """

    ends: Ends
    dropped: tuple[tuple[str, ...], ...]
    steps: tuple[Elimination, ...]

    @property
    def words(self) -> str:
        """What it says, in one sentence."""
        if self.ends is Ends.NOWHERE:
            return (
                "Dropping the readings instrument by instrument settles nothing: with too few of them left, no second "
                "way stands behind the name."
            )
        gone = ", then ".join(" or ".join(step) for step in self.dropped)
        if self.ends is Ends.SAME:
            return f"Dropping the readings instrument by instrument ends at the same: without {gone}, the rest agrees."
        return (
            f"Dropping the readings instrument by instrument ends elsewhere (without {gone}): take the name as less "
            "sure, and read both again."
        )


def second_route(check: CrossCheck) -> SecondRoute | None:
    """Return where leaving out whole instruments ends, beside what a cross-check named.

    Parameters
    ----------
    check : CrossCheck
        What was found.

    Returns
    -------
    SecondRoute or None
        None without an alarm of the readings themselves, or where nothing was named of them.

    Notes
    -----
    It ends at the same if it takes no more steps than faults were named, the rest agrees, and what each named fault
    does to the rest is less than one standard deviation: what was dropped is what the faults had spoilt. It changes
    nothing of what is named, and tells no false alarm from a fault, nor of a second fault too small to see. Where two
    readings only check each other it cannot choose, and lists both.

    References
    ----------
    serial-elimination
    """
    named = [each for each in check.named if not all(sized.fault.kind in SETTINGS for sized in each.faults)]
    if check.statistic <= check.limit or not named:
        return None
    scene, names = check.scene, dict(_witnesses(check.scene.readings))

    def limit(rest: Reconciliation, here: Places) -> float:
        return _limit(scene, rest, here)

    steps = serially_eliminated(scene.found, list(names), limit=limit)
    dropped = tuple(_told([names[each] for each in (step.readings, *step.or_else)]) for step in steps)
    if not steps or steps[-1].statistic > steps[-1].limit:
        return SecondRoute(Ends.NOWHERE, dropped, steps)
    gone = sorted({n for step in steps for n in step.readings})
    try:
        same = len(steps) <= len(named) and all(_silenced(scene, gone, each) for each in named)
    except NotDefined:
        return SecondRoute(Ends.NOWHERE, dropped, steps)
    return SecondRoute(Ends.SAME if same else Ends.ELSEWHERE, dropped, steps)


def _told(names: Sequence[str]) -> tuple[str, ...]:
    """Leave out the sections of what goes as a whole just as well."""
    return tuple(name for name in names if not any(name.startswith(f"{other} of ") for other in names))


def _limit(scene: Scene, rest: Reconciliation, here: Places) -> float:
    """Limit of what remains, accounting for uncertainties that are themselves estimates, as the alarm does."""
    if not rest.redundancy:
        return 0.0
    pushes = rest.coefficients @ scene.table.effects[list(here)]
    causes = Causes(solve_triangular(lower_factor(rest.residual_covariance), pushes, lower=True), scene.table.freedoms)
    freedom = matched_freedom(causes.shares, causes.freedoms, rest.redundancy)
    return float(statistic_limit(rest.redundancy, freedom, ALARM_FRAC))


def _silenced(scene: Scene, gone: list[int], named: Explanation) -> bool:
    """Whether the rest no longer shows a named fault; any of those that are tied."""
    rest = left_out(scene.found, gone)
    keep = np.setdiff1d(np.arange(len(scene.readings)), gone)
    white = solve_triangular(lower_factor(rest.residual_covariance), rest.coefficients, lower=True)
    imprints = (sized.size * scene.signatures[keep, scene.faults.index(sized.fault)] for sized in named.faults)
    return any(float(np.linalg.norm(white @ imprint)) < SHOWS for imprint in imprints)


def _witnesses(readings: tuple[Reading, ...]) -> Iterator[tuple[Places, str]]:
    """Everything that could lie as one: instruments, what one tool measured, one section of a catch or chart.

    Of two with the same readings the first gives the name.
    """
    found: dict[str, list[int]] = {}
    for n, reading in enumerate(readings):
        for words in _names(reading):
            found.setdefault(words, []).append(n)
    for n, reading in enumerate(readings):
        for tool in reading.taken_with:
            found.setdefault(_TIMED if tool is Tool.STOPWATCH else f"what the {tool.value} told", []).append(n)
    by_places: dict[Places, str] = {}
    for words, places in found.items():
        by_places.setdefault(tuple(places), words)
    yield from by_places.items()


_TIMED = "everything that the stopwatch timed"
_WORDS = {
    Kind.COURSE: "the timed course",
    Kind.METER: "the flow meter",
    Kind.CATCH: "the catches",
    Kind.CAB: "the cab pressure",
    Kind.GAUGE: "the gauge at the tip",
    Kind.TANK: "the tank over time",
    Kind.CHART: "the tips' chart",
    Kind.HOSE: "the figure for the hoses' loss",
}


def _names(reading: Reading) -> Iterator[str]:
    yield _WORDS.get(reading.kind, f"the speed source {reading.name}")
    if reading.section:
        yield f"{_WORDS[reading.kind]} of section {reading.section}"
