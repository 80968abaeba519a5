"""The steady pressures of a wet run, as its readings first say them: where relations are made straight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from wetrun.proving.redundant import Kind, Reading, Rig
from wetrun.units import M3s, Pa

ROUNDS = 30
"""Of finding the pressure at the tip below the cab sensor; one is enough where flow goes with the root of pressure."""


@dataclass(frozen=True, slots=True)
class Point:
    """One steady pressure, as the readings first say: where the relations are made straight.

    Attributes
    ----------
    number : int
        Which.
    tip_pa : float
        Pressure at the tips [Pa].
    section_m3s : tuple of float
        Flow of each section [m3/s].
    """

    number: int
    tip_pa: Pa
    section_m3s: tuple[M3s, ...]


@lru_cache(maxsize=1024)
def chart_flow_m3s(rig: Rig, tip_pa: Pa) -> M3s:
    """Return the flow of one tip by its chart.

    Parameters
    ----------
    rig : Rig
        The machine.
    tip_pa : float
        Pressure at the tip [Pa].

    Returns
    -------
    float
        Flow [m3/s] of the wet run's liquid.

    References
    ----------
    orifice-law
    """
    return float(rig.law.flow_m3s(tip_pa, rig.density_kgpm3))


def hose_drop_pa(rig: Rig, boom_m3s: M3s) -> Pa:
    """Return the pressure lost from cab sensor to tip by the machine's own figure.

    Parameters
    ----------
    rig : Rig
        The machine.
    boom_m3s : float
        Boom flow [m3/s].

    Returns
    -------
    float
        Pressure lost [Pa].

    References
    ----------
    minor-loss-quadratic
    """
    tip_m3s = boom_m3s / rig.boom.tips
    return rig.loss.drop_pa(boom_flow_m3s=boom_m3s, tip_flow_m3s=tip_m3s, density_kgpm3=rig.density_kgpm3)


def points_of(rig: Rig, readings: Sequence[Reading]) -> tuple[Point, ...]:
    """Return each steady pressure as its readings first say it.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Of one wet run.

    Returns
    -------
    tuple of Point
        By number. Pressure from the gauge at the tip, or the cab sensor less the loss, or the flow through the chart.
    """
    numbers = sorted({reading.point for reading in readings if reading.point})
    return tuple(_point(rig, n, [reading for reading in readings if reading.point == n]) for n in numbers)


def _point(rig: Rig, number: int, readings: Sequence[Reading]) -> Point:
    told = {reading.kind: reading.value for reading in readings}
    caught = {reading.section: reading.value for reading in readings if reading.kind is Kind.CATCH}
    tip_pa = _tip_pressure_pa(rig, told, caught)
    one_m3s = chart_flow_m3s(rig, tip_pa)
    flows_m3s = tuple(caught.get(n, tips * one_m3s) for n, tips in enumerate(rig.sections, 1))
    return Point(number, tip_pa, flows_m3s)


def _tip_pressure_pa(rig: Rig, told: Mapping[Kind, float], caught: Mapping[int, float]) -> Pa:
    if Kind.GAUGE in told:
        return told[Kind.GAUGE]
    if Kind.CAB in told:
        return _below_cab_pa(rig, told[Kind.CAB])
    flow_m3s = told.get(Kind.METER, told.get(Kind.TANK, 0.0)) / rig.boom.tips
    if not flow_m3s:
        flow_m3s = sum(caught.values()) / sum(rig.sections[n - 1] for n in caught)
    return float(rig.law.pressure_pa(flow_m3s, rig.density_kgpm3))


def _below_cab_pa(rig: Rig, cab_pa: Pa) -> Pa:
    """Pressure at the tip: a few rounds, since the loss depends on the flow it leaves."""
    tip_pa = cab_pa
    for _ in range(ROUNDS):
        boom_m3s = rig.boom.tips * chart_flow_m3s(rig, tip_pa)
        lost_pa = hose_drop_pa(rig, boom_m3s)
        tip_pa = 0.5 * (tip_pa + cab_pa * tip_pa / (tip_pa + lost_pa))
    return tip_pa
