"""Above the label's maximum: when the controller's floor puts it there, and what can be done about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from wetrun.planning.judging import Judgement, judge
from wetrun.planning.season_result import PassPlan
from wetrun.planning.table import PassTable
from wetrun.planning.tip_set import TipSet
from wetrun.units import M2, Frac, Mps

TRIFLE_FRAC: Final[Frac] = 0.01
"""Share of area above the label's maximum that the choices aim to get below."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OverLabel:
    """Area above a label's maximum because the machine cannot go lower, and the choices.

    Attributes
    ----------
    owner : str
        The product whose maximum it is.
    below_mps : float
        Ground speed below which it happens, all sections on [m/s].
    area_m2 : float
        Area above the maximum, scaled to the pass; upper end of the bracket [m2].
    unsprayed_m2 : float
        Area left unsprayed if the machine shut off below that speed instead [m2].
    other_set : TipSet or None
        A set with at most a trifle above the maximum that holds most of the pass; None if there is none.
    other_held_frac : float
        Share that set holds [frac].
    product_frac : float
        Part of the planned product rate at which at most a trifle would be above its maximum [frac].
    """

    owner: str
    below_mps: Mps
    area_m2: M2
    unsprayed_m2: M2
    other_set: TipSet | None
    other_held_frac: Frac
    product_frac: Frac


def over_label(plan: PassPlan, table: PassTable, off_below_mps: Mps) -> OverLabel | None:
    """Return what a plan puts down above a label's maximum at the controller's floor, or None.

    Parameters
    ----------
    plan : PassPlan
        The proposed set for the pass.
    table : PassTable
        The pass against every set.
    off_below_mps : float
        Speed below which the machine already shuts off [m/s].

    Returns
    -------
    OverLabel or None
        None if no label maximum was typed, or nothing is above it.

    Notes
    -----
    Counted at the same speeds as driven. Turns add to it (the inside of the boom travels slower); they are read from
    the log itself. A lower target does not help by itself: at the floor the same volume comes out. Less product per
    volume does, if the label allows the lower rate.

    References
    ----------
    grdc-13-3
    """
    ratio, window = plan.limits.label_ratio, plan.window
    if plan.trial is None or window is None or ratio is None or window.over_label_mps is None:
        return None
    worst = max((_over(judgement) for judgement in plan.judgements), default=0.0)
    if worst == 0.0:
        return None
    # A trifle needs no remedy: it is said, and left to the operator.
    worth_it = worst > TRIFLE_FRAC
    other, held_frac = _other_set(plan, table, off_below_mps) if worth_it else (None, 0.0)
    slow_mps = float(plan.evidence.speed.percentiles([TRIFLE_FRAC])[0][0])
    area_m2 = worst * plan.planned.area_m2
    return OverLabel(
        owner=plan.limits.label_owner,
        below_mps=window.over_label_mps,
        area_m2=area_m2,
        unsprayed_m2=area_m2,
        other_set=other,
        other_held_frac=held_frac,
        product_frac=min(1.0, ratio * slow_mps / window.floor_mps) if window.floor_mps > 0 else 1.0,
    )


def _over(judgement: Judgement) -> Frac:
    return 0.0 if judgement.over_label is None else judgement.over_label.upper_frac


def _other_set(plan: PassPlan, table: PassTable, off_below_mps: Mps) -> tuple[TipSet | None, Frac]:
    best: tuple[Frac, int] | None = None
    for number in _candidates(table):
        trial = table.trials[number]
        reading = plan.judgements[0].reading
        rate = float(table.rates_m3pm2[number])
        tried = judge(trial, table.evidence, rate_m3pm2=rate, reading=reading, off_below_mps=off_below_mps)
        mine = plan.trial is not None and trial.tip_set.key == plan.trial.tip_set.key
        if not mine and _over(tried) <= TRIFLE_FRAC and (best is None or tried.held.lower_frac > best[0]):
            best = (tried.held.lower_frac, number)
    return (None, 0.0) if best is None else (table.trials[best[1]].tip_set, best[0])


def _candidates(table: PassTable) -> Sequence[int]:
    """The sets that hold anything, the best held first; enough of them to find one."""
    order = sorted(range(len(table.trials)), key=lambda number: (-table.lower_frac[number], number))
    return [number for number in order if table.lower_frac[number] > 0][:60]
