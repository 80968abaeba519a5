"""Everything a plan says beside the choice itself: turns, label maxima, density, wear, what-ifs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Final

import numpy as np
from numpy.typing import NDArray

from wetrun.errors import ended
from wetrun.fieldlog.tallied import TalliedLog, TurnQuestion, each_drive_once
from wetrun.fieldlog.turns import TurnTally
from wetrun.machine.boom import Boom
from wetrun.machine.sprayer import Sprayer
from wetrun.planning.boom_along import BoomAlong, boom_along
from wetrun.planning.over_label import OverLabel, over_label
from wetrun.planning.pass_order import PassOrder, pass_order
from wetrun.planning.passes import RateMeaning
from wetrun.planning.season_result import PassPlan, SeasonPlan
from wetrun.planning.speed_point import point_at
from wetrun.planning.stages import StagedPass
from wetrun.planning.table import PassTable
from wetrun.planning.whatif import (
    OneSet,
    RateChange,
    SpeedChange,
    nearest_rates,
    one_set_by_rate,
    one_set_by_speed,
    speed_change,
)
from wetrun.spray.feedback import (
    DensityFinding,
    DensityPlace,
    WearEffect,
    density_findings,
    density_places,
    wear_effect,
)
from wetrun.units import METRE, Frac, M, Mps, Ratio

RATES: Final = ("target_rate", "applied_rate")
SAME_WIDTH_FRAC: Final[Frac] = 0.02
"""Boom widths closer than this are one: a tape and a monitor differ by as much."""
WORTH_SAYING_FRAC: Final[Frac] = 0.98
"""A pass held to at least this share needs no what-if."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassNotes:
    """What is said of one pass beside its tip set.

    Attributes
    ----------
    turns : tuple of TurnTally
        One per log: area by local rate inside turns.
    over_label : OverLabel or None
        Area above a label's maximum at the controller's floor, and the choices.
    density_places : tuple of DensityPlace
        Where density was applied.
    density_findings : tuple of DensityFinding
        Density twice, missing or in the wrong place.
    wear : WearEffect or None
        What the wear of an owned set does; None for a new set.
    rate_change : RateChange or None
        Nearest rate at which the chosen set does the pass.
    speed_change : SpeedChange or None
        Speeds to keep to, for the chosen set to do the pass.
    log_doubts : tuple of str
        What the logs leave open, as sentences.
    along : BoomAlong or None
        The solved boom at the usual speed; None where the plumbing is not known.
    """

    turns: tuple[TurnTally, ...] = ()
    over_label: OverLabel | None = None
    density_places: tuple[DensityPlace, ...] = ()
    density_findings: tuple[DensityFinding, ...] = ()
    wear: WearEffect | None = None
    rate_change: RateChange | None = None
    speed_change: SpeedChange | None = None
    log_doubts: tuple[str, ...] = ()
    along: BoomAlong | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanReport:
    """A plan with everything said about it.

    Attributes
    ----------
    plan : SeasonPlan
        The plan.
    notes : mapping of str to PassNotes
        By ident of pass.
    by_rate, by_speed : OneSet or None
        What would let one set do the season; None where nothing does, or one set does already.
    order : PassOrder
        The changeovers the order of passes needs, and a better order if there is one.
    staged : mapping of str to StagedPass
        Two tip sets at once, for passes that name two.
    """

    plan: SeasonPlan
    notes: Mapping[str, PassNotes]
    by_rate: OneSet | None
    by_speed: OneSet | None
    order: PassOrder
    staged: Mapping[str, StagedPass] = field(default_factory=dict)


def plan_report(plan: SeasonPlan, logs: Mapping[str, Sequence[TalliedLog]]) -> PlanReport:
    """Return a plan with everything said about it.

    Parameters
    ----------
    plan : SeasonPlan
        The plan.
    logs : mapping of str to sequence of TalliedLog
        Logs by ident of pass, for their doubts and their turns.

    Returns
    -------
    PlanReport
        Notes follow the proposed option.
    """
    sprayer = plan.season.sprayer
    off_below_mps = sprayer.control.off_below_mps or 0.0
    tables = {table.planned.ident: table for table in plan.tables}
    notes = {
        one.planned.ident: pass_notes(one, tables[one.planned.ident], sprayer, logs.get(one.planned.ident, ()))
        for one in plan.proposed.passes
    }
    enough = plan.options[0].held.lower_frac >= WORTH_SAYING_FRAC or len(plan.tables) < 2
    return PlanReport(
        plan=plan,
        notes=notes,
        by_rate=None if enough else one_set_by_rate(plan.tables, off_below_mps),
        by_speed=None if enough else one_set_by_speed(plan.tables),
        order=pass_order(plan.season.passes),
    )


