"""Balances of a wet run, built from the machine: what must hold between its readings, in logarithms.

Every reading tells one quantity; the machine ties the quantities together: sections add up to the boom, each section
follows its tips' chart at the pressure at the tip, and the cab sensor stands above the tips by the loss of the hoses.
What nobody measured stays in as unmeasured, so that any subset of readings does.

Products and roots are straight lines in logarithms. A sum is not: ``ln Q = ln(sum q)`` is taken as its tangent at the
readings, which weighs each section by its share of the flow; the error is of second order (a section 10 % low out of
seven: 0.06 % of the boom's flow). So is the loss of the hoses, which is added to a pressure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np

from wetrun.errors import NotDefined
from wetrun.proving.reconcile import Balances
from wetrun.proving.redundant import Kind, Reading, Rig
from wetrun.proving.steady import Point, chart_flow_m3s, hose_drop_pa

Quantity = tuple[str, int, int]
"""Name, point, section; zero where it has none."""

SPEED: Quantity = ("ground speed", 0, 0)
HOSE: Quantity = ("loss of the hoses", 0, 0)
STEP = 1e-4
"""Of a logarithm, for slopes of a maker's table."""


@dataclass(frozen=True, slots=True)
class Balance:
    """One relation: the weighed logarithms of some quantities add up to a constant.

    Attributes
    ----------
    words : str
        What it says.
    terms : mapping
        Weight of the logarithm of each quantity.
    constant : float
        What they add up to.
    """

    words: str
    terms: Mapping[Quantity, float]
    constant: float


def quantity_told(reading: Reading) -> Quantity:
    """Return the quantity that a reading tells.

    Parameters
    ----------
    reading : Reading
        Any.

    Returns
    -------
    tuple
        Name, point, section.
    """
    names = {
        Kind.METER: "boom flow",
        Kind.TANK: "boom flow",
        Kind.CATCH: "section flow",
        Kind.CAB: "cab pressure",
        Kind.GAUGE: "tip pressure",
        Kind.CHART: "tips over chart",
    }
    if reading.kind in {Kind.COURSE, Kind.SPEED}:
        return SPEED
    return HOSE if reading.kind is Kind.HOSE else (names[reading.kind], reading.point, reading.section)


def machine_balances(rig: Rig, points: Sequence[Point]) -> list[Balance]:
    """Return what the machine ties together at each steady pressure.

    Parameters
    ----------
    rig : Rig
        The machine.
    points : sequence of Point
        Where the relations are made straight.

    Returns
    -------
    list of Balance
        Sum of sections, cab above tip, and each section by its chart.

    References
    ----------
    orifice-law, minor-loss-quadratic
    """
    return [balance for point in points for balance in (_sum(point), _cab(rig, point), *_charts(rig, point))]


def _sum(point: Point) -> Balance:
    flows = np.array(point.section_m3s)
    weights = flows / flows.sum()
    terms = {("section flow", point.number, n): -float(w) for n, w in enumerate(weights, 1)}
    constant = log(flows.sum()) - float(weights @ np.log(flows))
    return Balance("sections add up to the boom", {("boom flow", point.number, 0): 1.0, **terms}, constant)


def _cab(rig: Rig, point: Point) -> Balance:
    boom_m3s = sum(point.section_m3s)
    drop_pa = hose_drop_pa(rig, boom_m3s)
    cab_pa = point.tip_pa + drop_pa
    share = drop_pa / cab_pa
    # The loss goes with the square of flow past the sensor; what returns to the tank passes it, too.
    slope = 2.0 * share * boom_m3s / (boom_m3s + rig.loss.passing_m3s)
    weights = {("tip pressure", point.number, 0): -(1.0 - share), ("boom flow", point.number, 0): -slope}
    if share > 0.0:
        weights[HOSE] = -share
    constant = log(cab_pa) - (1.0 - share) * log(point.tip_pa) - slope * log(boom_m3s)
    return Balance(
        "cab pressure is tip pressure and loss", {("cab pressure", point.number, 0): 1.0, **weights}, constant
    )


def _charts(rig: Rig, point: Point) -> Iterator[Balance]:
    one_m3s = chart_flow_m3s(rig, point.tip_pa)
    near_m3s = chart_flow_m3s(rig, point.tip_pa * (1.0 - STEP))
    exponent = log(one_m3s / near_m3s) / -log(1.0 - STEP)
    for n, tips in enumerate(rig.sections, 1):
        terms = {
            ("section flow", point.number, n): 1.0,
            ("tips over chart", 0, n): -1.0,
            ("tip pressure", point.number, 0): -exponent,
        }
        yield Balance(f"section {n} by its chart", terms, log(tips * one_m3s) - exponent * log(point.tip_pa))


def assembled(readings: Sequence[Reading], machine: Sequence[Balance]) -> tuple[Balances, tuple[Quantity, ...]]:
    """Return the relations between readings and unmeasured quantities as arrays.

    Parameters
    ----------
    readings : sequence of Reading
        Of one wet run.
    machine : sequence of Balance
        What the machine ties together.

    Returns
    -------
    tuple of Balances and of quantities
        Relations: first that each reading tells its quantity, then the machine's; and what the columns of the
        unmeasured stand for.

    Raises
    ------
    NotDefined
        If a reading tells of a section that the machine has not.
    """
    quantities = dict.fromkeys(name for balance in machine for name in balance.terms)
    told = [quantity_told(reading) for reading in readings]
    quantities |= dict.fromkeys(name for name in told if name in {SPEED, HOSE} or name[0] == "tips over chart")
    places = {name: n for n, name in enumerate(quantities)}
    for reading, name in zip(readings, told, strict=True):
        if name not in places:
            raise NotDefined(
                reading.words,
                reason="the machine has no such section",
                remedy="Count the sections from 1 at the left end.",
            )
    rows = len(readings)
    measured = np.vstack((np.eye(rows), np.zeros((len(machine), rows))))
    unmeasured = np.zeros((rows + len(machine), len(places)))
    unmeasured[np.arange(rows), [places[name] for name in told]] = -1.0
    for n, balance in enumerate(machine, rows):
        unmeasured[n, [places[name] for name in balance.terms]] = list(balance.terms.values())
    constant = np.concatenate((np.zeros(rows), [balance.constant for balance in machine]))
    return Balances(measured, constant, unmeasured), tuple(places)
