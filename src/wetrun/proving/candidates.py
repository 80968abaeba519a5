"""What could still be read on this machine, each reading as it would come out if nothing more were wrong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import exp
from typing import TypeAlias

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.budget import Budget, Component
from wetrun.proving.identify import Scene, scene_of
from wetrun.proving.instruments import shown, truth_told
from wetrun.proving.redundant import Kind, Reading, Rig
from wetrun.spray.controller import Loop
from wetrun.units import Pa, Ratio

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

ANOTHER: dict[Ratio, str] = {2.0: "twice", 0.5: "half"}
"""How far from the first a further pressure is run; the first that tips and machine stand."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading that could be taken: its words, how it would come out, and the scene with it."""

    words: str
    readings: tuple[Reading, ...]
    scene: Scene


_Place: TypeAlias = tuple[Kind, int, int]
_Wanted: TypeAlias = tuple[str, list[_Place], tuple[()] | None]


def candidates(scene: Scene) -> Iterator[Candidate]:
    """Return what could still be read on this machine, as it would come out if nothing more were wrong.

    Parameters
    ----------
    scene : Scene
        What was read.

    Yields
    ------
    Candidate
        What to read, the readings, and everything with them.

    Notes
    -----
    A flow meter is asked for only where the machine has one, a cab sensor only where it was read, and no pressure
    outside what tips and machine stand or the tips' table tells.
    """
    for words, places, tools in (*_speeds(), *_at_points(scene), *_at_another(scene)):
        try:
            readings = _as_shown(scene, places, tools)
            more = scene_of(scene.rig, (*scene.readings, *readings))
        except (NotDefined, OutOfRange):
            continue  # not to be had on this machine, so nothing to advise
        yield Candidate(words, readings, more)


def _speeds() -> Iterator[_Wanted]:
    yield "the course timed again with another stopwatch over another tape", [(Kind.COURSE, 0, 0)], ()
    yield "another speed source over the same course", [(Kind.SPEED, 0, 0)], None


def _at_points(scene: Scene) -> Iterator[_Wanted]:
    taken = {reading.place for reading in scene.readings}
    sections = range(1, len(scene.rig.sections) + 1)
    metered = scene.rig.loop is Loop.METER or any(reading.kind is Kind.METER for reading in scene.readings)
    for point in (point.number for point in scene.points):
        if (Kind.GAUGE, point, 0, "") not in taken:
            yield f"a gauge at a tip at pressure {point}", [(Kind.GAUGE, point, 0)], None
        if metered and (Kind.METER, point, 0, "") not in taken:
            yield f"the flow meter at pressure {point}", [(Kind.METER, point, 0)], None
        if (Kind.TANK, point, 0, "") not in taken:
            yield f"the tank weighed over time at pressure {point}", [(Kind.TANK, point, 0)], None
        caught = [(Kind.CATCH, point, n) for n in sections if (Kind.CATCH, point, n, "") not in taken]
        if caught:
            yield f"catches of every section at pressure {point}", caught, None
        else:
            again = [(Kind.CATCH, point, n) for n in sections]
            yield f"the catches at pressure {point} again with another scale and stopwatch", again, ()


def _at_another(scene: Scene) -> Iterator[_Wanted]:
    """The same readings at a pressure far from the first, up if tips and machine stand it."""
    if not scene.points:
        return
    number, first_pa = max(point.number for point in scene.points) + 1, scene.points[0].tip_pa
    kinds = {reading.kind for reading in scene.readings if reading.point}
    places: list[_Place] = [(kind, number, 0) for kind in (Kind.METER, Kind.CAB, Kind.GAUGE) if kind in kinds]
    ratio = _ratio(scene.rig, first_pa)
    if places and scene.rig.low_pa <= ratio * first_pa <= scene.rig.high_pa:
        yield f"the same readings at {ANOTHER[ratio]} the pressure", places, None


def _ratio(rig: Rig, first_pa: Pa) -> Ratio:
    return next((ratio for ratio in ANOTHER if rig.low_pa <= ratio * first_pa <= rig.high_pa), min(ANOTHER))


def _as_shown(scene: Scene, places: Sequence[tuple[Kind, int, int]], tools: tuple[()] | None) -> tuple[Reading, ...]:
    """Readings at their honest values; on a pressure that was not run, away from the first."""
    truth = truth_told(scene.rig, scene.readings, scene.points)
    for _, point, _ in places:
        if point and point not in truth.tip_pa:
            truth = truth.at_another(point, _ratio(scene.rig, next(iter(truth.tip_pa.values()))))
    rough = [
        Reading(kind, 1.0, Budget((Component("further", USUAL_RATIO[kind]),)), point, section, "another", tools)
        for kind, point, section in places
    ]
    values = [exp(log) for log in shown(scene.rig, rough, truth)]
    return tuple(
        Reading(r.kind, value, r.budget.scaled(value), r.point, r.section, r.name, tools)
        for r, value in zip(rough, values, strict=True)
    )