def pass_notes(one: PassPlan, table: PassTable, sprayer: Sprayer, logs: Sequence[TalliedLog] = ()) -> PassNotes:
    """Return what is said of one pass beside its tip set.

    Parameters
    ----------
    one : PassPlan
        The pass with its set.
    table : PassTable
        The pass against the sets that were tried.
    sprayer : Sprayer
        The machine.
    logs : sequence of TalliedLog
        Its logs, their turns asked as `turn_question` says.

    Returns
    -------
    PassNotes
        Without a set only what the logs leave open.
    """
    once, twice = each_drive_once(logs)
    doubts = (*(doubt for log in once for doubt in log_doubts(log, sprayer.boom.width_m)), *twice)
    if one.trial is None:
        return PassNotes(log_doubts=doubts)
    control, tip = sprayer.control, one.trial.tip_set.tip
    off_below_mps = control.off_below_mps or 0.0
    asked = turn_question(sprayer.boom, one.limits.label_ratio)
    equivalent = one.planned.rate_meaning is RateMeaning.WATER_EQUIVALENT
    usual = point_at(one.trial, speed_mps=one.evidence.usual_mps, rate_m3pm2=one.rate_m3pm2)
    short = one.held.lower_frac < WORTH_SAYING_FRAC
    return PassNotes(
        turns=tuple(log.turns[asked] for log in once),
        over_label=over_label(one, table, off_below_mps),
        density_places=density_places(one.trial.setup),
        density_findings=density_findings(
            one.trial.setup, setting_kgpm3=control.density_setting_kgpm3, rate_is_water_equivalent=equivalent
        ),
        wear=wear_effect(one.trial.setup, tip.wear_ratio) if tip.wear_ratio != 1.0 else None,
        rate_change=_rate_change(one, table, off_below_mps) if short else None,
        speed_change=speed_change(one.trial, table, one.rate_m3pm2) if short else None,
        log_doubts=doubts,
        along=boom_along(one.trial, sprayer, usual),
    )


def log_doubts(log: TalliedLog, boom_width_m: M) -> tuple[str, ...]:
    """Return what a log leaves open for a plan, as sentences.

    Parameters
    ----------
    log : TalliedLog
        The log.
    boom_width_m : float
        Working width of the machine the plan is for [m].

    Returns
    -------
    tuple of str
        The reader's own doubts, rates that could not be used, and a boom of another width.
    """
    file = log.facts.file
    found = [f"{file}: {doubt.words}. {ended(doubt.remedy)}" for doubt in log.facts.doubts]
    if any(raw.meaning in RATES for raw in log.facts.raw_columns):
        found.append(
            f"{file}: its rates have no unit, so it is read at the same speed only; state the unit in a column map."
        )
    if abs(log.full_width_m / boom_width_m - 1.0) > SAME_WIDTH_FRAC:
        ratio = log.full_width_m / boom_width_m
        found.append(
            f"{file}: it was driven with a boom {ratio:.2f} times as wide as this machine's. Speeds are used as they "
            "are, the boom that was on by its share; check that it is this customer's driving."
        )
    return tuple(found)


def _rate_change(one: PassPlan, table: PassTable, off_below_mps: Mps) -> RateChange | None:
    if one.trial is None:
        return None
    numbers = [n for n, trial in enumerate(table.trials) if trial.tip_set.key == one.trial.tip_set.key]
    found = nearest_rates(table, numbers, off_below_mps)[0]
    return found if found is not None and found.size > 0 else None


def turn_question(boom: Boom, label_ratio: Ratio | None) -> TurnQuestion:
    """Return what a log is asked about its turns.

    Parameters
    ----------
    boom : Boom
        Sections and spacing.
    label_ratio : float or None
        How far the rate may rise before it passes a label's maximum [ratio]; None where no maximum was typed.

    Returns
    -------
    TurnQuestion
        The boom's section edges with that ratio.
    """
    return TurnQuestion(tuple(section_edges_m(boom).tolist()), label_ratio or float("inf"))


def section_edges_m(boom: Boom) -> Annotated[NDArray[np.float64], METRE]:
    """Return the edges of the boom sections from the machine's centre, left to right.

    Parameters
    ----------
    boom : Boom
        Sections and spacing.

    Returns
    -------
    ndarray
        Shape (sections + 1,) [m], negative to the left.
    """
    ends = np.concatenate([[0.0], np.cumsum(np.array(boom.section_tips, dtype=np.float64))]) * boom.spacing_m
    return ends - boom.width_m / 2.0
