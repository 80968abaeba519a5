"""The solved boom at the usual speed: what each section gets, which tip gets least and most, and whether that holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from wetrun.machine.boom_pipes import plumbed_boom
from wetrun.machine.sprayer import Sprayer
from wetrun.planning.speed_point import SpeedPoint
from wetrun.planning.tip_loss import liquid_in_line
from wetrun.planning.window import Trial
from wetrun.spray.boom_flow import BoomFlow, LossPlace, PlaceLoss, boom_flow, sensor_pressure_pa
from wetrun.spray.flow_law import FlowLaw, worn
from wetrun.units import Frac, Pa, Ratio


@dataclass(frozen=True, slots=True)
class TipAlong:
    """One tip of the solved boom.

    Attributes
    ----------
    position, section : int
        Counted from 1 at the left end.
    tip_pa : float
        Pressure at it [Pa].
    flow_ratio : float
        Its flow over that of a like tip at the mean pressure of the boom [ratio].
    """

    position: int
    section: int
    tip_pa: Pa
    flow_ratio: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class BoomAlong:
    """The boom as it is plumbed, at one flow.

    Attributes
    ----------
    sensor_pa, mean_pa : float
        At the cab sensor, and at the tips on the mean [Pa].
    sections_pa : tuple of float
        Mean at the tips of each section [Pa].
    least, most : TipAlong
        The tips that get least and most.
    limit_frac : float
        How far off the mean a tip may be [frac]: what the pass allows its rate.
    cause : LossPlace
        Where the tip that gets least loses more than the one that gets most.
    losses : tuple of PlaceLoss
        Where the pressure goes, the costliest first.
    liquid_note : str
        What the liquid's viscosity rests on.
    """

    sensor_pa: Pa
    mean_pa: Pa
    sections_pa: tuple[Pa, ...]
    least: TipAlong
    most: TipAlong
    limit_frac: Frac
    cause: LossPlace
    losses: tuple[PlaceLoss, ...]
    liquid_note: str

    @property
    def too_uneven(self) -> bool:
        """Whether the plumbing alone puts a tip further off than the pass allows its rate."""
        return max(self.most.flow_ratio - 1.0, 1.0 - self.least.flow_ratio) > self.limit_frac


def boom_along(trial: Trial, sprayer: Sprayer, usual: SpeedPoint) -> BoomAlong | None:
    """Return the solved boom with a tip set at the usual speed, all sections on.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    sprayer : Sprayer
        The machine.
    usual : SpeedPoint
        What the machine does at the usual speed.

    Returns
    -------
    BoomAlong or None
        None where the plumbing is not known.

    Raises
    ------
    NotProven
        If the steps of the solver do not get there.

    Notes
    -----
    On a pulse-width machine the lines carry the mean flow of a tip and its body the flow while it is open; pressures
    are those of an open tip. A tip's flow is compared as the root of its pressure, so that other tips at odd positions
    do not count as uneven.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic, osu-5-percent
    """
    if sprayer.pipes is None:
        return None
    liquid = liquid_in_line(trial.planned.carrier)
    mean_ratio: Ratio = 1.0 if usual.duty_frac is None else usual.duty_frac
    odd = {
        position: _pulsed(tip.flow_law, mean_ratio)
        for part, tip in zip(sprayer.boom.exceptions, trial.tip_set.odd, strict=False)  # a pass may have none on
        for position in part.positions
    }
    # What an open tip passes goes through its body; its mean, less by the duty, goes through the lines.
    pipes = replace(sprayer.pipes, body_paps2m6=sprayer.pipes.body_paps2m6 / mean_ratio**2)
    boom = plumbed_boom(pipes, sprayer.boom, _pulsed(trial.setup.law, mean_ratio), odd)
    sensor_pa = sensor_pressure_pa(boom, usual.boom_flow_m3s, liquid)
    return _along(boom_flow(boom, sensor_pa, liquid), trial.planned.tolerance_frac, liquid.note)


def _pulsed(law: FlowLaw, mean_ratio: Ratio) -> FlowLaw:
    """The law of a tip's mean flow, as a share of what it passes open."""
    return law if mean_ratio == 1.0 else worn(law, mean_ratio)


def _along(solved: BoomFlow, limit_frac: Frac, liquid_note: str) -> BoomAlong:
    pressures, sections = solved.pressures_pa, solved.section_of
    mean_pa = float(np.mean(pressures))
    least, most = solved.least_position - 1, int(np.argmax(pressures))
    on_the_way = {LossPlace.INLET: solved.inlets_pa, LossPlace.LINE: solved.lines_pa, LossPlace.BODY: solved.bodies_pa}
    return BoomAlong(
        sensor_pa=solved.sensor_pa,
        mean_pa=mean_pa,
        sections_pa=tuple(float(np.mean(pressures[sections == n])) for n in range(int(sections[-1]) + 1)),
        least=_tip(solved, least, mean_pa),
        most=_tip(solved, most, mean_pa),
        limit_frac=limit_frac,
        cause=max(on_the_way, key=lambda place: float(on_the_way[place][least] - on_the_way[place][most])),
        losses=solved.losses,
        liquid_note=liquid_note,
    )


def _tip(solved: BoomFlow, n: int, mean_pa: Pa) -> TipAlong:
    tip_pa = float(solved.pressures_pa[n])
    return TipAlong(n + 1, int(solved.section_of[n]) + 1, tip_pa, sqrt(tip_pa / mean_pa))
