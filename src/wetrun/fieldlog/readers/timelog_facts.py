"""What a time log's records are like before anything is joined or cut: clock, positions, speeds side by side.

Counts are of records as written. Speeds from positions are taken over windows of at least `WINDOW_S`, from every
record with a position to the first one that much later, and never across a gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.fieldlog.cleaning import LONGEST_STEP_S, MEDIANS_TO_A_GAP
from wetrun.fieldlog.inspect import PERCENTILES, SpeedPercentiles
from wetrun.fieldlog.readers.timelog_columns import (
    NO_STATUS,
    SIMULATED,
    Positions,
    SpeedSource,
    TimeLogTable,
    positions_of,
    speeds_of,
)
from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.units import Frac, S

WINDOW_MS: Final = 1000


@dataclass(frozen=True, slots=True)
class TimeLogFacts:
    """Counts and speeds of one time log as written.

    ``same_time`` are records at the clock reading of the one before, ``backward_steps`` those before it. ``no_fix`` are
    records at 0/0 or without a position.
    """

    records: int
    values: int
    span_s: S
    usual_step_s: S
    longest_step_s: S
    gaps: int
    gap_total_s: S
    backward_steps: int
    same_time: int
    no_fix: int
    no_fix_frac: Frac
    simulated: int
    without_status: int
    recounted: int
    resynchronised: int
    skipped_bytes: int
    speeds: tuple[SpeedPercentiles, ...]


def facts_of(table: TimeLogTable) -> TimeLogFacts:
    """Return the facts of decoded records."""
    records, positions = table.records, positions_of(table)
    step_ms = np.diff(table.time_ms)
    forward_ms = step_ms[step_ms > 0]
    longest_ms = gap_over_ms(table.time_ms)
    gap_ms = step_ms[step_ms > longest_ms]
    no_fix = int((~positions.known).sum()) if positions else records.count
    status = records.fields.get("status", np.empty(0, dtype=np.uint8))
    return TimeLogFacts(
        records=records.count,
        values=int(records.value_raw.size),
        span_s=float(np.ptp(table.time_ms)) / 1000,
        usual_step_s=float(np.median(forward_ms)) / 1000 if forward_ms.size else float("nan"),
        longest_step_s=float(forward_ms.max()) / 1000 if forward_ms.size else float("nan"),
        gaps=int(gap_ms.size),
        gap_total_s=float(gap_ms.sum()) / 1000,
        backward_steps=int((step_ms < 0).sum()),
        same_time=int((step_ms == 0).sum()),
        no_fix=no_fix,
        no_fix_frac=no_fix / records.count,
        simulated=int((status == SIMULATED).sum()),
        without_status=int((status == NO_STATUS).sum()),
        recounted=records.recounted,
        resynchronised=records.resynchronised,
        skipped_bytes=records.skipped_bytes,
        speeds=_speeds(table, positions),
    )


def gap_over_ms(time_ms: IntArray) -> float:
    """Return the step of the clock over which a gap begins: five seconds, or five usual steps if those are longer."""
    step_ms = np.diff(time_ms)
    forward_ms = step_ms[step_ms > 0]
    usual_ms = float(np.median(forward_ms)) if forward_ms.size else 0.0
    return max(LONGEST_STEP_S * 1000, MEDIANS_TO_A_GAP * usual_ms)


def _speeds(table: TimeLogTable, positions: Positions | None) -> tuple[SpeedPercentiles, ...]:
    sources = list(speeds_of(table))
    if positions:
        words = "way between positions over windows of at least 1 s"
        sources.append(SpeedSource("positions", words, window_speeds(table.time_ms, positions)))
    return tuple(
        SpeedPercentiles(one.source, one.words, int(known.sum()), np.percentile(one.speed_mps[known], PERCENTILES))
        for one in sources
        if (known := np.isfinite(one.speed_mps)).any()
    )


def window_speeds(time_ms: IntArray, positions: Positions) -> FloatArray:
    """Return the speed [m/s] from each position to the first one at least a window later, with no gap between."""
    known = np.flatnonzero(positions.known)
    order = known[np.argsort(time_ms[known], kind="stable")]
    at_ms, east_m, north_m = time_ms[order], positions.east_m[order], positions.north_m[order]
    ahead = np.searchsorted(at_ms, at_ms + WINDOW_MS, side="left")
    inside = np.flatnonzero(ahead < at_ms.size)
    ahead = ahead[inside]
    took_ms = at_ms[ahead] - at_ms[inside]
    moved_m = np.hypot(east_m[ahead] - east_m[inside], north_m[ahead] - north_m[inside])
    return np.asarray(moved_m / took_ms * 1000)[took_ms <= gap_over_ms(time_ms)]
