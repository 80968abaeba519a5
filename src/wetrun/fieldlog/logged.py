"""What the log itself says came out: applied rate against target, and boom flow demanded against boom flow logged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.trace import FloatArray, Trace, usable, whole_cm, whole_cm2
from wetrun.units import CUBIC_METRE_PER_SECOND, Cm2, Frac, S

Mask = npt.NDArray[np.bool_]
FLOW_PERCENTILES: Final = (5, 50, 95)


@dataclass(frozen=True, slots=True)
class InstantFilter:
    """Which instants a comparison counts: all sections on, and an interval strictly between two bounds [s]."""

    full_width: bool = True
    over_s: S = 0.0
    under_s: S = float("inf")

    @property
    def words(self) -> str:
        """The filter as a reader sees it."""
        width = "all sections on" if self.full_width else "any sections on"
        return f"{width}, interval over {self.over_s:g} s and under {self.under_s:g} s"


@dataclass(frozen=True, slots=True)
class LoggedShare:
    """Share of area whose logged applied rate was within a tolerance of the logged target."""

    within_frac: Frac
    tolerance_frac: Frac
    area_cm2: Cm2
    instants: int
    left_out_cm2: Cm2
    words: str


@dataclass(frozen=True, slots=True)
class FlowComparison:
    """Boom flow by percentile (5, 50, 95 of 100): what the target demanded, and what the log says was put out.

    Both are rate x (distance / interval) x active width on the same instants [m3/s].
    """

    demanded_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND]
    logged_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND]
    instants: int
    words: str


def logged_share(trace: Trace, tolerance_frac: Frac, chosen: InstantFilter | None = None) -> LoggedShare:
    """Return the share of area really within the tolerance of the logged target, read from the applied rate.

    Parameters
    ----------
    trace
        The log.
    tolerance_frac
        How far the applied rate may be off the target [frac].
    chosen
        Which instants count; None for all with every section on or off.

    Raises
    ------
    LogRefused
        When the log lacks a target or an applied rate with a unit.
    """
    check_rates(trace)
    chosen = chosen or InstantFilter(full_width=False)
    counted = _compared(trace, chosen)
    area_cm2 = whole_cm2(trace.area_m2)
    ratio = trace.applied_m3pm2[counted] / trace.target_m3pm2[counted]
    total = int(area_cm2[counted].sum())
    good = int(area_cm2[counted][np.abs(ratio - 1) <= tolerance_frac].sum())
    return LoggedShare(
        within_frac=good / total if total else float("nan"),
        tolerance_frac=tolerance_frac,
        area_cm2=total,
        instants=int(counted.sum()),
        left_out_cm2=int(area_cm2[~counted].sum()),
        words=chosen.words,
    )


def flow_comparison(trace: Trace, chosen: InstantFilter | None = None) -> FlowComparison:
    """Return the boom flow the target demanded beside the boom flow logged, on the same instants.

    Raises
    ------
    LogRefused
        When the log lacks a target or an applied rate with a unit.
    """
    check_rates(trace)
    chosen = chosen or InstantFilter()
    counted = _compared(trace, chosen)
    swept_m2ps = trace.speed_mps[counted] * trace.width_m[counted]
    return FlowComparison(
        demanded_m3s=_percentiles(trace.target_m3pm2[counted] * swept_m2ps),
        logged_m3s=_percentiles(trace.applied_m3pm2[counted] * swept_m2ps),
        instants=int(counted.sum()),
        words=chosen.words,
    )


def check_rates(trace: Trace) -> None:
    """Raise `LogRefused` where a rate column has no stated unit, or there is no target or applied rate at all."""
    for raw in trace.facts.raw_columns:
        if raw.meaning in ("target_rate", "applied_rate"):
            remedy = f'Add to the mapping: {raw.meaning} = {{ column = "{raw.column}", unit = "gal/ac" }}, or its unit'
            reason = f"the unit of this rate is not stated, and a rate's unit is never guessed (median {raw.p50:g})"
            raise LogRefused(trace.facts.file, place=f"column {raw.column}", reason=reason, remedy=remedy)
    for meaning, column in (("target_rate", trace.target_m3pm2), ("applied_rate", trace.applied_m3pm2)):
        if not np.isfinite(column).any():
            remedy = f'Name it in the mapping: {meaning} = {{ column = "…", unit = "gal/ac" }}'
            reason = f"the log has no {meaning.replace('_', ' ')}"
            raise LogRefused(trace.facts.file, place="line 1", reason=reason, remedy=remedy)


def _compared(trace: Trace, chosen: InstantFilter) -> Mask:
    counted = usable(trace) & np.isfinite(trace.target_m3pm2) & np.isfinite(trace.applied_m3pm2)
    counted &= (trace.interval_s > chosen.over_s) & (trace.interval_s < chosen.under_s)
    if not chosen.full_width:
        return counted
    full: Mask = whole_cm(trace.width_m) == whole_cm(np.array(trace.full_width_m))
    return counted & full


def _percentiles(values: FloatArray) -> FloatArray:
    return np.percentile(values, FLOW_PERCENTILES) if values.size else np.full(len(FLOW_PERCENTILES), np.nan)
