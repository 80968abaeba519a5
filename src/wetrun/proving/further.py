"""The one further reading that would tell apart what these cannot: found by trying each that could be taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import exp

import numpy as np

from wetrun.proving.budget import Budget, Component
from wetrun.proving.crosscheck import CrossCheck
from wetrun.proving.explain import SizedFault
from wetrun.proving.faults import SETTINGS, Fault
from wetrun.proving.identify import Scene, scene_of
from wetrun.proving.instruments import shown, truth_told
from wetrun.proving.reconcile import FloatArray
from wetrun.proving.redundant import Kind, Reading
from wetrun.units import Ratio

USUAL_RATIO: dict[Kind, Ratio] = {
    Kind.COURSE: 0.005,
    Kind.SPEED: 0.005,
    Kind.METER: 0.01,
    Kind.CATCH: 0.005,
    Kind.CAB: 0.015,
    Kind.GAUGE: 0.01,
    Kind.TANK: 0.005,
}
"""Relative standard uncertainty a further reading is taken to have; our choice, between careful and typical."""

ENOUGH = 3.0
"""Standard deviations between two explanations that count as told apart."""

SCREEN = "the rate, speed and flow on the monitor's screen"


@dataclass(frozen=True, slots=True)
class Further:
    """One more reading, and what it would do.

    Attributes
    ----------
    words : str
        What to read.
    readings : tuple of Reading
        As it would come out; empty for the monitor's screen.
    apart : int
        Pairs of explanations that it would tell apart.
    pairs : int
        Pairs that had to be told apart.
    least : float
        Standard deviations between the two that stay nearest.
    """

    words: str
    readings: tuple[Reading, ...]
    apart: int
    pairs: int
    least: float


def further_reading(check: CrossCheck) -> Further | None:
    """Return the reading that would tell most of the explanations apart, or None if there is nothing to tell.

    Parameters
    ----------
    check : CrossCheck
        What was found.

    Returns
    -------
    Further or None
        Best of all that could still be taken on this machine.

    Notes
    -----
    Explanations are what is tied with the first name and, if it stands alone, what else would do alone. Each
    candidate is added to the readings and the distance between every two explanations worked out anew, both at the
    size they would have to have. The candidates' uncertainties are `USUAL_RATIO`.

    References
    ----------
    narasimhan-mah-1987
    """
    suspects = _suspects(check)
    if len(suspects) < 2:
        return None
    if any(sized.fault.kind in SETTINGS for sized in suspects):
        return None  # a setting is told by looking it up, not by another reading
    tried = [_tried(check.scene, words, readings, suspects) for words, readings in candidates(check.scene)]
    best = max(tried, key=lambda one: (one.apart, round(one.least, 3)), default=None)
    return best if best is not None and best.apart else None


def _suspects(check: CrossCheck) -> tuple[SizedFault, ...]:
    if not check.named:
        return ()
    for explanation in check.named:
        if explanation.tied:
            return explanation.faults
    first = check.named[0]
    enough = [other for other in check.alternatives if other.left_frac > 0.05]
    return (*first.faults, *(sized for other in enough for sized in other.faults))


def _tried(scene: Scene, words: str, readings: tuple[Reading, ...], suspects: Sequence[SizedFault]) -> Further:
    more = scene_of(scene.rig, (*scene.readings, *readings))
    gaps = [_distance(more, one, other) for one, other in combinations(suspects, 2)]
    apart = sum(gap >= ENOUGH for gap in gaps)
    return Further(words, readings, apart, len(gaps), min(gaps))


def _distance(scene: Scene, one: SizedFault, other: SizedFault) -> float:
    """How far the readings of one fault stay from anything that the other could explain; the nearer way round."""
    traces = [sized.size * scene.traces[:, scene.faults.index(sized.fault)] for sized in (one, other)]
    return min(_out_of(traces[0], traces[1]), _out_of(traces[1], traces[0]))


def _out_of(trace: FloatArray, line: FloatArray) -> float:
    length = float(line @ line)
    return float(np.linalg.norm(trace - line * (trace @ line) / length)) if length else float(np.linalg.norm(trace))


def candidates(scene: Scene) -> Iterator[tuple[str, tuple[Reading, ...]]]:
    """Return what could still be read on this machine, as it would come out if nothing more were wrong.

    Parameters
    ----------
    scene : Scene
        What was read.

    Yields
    ------
    tuple of str and of Reading
        What to read, and the readings.
    """
    taken = {reading.place for reading in scene.readings}
    points = [point.number for point in scene.points]
    yield "the course timed again with another stopwatch over another tape", _as_shown(scene, [(Kind.COURSE, 0, 0)], ())
    yield "another speed source over the same course", _as_shown(scene, [(Kind.SPEED, 0, 0)], None)
    for point in points:
        for kind, words in (
            (Kind.GAUGE, f"a gauge at a tip at pressure {point}"),
            (Kind.METER, f"the flow meter at pressure {point}"),
            (Kind.TANK, f"the tank weighed over time at pressure {point}"),
        ):
            if (kind, point, 0, "") not in taken:
                yield words, _as_shown(scene, [(kind, point, 0)], None)
        sections = range(1, len(scene.rig.sections) + 1)
        caught = [(Kind.CATCH, point, n) for n in sections if (Kind.CATCH, point, n, "") not in taken]
        if caught:
            yield f"catches of every section at pressure {point}", _as_shown(scene, caught, None)
        else:
            again = [(Kind.CATCH, point, n) for n in sections]
            yield f"the catches at pressure {point} again with another scale and stopwatch", _as_shown(scene, again, ())
    if points:
        number = max(points) + 1
        kinds = {reading.kind for reading in scene.readings if reading.point} & {Kind.METER, Kind.CAB, Kind.GAUGE}
        places = [(kind, number, 0) for kind in (Kind.METER, Kind.CAB, Kind.GAUGE) if kind in kinds]
        yield "the same readings at twice the pressure", _as_shown(scene, places, None)


def _as_shown(scene: Scene, places: Sequence[tuple[Kind, int, int]], tools: tuple[()] | None) -> tuple[Reading, ...]:
    """Readings at their honest values; on a pressure that was not run, at twice the first."""
    truth = truth_told(scene.rig, scene.readings, scene.points)
    for _, point, _ in places:
        if point and point not in truth.tip_pa:
            truth = truth.at_another(point, 2.0)
    rough = [
        Reading(kind, 1.0, Budget((Component("further", USUAL_RATIO[kind]),)), point, section, "another", tools)
        for kind, point, section in places
    ]
    values = [exp(log) for log in shown(scene.rig, rough, truth)]
    return tuple(
        Reading(r.kind, value, r.budget.scaled(value), r.point, r.section, r.name, tools)
        for r, value in zip(rough, values, strict=True)
    )


def further_for_unseen(check: CrossCheck, fault: Fault) -> str:
    """Return what would show a fault that these readings cannot see; empty if no reading of a water run would.

    Parameters
    ----------
    check : CrossCheck
        What was found.
    fault : Fault
        One of `check.unseen`.

    Returns
    -------
    str
        What to read.
    """
    if fault.kind is SETTINGS[0]:
        return SCREEN
    for words, readings in candidates(check.scene):
        more = scene_of(check.scene.rig, (*check.scene.readings, *readings))
        if fault not in more.unseen:
            return words
    return ""
