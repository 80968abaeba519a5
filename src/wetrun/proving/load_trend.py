"""The meter number over a season of loads: their common error, whether they agree, whether it drifts, what to do.

Loads share a fill meter, a scale, a density and what was left between them, so their errors are correlated: the common
error is the one of least variance under the whole covariance, and its budget adds shared causes once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Final

import numpy as np
from scipy.linalg import cho_solve
from scipy.special import gammaincc

from wetrun.errors import NotDefined
from wetrun.proving.budget import Budget, Component
from wetrun.proving.covariance import FloatArray, lower_factor
from wetrun.proving.elimination import serially_eliminated
from wetrun.proving.filled_load import USUAL_TOOLS, FilledLoad, FillTools, LoadError, counted_error, rate_error
from wetrun.proving.gross_error import ALARM_FRAC
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.reconcile import Balances, Reconciliation, reconciled
from wetrun.proving.rule import INSTRUMENT_5, METER_SPAN_2, WHOLE_RATE_5, NextStep, Rule
from wetrun.proving.verdict import Judged, Verdict, judged
from wetrun.units import Frac, Ratio

METHOD: Final = "load-trend-1"
LEAST_LOADS: Final = 3
"""Fewer say nothing of scatter: no number is offered. Our own choice."""


class Suspect(StrEnum):
    """Where the totals disagree."""

    NOTHING = "filled, counted and area × rate agree"
    METER = "the monitor counts otherwise than was filled: the meter's number, or the fill meter or scale"
    AREA = "area × rate is off, what was counted is not: widths, the speed number, or the rate was not held"
    COUNTED = "the monitor's total is off, area × rate is not: it was reset late, or counts what the boom never put out"
    SEVERAL = "filled, counted and area × rate all differ: more than one thing is off"


@dataclass(frozen=True, slots=True)
class Common:
    """The common error of some loads.

    Attributes
    ----------
    error_ratio : float
        Shown over put out, less one [ratio].
    budget : Budget
        Doubt of it, as a ratio; with a cause for loads that scatter more than their tools explain.
    judged : Judged
        Against the rule.
    agree : bool
        Whether the loads agree with each other within their tools.
    chance_frac : float
        How often honest loads would differ as much [frac].
    odd : tuple of str
        Loads to look at again, the oddest first; empty while all agree.
    """

    error_ratio: Ratio
    budget: Budget
    judged: Judged
    agree: bool
    chance_frac: Frac
    odd: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drift:
    """How the error moved from the first day to the last.

    Attributes
    ----------
    error_ratio : float
        Its change [ratio].
    judged : Judged
        Against 2 %, with its doubt.
    start_ratio, end_ratio : float
        The line at its two ends [ratio].
    """

    error_ratio: Ratio
    judged: Judged
    start_ratio: Ratio
    end_ratio: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadTrend:
    """What the loads of a season say.

    Attributes
    ----------
    loads : tuple of LoadError
        Load by load, the monitor's total against what was put out.
    verdicts : tuple of Judged
        The same, each judged against the rule for meters.
    rates : tuple of LoadError
        Area times rate against what was put out, for loads that have both.
    counted : Common
        Of the monitor's totals.
    rate : Common or None
        Of area times rate.
    drift : Drift or None
        Over the days; None from fewer than three loads on two days.
    suspect : Suspect
        Where totals disagree.
    new_number : float or None
        The meter number this would mean, unrounded, in the form of the present one. Never applied by itself.
    number_expanded : float or None
        Its doubt, ±, in the same form.
    next_step : NextStep
        What to do.
    method : str
        Name and number of the method.
    """

    loads: tuple[LoadError, ...]
    verdicts: tuple[Judged, ...]
    rates: tuple[LoadError, ...]
    counted: Common
    rate: Common | None
    drift: Drift | None
    suspect: Suspect
    new_number: float | None
    number_expanded: float | None
    next_step: NextStep
    method: str = METHOD


def load_trend(
    loads: Sequence[FilledLoad], number: TypedNumber | None = None, tools: FillTools = USUAL_TOOLS
) -> LoadTrend:
    """Return what the loads of a season say of the meter's number.

    Parameters
    ----------
    loads : sequence of FilledLoad
        In any order; one at least, no two of one name.
    number : TypedNumber or None
        The meter number the loads were counted with.
    tools : FillTools
        How far each tool may be off.

    Returns
    -------
    LoadTrend
        Common error, agreement, drift, the number it would mean, next step.

    Raises
    ------
    NotDefined
        No load, a name twice, or a load that put nothing out.

    Notes
    -----
    It is the number in the real product: viscosity, air and density are in it, and it need not be that of clean water.

    References
    ----------
    gum-jcgm-100, narasimhan-jordache-2000, serial-elimination, iso-16122-2, osu-5-percent, own-choice-meter
    """
    found = _checked(loads)
    errors = tuple(counted_error(load, tools) for load in found)
    rates = tuple(told for load in found if (told := rate_error(load, tools)) is not None)
    counted = _common(errors, INSTRUMENT_5)
    rate = _common(rates, WHOLE_RATE_5) if rates else None
    drift, suspect = _drift(errors), _suspect(counted, rate)
    low, high = INSTRUMENT_5.low_ratio, INSTRUMENT_5.high_ratio
    return LoadTrend(
        loads=errors,
        verdicts=tuple(judged(one.error_ratio, one.budget, low=low, high=high) for one in errors),
        rates=rates,
        counted=counted,
        rate=rate,
        drift=drift,
        suspect=suspect,
        new_number=None if number is None else number.form.rescaled(number.number, 1.0 + counted.error_ratio),
        number_expanded=None if number is None else _number_doubt(number, counted),
        next_step=_next_step(errors, counted, drift, suspect),
    )


def _checked(loads: Sequence[FilledLoad]) -> list[FilledLoad]:
    if not loads:
        raise NotDefined("meter number over the loads", reason="there is no load yet", remedy="Write a load down.")
    names = [load.name for load in loads]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise NotDefined(f"load {twice}", reason="two loads have that name", remedy="Name each load once.")
    return sorted(loads, key=lambda load: load.on)


def covariance_of(errors: Sequence[LoadError]) -> FloatArray:
    """Return the covariance of errors, shared causes off the diagonal, shape (loads, loads)."""
    found = np.array([[one.budget.covariance(other.budget) for other in errors] for one in errors])
    found[np.diag_indices(len(errors))] = [one.budget.combined**2 for one in errors]
    return found


def _agreement(errors: Sequence[LoadError]) -> Reconciliation:
    """The errors held together: each tells one common error that nobody measured."""
    values, count = np.array([one.error_ratio for one in errors]), len(errors)
    balances = Balances.of(np.eye(count), unmeasured=-np.ones((count, 1)))
    return reconciled(values, covariance_of(errors), balances)


def _common(errors: Sequence[LoadError], rule: Rule) -> Common:
    values = np.array([one.error_ratio for one in errors])
    (weights,) = _least_variance(errors, np.ones((len(errors), 1)))
    error = float(weights @ values)
    budget = _weighted(errors, weights)
    held = _agreement(errors)
    chance = float(gammaincc(held.redundancy / 2.0, held.statistic / 2.0)) if held.redundancy else 1.0
    agree = chance >= ALARM_FRAC
    if not agree:
        scatter = float(np.std(values, ddof=1)) * sqrt(float(weights @ weights))
        own = Component("loads against each other", scatter, "A", len(errors) - 1.0, readings=len(errors))
        budget = budget.joined(Budget((own,)))
    odd = () if agree else tuple(errors[n].load.name for step in serially_eliminated(held) for n in step.readings)
    found = judged(error, budget, low=rule.low_ratio, high=rule.high_ratio)
    return Common(error, budget, found, agree, chance, odd)


def _least_variance(errors: Sequence[LoadError], design: FloatArray) -> FloatArray:
    """Weights of the errors in each coefficient of a straight fit, shape (coefficients, loads)."""
    solved = cho_solve((lower_factor(covariance_of(errors)), True), design)
    return np.asarray(np.linalg.solve(design.T @ solved, solved.T))


def _weighted(errors: Sequence[LoadError], weights: FloatArray) -> Budget:
    budget = Budget(())
    for one, weight in zip(errors, weights, strict=True):
        budget = budget.joined(one.budget.scaled(float(weight)))
    return budget


def _drift(errors: Sequence[LoadError]) -> Drift | None:
    days = np.array([(one.load.on - errors[0].load.on).days for one in errors], dtype=np.float64)
    if len(errors) < LEAST_LOADS or days[-1] == 0.0:
        return None
    weights = _least_variance(errors, np.column_stack((np.ones_like(days), days / days[-1])))
    start, change = (weights @ np.array([one.error_ratio for one in errors])).tolist()
    found = judged(change, _weighted(errors, weights[1]), low=METER_SPAN_2.low_ratio, high=METER_SPAN_2.high_ratio)
    return Drift(change, found, start, start + change)


def _differs(common: Common) -> bool:
    return abs(common.error_ratio) > common.judged.expanded


def _suspect(counted: Common, rate: Common | None) -> Suspect:
    """What a monitor counts and its area are its own: the two differ by nothing but what the controller left."""
    off = _differs(counted)
    if rate is None or abs(counted.error_ratio - rate.error_ratio) <= WHOLE_RATE_5.high_ratio / 2.0:
        return Suspect.METER if off else Suspect.NOTHING
    if not _differs(rate):
        return Suspect.COUNTED if off else Suspect.NOTHING
    return Suspect.SEVERAL if off else Suspect.AREA


def _number_doubt(number: TypedNumber, counted: Common) -> float:
    moved = number.form.rescaled(number.number, 1.0 + counted.error_ratio)
    more = number.form.rescaled(number.number, 1.0 + counted.error_ratio + counted.judged.expanded)
    return abs(more - moved)


def _next_step(errors: Sequence[LoadError], counted: Common, drift: Drift | None, suspect: Suspect) -> NextStep:
    if (
        suspect in {Suspect.COUNTED, Suspect.SEVERAL}
        or counted.odd
        or (drift is not None and drift.judged.verdict is Verdict.FAIL)
    ):
        return NextStep.LOOK_FIRST
    if len(errors) < LEAST_LOADS:
        return NextStep.REPEAT
    if _differs(counted):
        return NextStep.ENTER_NEW
    return NextStep.REPEAT if counted.judged.verdict is Verdict.UNDECIDED else NextStep.KEEP
