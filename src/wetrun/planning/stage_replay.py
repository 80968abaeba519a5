"""Two tip sets over a log: which stage sprayed when, how often it switched, and what was held, over or under."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wetrun.errors import NotDefined
from wetrun.fieldlog.trace import FloatArray, Trace, usable, whole_cm2
from wetrun.planning.stages import StagePlan
from wetrun.units import Cm2, Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class StageAreas:
    """A log driven with stages.

    Attributes
    ----------
    total_cm2 : int
        Area replayed [cm2].
    stage_cm2 : tuple of int
        Of it, by stage [cm2].
    held_cm2 : int
        Inside the window of the stage that sprayed [cm2].
    over_cm2, under_cm2 : int
        More than the tolerance too much, and too little [cm2].
    switches : int
        How often it switched while spraying.
    """

    total_cm2: Cm2
    stage_cm2: tuple[Cm2, ...]
    held_cm2: Cm2
    over_cm2: Cm2
    under_cm2: Cm2
    switches: int


def stage_replay(trace: Trace, plan: StagePlan, *, tolerance_frac: Frac) -> StageAreas:
    """Return what the stages of a plan would have done over a log at its logged speeds, at the pass's rate.

    Parameters
    ----------
    trace : Trace
        The log.
    plan : StagePlan
        At least one stage.
    tolerance_frac : float
        How far off counts as over or under [frac].

    Returns
    -------
    StageAreas
        By area as the log has it.

    Notes
    -----
    Windows are those of the whole boom, also where the log had sections off. Settled and on a straight track: the time
    a switch takes, lag, valves and turns stand in no figure here.

    Raises
    ------
    NotDefined
        A plan without a stage that holds any speed.

    References
    ----------
    orifice-law
    """
    if not plan.stages:
        remedy = "Choose another rate or other tips."
        raise NotDefined("stages over a log", reason="none of them holds any speed", remedy=remedy)
    counted = usable(trace)
    area = np.where(counted, whole_cm2(np.where(counted, trace.area_m2, 0.0)), 0)
    stage = stages_along(trace, plan)
    floors, ceilings, lows, highs = (
        np.array([getattr(one.window, name) for one in plan.stages])[stage]
        for name in ("floor_mps", "ceiling_mps", "low_mps", "high_mps")
    )
    speed = trace.speed_mps
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.clip(speed, floors, ceilings) / speed
    held = (speed >= lows) & (speed <= highs)
    moved = counted[1:] & counted[:-1] & (stage[1:] != stage[:-1])
    return StageAreas(
        total_cm2=int(area.sum()),
        stage_cm2=tuple(int(area[stage == one].sum()) for one in range(len(plan.stages))),
        held_cm2=int(area[held].sum()),
        over_cm2=int(area[ratio > 1.0 + tolerance_frac].sum()),
        under_cm2=int(area[ratio < 1.0 - tolerance_frac].sum()),
        switches=int(moved.sum()),
    )


def stages_along(trace: Trace, plan: StagePlan) -> npt.NDArray[np.int64]:
    """Return which stage sprays at every instant [instants], each switch with its hysteresis; 0 before any speed."""
    stage = np.zeros(trace.speed_mps.shape, dtype=np.int64)
    for switch in plan.switches:
        stage += _larger(trace.speed_mps, switch.up_mps, switch.down_mps)
    return stage


def _larger(speed: FloatArray, up_mps: float, down_mps: float) -> npt.NDArray[np.int64]:
    """1 where the last speed outside the hysteresis was above it, 0 where below or where there was none."""
    said = np.where(speed > up_mps, 1, np.where(speed < down_mps, 0, -1))
    last = np.maximum.accumulate(np.where(said >= 0, np.arange(said.size), -1))
    return np.where(last >= 0, said[last], 0)
