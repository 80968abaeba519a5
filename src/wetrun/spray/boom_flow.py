"""Pressure and flow at every position of a plumbed boom, and where on the way the pressure is lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Final

import numpy as np

from wetrun.errors import NotDefined, NotProven, OutOfRange
from wetrun.spray.bounds import check_positive
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.line_liquid import WATER_IN_LINE, LineLiquid
from wetrun.spray.pipe_tree import (
    Flows,
    IndexArray,
    PipeTree,
    Pressures,
    row_ends_m3s,
    solved_flows_m3s,
    stretch_losses_pa,
)
from wetrun.spray.plumbing import PlumbedBoom, pipe_tree
from wetrun.units import CUBIC_METRE_PER_SECOND, PASCAL, M3s, Pa

_FLOW_STEPS: Final = 100
_FLOW_TO: Final = 1e-10


class LossPlace(StrEnum):
    """Where pressure is lost between the sensor and a tip."""

    MAIN = "boom valve and main hose"
    INLET = "section valve, hose and strainer"
    LINE = "section line"
    BODY = "nozzle body"


@dataclass(frozen=True, slots=True)
class PlaceLoss:
    """What one place costs over the boom.

    Attributes
    ----------
    place : LossPlace
        Where.
    mean_pa : float
        Mean over the tips that spray [Pa].
    greatest_pa : float
        At the tip that loses most there [Pa].
    position : int
        That tip's position, 1 at the left end.
    """

    place: LossPlace
    mean_pa: Pa
    greatest_pa: Pa
    position: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoomFlow:
    """A boom solved: what each position gets, and why not more.

    Attributes
    ----------
    sensor_pa : float
        Pressure at the cab sensor [Pa].
    pressures_pa : ndarray
        Pressure at the tip [Pa], NaN where nothing sprays; shape (positions,).
    flows_m3s : ndarray
        Flow of the tip [m3/s], zero where nothing sprays; shape (positions,).
    main_pa : float
        Lost before the sections part [Pa].
    inlets_pa, lines_pa, bodies_pa : ndarray
        Lost on the way to each position at the section's inlet, along its line, in its nozzle body [Pa], NaN where
        nothing sprays; shape (positions,). Tip pressure and the four losses add up to the sensor's.
    section_of : ndarray
        Section of each position, 0 at the left.
    beyond_rows : tuple of int
        Positions, 1 at the left end, whose flow lies beyond the rows their tip is known by: an estimate.
    """

    sensor_pa: Pa
    pressures_pa: Pressures
    flows_m3s: Flows
    main_pa: Pa
    inlets_pa: Pressures
    lines_pa: Pressures
    bodies_pa: Pressures
    section_of: IndexArray
    beyond_rows: tuple[int, ...]

    @property
    def boom_flow_m3s(self) -> M3s:
        """Flow of all tips [m3/s]."""
        return float(np.sum(self.flows_m3s))

    @property
    def least_position(self) -> int:
        """Position of the tip with least pressure, 1 at the left end."""
        return int(np.nanargmin(self.pressures_pa)) + 1

    @property
    def losses(self) -> tuple[PlaceLoss, ...]:
        """Where the pressure goes, the costliest place on the mean first; places that cost nothing are left out."""
        main_pa = np.where(np.isnan(self.pressures_pa), np.nan, self.main_pa)
        parts = zip(LossPlace, (main_pa, self.inlets_pa, self.lines_pa, self.bodies_pa), strict=True)
        found = (_place_loss(*part) for part in parts)
        return tuple(sorted((loss for loss in found if loss.greatest_pa > 0.0), key=lambda loss: -loss.mean_pa))


def boom_flow(boom: PlumbedBoom, sensor_pa: Pa, liquid: LineLiquid = WATER_IN_LINE) -> BoomFlow:
    """Return pressure and flow at every position at a pressure at the cab sensor.

    Parameters
    ----------
    boom : PlumbedBoom
        Sections, pipes, tips, losses.
    sensor_pa : float
        Pressure at the cab sensor [Pa].
    liquid : LineLiquid
        Density and viscosity.

    Returns
    -------
    BoomFlow
        Pressures, flows, and where the loss is.

    Raises
    ------
    OutOfRange
        A pressure that is not above zero, or not above what the passing flow alone loses in the main hose.
    NotDefined
        No tip in an open section.

    Notes
    -----
    Steady flow, level boom, pipes full and free of air. Left out: height; the disturbance of the flow by tees and
    bodies; the pressure regained as flow slows along the line, at most the dynamic pressure at its inlet (0.8 kPa for
    1.26 m/s), which works against the loss, so that the true unevenness is a little smaller.

    References
    ----------
    darcy-weisbach, swamee-jain-1976, minor-loss-quadratic, orifice-law

    Example
    -------
    >>> from wetrun.spray.friction import Pipe
    >>> from wetrun.spray.orifice import law_of_iso_size
    >>> from wetrun.spray.plumbing import Feed, SectionLine
    >>> tips = (law_of_iso_size("03"),) * 18
    >>> line = SectionLine(laws=tips, spacing_m=0.5, pipe=Pipe(0.0191), feed=Feed.LEFT, lead_m=0.5)
    >>> solved = boom_flow(PlumbedBoom(sections=(line,)), 3e5)
    >>> round(float(3e5 - solved.pressures_pa[-1]) / 1e3, 1), solved.least_position
    (3.6, 18)
    """
    return boom_flows(boom, (sensor_pa,), liquid)[0]


def boom_flows(boom: PlumbedBoom, sensors_pa: Sequence[Pa], liquid: LineLiquid = WATER_IN_LINE) -> tuple[BoomFlow, ...]:
    """Return pressure and flow at every position at several pressures at the cab sensor.

    Parameters
    ----------
    boom : PlumbedBoom
        Sections, pipes, tips, losses.
    sensors_pa : sequence of float
        Pressures at the cab sensor [Pa].
    liquid : LineLiquid
        Density and viscosity.

    Returns
    -------
    tuple of BoomFlow
        As `boom_flow` gives them one by one; each starts from the one before, which saves half of the steps.

    Raises
    ------
    OutOfRange, NotDefined
        As `boom_flow`.

    References
    ----------
    darcy-weisbach, swamee-jain-1976, minor-loss-quadratic, orifice-law
    """
    tree, before_pa = pipe_tree(boom), 0.0
    flows: Flows | None = None
    found: list[BoomFlow] = []
    for sensor_pa in sensors_pa:
        _check_can_spray(boom, tree, sensor_pa, liquid)
        near = None if flows is None else flows * sqrt(sensor_pa / before_pa)
        flows, before_pa = solved_flows_m3s(tree, sensor_pa, liquid, start_m3s=near), sensor_pa
        found.append(_boom_flow(boom, tree, (sensor_pa, flows), liquid))
    return tuple(found)


def _boom_flow(boom: PlumbedBoom, tree: PipeTree, at: tuple[Pa, Flows], liquid: LineLiquid) -> BoomFlow:
    sensor_pa, flows = at
    lost = stretch_losses_pa(tree, flows, liquid)
    sections = len(boom.sections)
    along = tree.reach * lost[:, None]
    bodies = tree.body_paps2m6 * flows**2 * (liquid.density_kgpm3 / REFERENCE_WATER_KGPM3)
    inlets, lines = np.sum(along[1 : 1 + sections], axis=0), np.sum(along[1 + sections :], axis=0)
    return BoomFlow(
        sensor_pa=sensor_pa,
        pressures_pa=_spread(boom, sensor_pa - lost[0] - inlets - lines - bodies, np.nan),
        flows_m3s=_spread(boom, flows, 0.0),
        main_pa=float(lost[0]),
        inlets_pa=_spread(boom, inlets, np.nan),
        lines_pa=_spread(boom, lines, np.nan),
        bodies_pa=_spread(boom, bodies, np.nan),
        section_of=boom.section_of,
        beyond_rows=_beyond_rows(tree, boom, flows, liquid),
    )


def sensor_pressure_pa(boom: PlumbedBoom, boom_flow_m3s: M3s, liquid: LineLiquid = WATER_IN_LINE) -> Pa:
    """Return the pressure the cab sensor shows when the whole boom gives a flow.

    Parameters
    ----------
    boom : PlumbedBoom
        Sections, pipes, tips, losses.
    boom_flow_m3s : float
        Flow of all tips [m3/s].
    liquid : LineLiquid
        Density and viscosity.

    Returns
    -------
    float
        Pressure at the cab sensor [Pa].

    Raises
    ------
    OutOfRange
        A flow that is not above zero.
    NotDefined
        No tip in an open section.
    NotProven
        If the steps do not get there.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic

    Example
    -------
    >>> from wetrun.spray.friction import Pipe
    >>> from wetrun.spray.orifice import law_of_iso_size
    >>> from wetrun.spray.plumbing import SectionLine
    >>> line = SectionLine(laws=(law_of_iso_size("03"),) * 10, spacing_m=0.5, pipe=Pipe(0.1))
    >>> round(sensor_pressure_pa(PlumbedBoom(sections=(line,)), 12e-3 / 60) / 1e5, 3)  # 1.2 L/min from each of ten
    3.0
    """
    remedy = "Enter the flow of all tips that spray."
    check_positive("boom flow", boom_flow_m3s, CUBIC_METRE_PER_SECOND, remedy=remedy)
    passing_pa = _passing_pa(pipe_tree(boom), liquid)
    above_pa, found_m3s = 3e5, 0.0
    for _ in range(_FLOW_STEPS):
        found_m3s = boom_flow(boom, passing_pa + above_pa, liquid).boom_flow_m3s
        if abs(found_m3s / boom_flow_m3s - 1.0) <= _FLOW_TO:
            return passing_pa + above_pa
        # Losses go nearly with the square of flow, so this lands close at once and closer each time.
        above_pa *= (boom_flow_m3s / found_m3s) ** 2
    raise NotProven(f"pressure for a boom flow: {found_m3s} m3/s is still not {boom_flow_m3s} m3/s.")


def _passing_pa(tree: PipeTree, liquid: LineLiquid) -> Pa:
    return float(stretch_losses_pa(tree, np.zeros(tree.reach.shape[1]), liquid)[0])


def _check_can_spray(boom: PlumbedBoom, tree: PipeTree, sensor_pa: Pa, liquid: LineLiquid) -> None:
    check_positive("pressure at the sensor", sensor_pa, PASCAL, remedy="Enter the pressure shown in the cab.")
    if not boom.spraying.size:
        remedy = "Open a section, or fit a tip."
        raise NotDefined("flow along the boom", reason="no open section has a tip", remedy=remedy)
    passing_pa = _passing_pa(tree, liquid)
    if sensor_pa <= passing_pa:
        remedy = "What returns to the tank takes all the pressure: check the return flow and the loss of the main hose."
        raise OutOfRange("pressure at the sensor", sensor_pa, PASCAL, low=passing_pa, remedy=remedy)


def _spread(boom: PlumbedBoom, values: Pressures | Flows, elsewhere: float) -> Pressures | Flows:
    over = np.full(boom.positions, elsewhere)
    over[boom.spraying] = values
    return over


def _beyond_rows(tree: PipeTree, boom: PlumbedBoom, flows_m3s: Flows, liquid: LineLiquid) -> tuple[int, ...]:
    beyond: list[int] = []
    for law, following in tree.laws:
        low, high = row_ends_m3s(law, liquid)
        outside = (flows_m3s[following] < low) | (flows_m3s[following] > high)
        beyond += (boom.spraying[following[outside]] + 1).tolist()
    return tuple(sorted(beyond))


def _place_loss(place: LossPlace, lost_pa: Pressures) -> PlaceLoss:
    most = int(np.nanargmax(lost_pa))
    return PlaceLoss(place, float(np.nanmean(lost_pa)), float(lost_pa[most]), most + 1)
