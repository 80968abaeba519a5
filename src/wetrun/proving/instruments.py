"""What every instrument shows for what really is: the machine run forward, with all its faults.

Nothing here knows the balances. A fault is done to the machine or to an instrument, the instruments are read, and the
shift of their logarithms is the fault's signature.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from wetrun.proving.covariance import FloatArray
from wetrun.proving.faults import Fault, FaultKind, has_fault, misread
from wetrun.proving.redundant import Kind, Reading, Rig, Tool
from wetrun.proving.steady import Point, chart_flow_m3s, hose_drop_pa
from wetrun.units import Mps, Pa, Ratio

SMALL: Ratio = 0.01
"""Share of a pressure that is small enough for a slope."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """How the machine really runs at each steady pressure.

    Attributes
    ----------
    speed_mps : float
        Ground speed [m/s].
    tip_pa : dict
        Pressure at the tips by point [Pa].
    section_ratios : tuple of float
        Flow of each section over its chart [ratio].
    hose_ratio : float
        Loss of the hoses over the machine's own figure [ratio].
    """

    speed_mps: Mps
    tip_pa: dict[int, Pa]
    section_ratios: tuple[Ratio, ...]
    hose_ratio: Ratio = 1.0

    def shifted(self, shift_pa: Pa) -> Truth:
        """Return the same with every pressure at the tips moved by a shift [Pa], but never below a tenth of itself."""
        return replace(self, tip_pa={n: max(pa + shift_pa, 0.1 * pa) for n, pa in self.tip_pa.items()})

    def at_another(self, point: int, pressure_ratio: Ratio) -> Truth:
        """Return the same with one more steady pressure, its pressure by its ratio to the first [ratio]."""
        return replace(self, tip_pa={**self.tip_pa, point: pressure_ratio * next(iter(self.tip_pa.values()))})


def truth_told(rig: Rig, readings: Sequence[Reading], points: Sequence[Point]) -> Truth:
    """Return the state of the machine that the readings first say, for slopes to be taken at.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Of one wet run.
    points : sequence of Point
        Its steady pressures.

    Returns
    -------
    Truth
        Speed, pressures, sections over chart.
    """
    speeds = [reading.value for reading in readings if reading.kind in {Kind.COURSE, Kind.SPEED}]
    ratios = tuple(1.0 for _ in rig.sections)
    if points:
        first = points[0]
        one_m3s = chart_flow_m3s(rig, first.tip_pa)
        ratios = tuple(flow / (n * one_m3s) for flow, n in zip(first.section_m3s, rig.sections, strict=True))
    tip_pa = {point.number: point.tip_pa for point in points}
    return Truth(speed_mps=speeds[0] if speeds else 1.0, tip_pa=tip_pa, section_ratios=ratios)


def shown(
    rig: Rig, readings: Sequence[Reading], truth: Truth, faults: Sequence[tuple[Fault, float]] = ()
) -> FloatArray:
    """Return the logarithm of what every instrument shows.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Which instruments, where; their values are not looked at.
    truth : Truth
        How the machine really runs, before any fault of the machine.
    faults : sequence of (Fault, float)
        What is wrong, and how much.

    Returns
    -------
    array, (readings,)
        Natural logarithms of SI values.

    Notes
    -----
    The pressure at the tips is kept while tips change: a controller would move it, and every flow with it, but along
    the balances, which no cross-check can see.
    """
    return _shown(rig, _instruments(tuple((r.place, r.taken_with) for r in readings)), truth, faults)


def _shown(rig: Rig, read: _Instruments, truth: Truth, faults: Sequence[tuple[Fault, float]]) -> FloatArray:
    ratios = np.array(truth.section_ratios)
    for fault, size in faults:
        if fault.kind is FaultKind.TIPS:
            ratios = ratios * (1.0 + size)
        elif fault.kind is FaultKind.STRAINER:
            ratios[fault.section - 1] *= 1.0 + size
    values = _state(rig, truth, ratios)[read.places(tuple(truth.tip_pa), len(ratios))]
    for fault, size in faults:
        for n in read.having(fault):
            values[n] = misread(float(values[n]), fault, size)
    return np.log(values)


def _state(rig: Rig, truth: Truth, ratios: FloatArray) -> FloatArray:
    """Every quantity that an instrument may tell; a chart and a hose figure say what they always say: one."""
    tips, pressures = np.array(rig.sections) * ratios, list(truth.tip_pa.values())
    sections = [tips * chart_flow_m3s(rig, pa) for pa in pressures]
    boom = [float(flows.sum()) for flows in sections]
    cab = [pa + truth.hose_ratio * hose_drop_pa(rig, flow) for pa, flow in zip(pressures, boom, strict=True)]
    return np.concatenate([[1.0, truth.speed_mps], boom, cab, pressures, *sections])


_Place: TypeAlias = tuple[Kind, int, int, str]


class _Instruments:
    """Which instruments are read, where each stands in the state of the machine, and which have a fault."""

    def __init__(self, read: tuple[tuple[_Place, tuple[Tool, ...]], ...]) -> None:
        self.read = read
        self._places: dict[tuple[tuple[int, ...], int], NDArray[np.intp]] = {}
        self._having: dict[Fault, list[int]] = {}

    def places(self, points: tuple[int, ...], sections: int) -> NDArray[np.intp]:
        key = points, sections
        if key not in self._places:
            found = [_place(place, points, sections) for place, _ in self.read]
            self._places[key] = np.array(found, dtype=np.intp)
        return self._places[key]

    def having(self, fault: Fault) -> list[int]:
        if fault not in self._having:
            found = [n for n, (place, tools) in enumerate(self.read) if has_fault(place[0], place[3], tools, fault)]
            self._having[fault] = found
        return self._having[fault]


_instruments = lru_cache(maxsize=64)(_Instruments)


def _place(reading: _Place, points: tuple[int, ...], sections: int) -> int:
    """Place in `_state`."""
    kind, point, section, _name = reading
    many = len(points)
    if kind is Kind.CATCH:
        return 2 + 3 * many + points.index(point) * sections + section - 1
    starts = {Kind.METER: 2, Kind.TANK: 2, Kind.CAB: 2 + many, Kind.GAUGE: 2 + 2 * many}
    if kind in starts:
        return starts[kind] + points.index(point)
    return 1 if kind in {Kind.COURSE, Kind.SPEED} else 0


def signatures(rig: Rig, readings: Sequence[Reading], points: Sequence[Point], faults: Sequence[Fault]) -> FloatArray:
    """Return how each fault shifts the logarithm of each reading, per unit of its size.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Of one wet run.
    points : sequence of Point
        Its steady pressures.
    faults : sequence of Fault
        What may be wrong.

    Returns
    -------
    array, (readings, faults)
        Central differences of the machine run forward.
    """
    truth = truth_told(rig, readings, points)
    read = _instruments(tuple((r.place, r.taken_with) for r in readings))
    found = np.zeros((len(readings), len(faults)))
    for n, fault in enumerate(faults):
        step = fault.step
        if fault.kind is FaultKind.SENSOR:  # a step down must leave a pressure
            step = min([step, *(SMALL * pa for pa in truth.tip_pa.values())])
        up, down = (_shown(rig, read, truth, [(fault, size)]) for size in (step, -step))
        found[:, n] = (up - down) / (2.0 * step)
    return found
