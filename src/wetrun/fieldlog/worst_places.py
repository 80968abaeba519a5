"""The worst places of a replay first: where the rate was off, for how long, by how much, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.fieldlog.exact_records import LIMITS, NO_LIMIT, ExactResult
from wetrun.fieldlog.section_tally import CAUSES, Cause, SectionTally
from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.spray.limits import Limit
from wetrun.units import Cm2, M, Mps, Ratio, S

JOINED_WITHIN_S: Final[S] = 1.0
"""Places parted by less good ground than this are one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffPlace:
    """One stretch on which the rate was off.

    Attributes
    ----------
    start_s, length_s : float
        When, on the log's clock, and how long [s].
    east_m, north_m : float
        Where it was worst, from the first fix [m]; nan where the log has no position.
    area_cm2 : int
        Ground that was off [cm2].
    error_ratio, size_ratio : float
        Mean error over that ground, delivered over wanted less 1, signed and by size [ratio].
    cause : Cause
        What moved it most.
    limit : Limit or None
        The limit that bound most of it, if one did.
    from_mps, to_mps : float
        Speed at its beginning and end [m/s].
    """

    start_s: S
    length_s: S
    east_m: M
    north_m: M
    area_cm2: Cm2
    error_ratio: Ratio
    size_ratio: Ratio
    cause: Cause
    limit: Limit | None
    from_mps: Mps
    to_mps: Mps


def worst_places(result: ExactResult, tally: SectionTally, *, most: int = 10) -> tuple[OffPlace, ...]:
    """Return the places where most was put down too much or too little.

    Parameters
    ----------
    result
        The replay.
    tally
        Its sections.
    most
        How many places.

    Returns
    -------
    tuple of OffPlace
        The one with the greatest error times area first; the earlier of two alike.

    Notes
    -----
    Instants off target are joined unless good ground for over a second, or a cut of the log, lies between.
    """
    rows = np.flatnonzero(tally.instant_off_cm2)
    if not rows.size or most <= 0:
        return ()
    trace = result.driven
    # An instant covers the ground of its interval, so two neighbours touch.
    apart_s = trace.time_s[rows[1:]] - trace.interval_s[rows[1:]] - trace.time_s[rows[:-1]]
    cuts = np.cumsum(np.isnan(trace.interval_s))
    fresh = (apart_s > JOINED_WITHIN_S) | (np.diff(cuts[rows]) > 0)
    starts = np.concatenate([[0], np.flatnonzero(fresh) + 1])
    weight = np.add.reduceat(tally.instant_size[rows], starts)
    ends = np.append(starts[1:], rows.size)
    order = np.argsort(-weight, kind="stable")[:most]
    return tuple(_place(result, tally, rows[starts[one] : ends[one]]) for one in order)


def _place(result: ExactResult, tally: SectionTally, rows: IntArray) -> OffPlace:
    trace, errors, sizes = result.driven, tally.instant_error[rows], tally.instant_size[rows]
    area = int(tally.instant_off_cm2[rows].sum())
    first, last = int(rows[0]), int(rows[-1])
    start_s = float(trace.time_s[first] - trace.interval_s[first])
    weights = np.bincount(tally.cause[rows], weights=sizes, minlength=len(CAUSES))
    worst = rows[np.argsort(-sizes, kind="stable")]
    known = worst[np.isfinite(trace.east_m[worst]) & np.isfinite(trace.north_m[worst])]
    at = int(known[0]) if known.size else int(worst[0])
    return OffPlace(
        start_s=start_s,
        length_s=float(trace.time_s[last]) - start_s,
        east_m=float(trace.east_m[at]),
        north_m=float(trace.north_m[at]),
        area_cm2=area,
        error_ratio=float(errors.sum()) / area,
        size_ratio=float(tally.instant_size[rows].sum()) / area,
        cause=CAUSES[int(np.argmax(weights))],
        limit=_limit(result.bound[rows].astype(np.int64), sizes),
        from_mps=float(trace.speed_mps[first]),
        to_mps=float(trace.speed_mps[last]),
    )


def _limit(bound: IntArray, weight: FloatArray) -> Limit | None:
    """Return the limit that bound the greater part of a place, if any did."""
    weights = np.bincount(bound - NO_LIMIT, weights=weight, minlength=len(LIMITS) + 1)
    greatest = int(np.argmax(weights))
    return None if greatest == 0 else LIMITS[greatest + NO_LIMIT]
