"""What a log's records are like as written, before anything is joined or cut: clock, positions, speeds side by side.

The same for every format. Counts are of records as written, of one track and, where rows are boom sections, of one
section. Speeds from positions are taken over windows of at least `WINDOW_MS`, from every record with a position to the
first one that much later, and never across a gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.cleaning import LONGEST_STEP_S, MEDIANS_TO_A_GAP
from wetrun.fieldlog.inspect import DISAGREEMENT, PERCENTILES, SpeedPercentiles
from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray, Origin, Repair
from wetrun.percent import per_cent
from wetrun.units import METRE, METRE_PER_SECOND, Frac, Mps, S

WINDOW_MS: Final = 1000
BETWEEN_RECORDS: Final = "between records"
# Our own choice (no source): no farm machine drives on from one record to the next at over 60 km/h.
JUMP_MPS: Final[Mps] = 60 / 3.6


@dataclass(frozen=True, slots=True)
class SpeedSource:
    """One source of speed [records] [m/s], nan where it tells none."""

    source: str
    words: str
    speed_mps: Annotated[FloatArray, METRE_PER_SECOND]


@dataclass(frozen=True, slots=True)
class Positions:
    """Positions from the first fix [records] [m], nan where there is none, and the place of that fix on Earth."""

    east_m: Annotated[FloatArray, METRE]
    north_m: Annotated[FloatArray, METRE]
    known: npt.NDArray[np.bool_]
    origin: Origin | None = None


@dataclass(frozen=True, slots=True)
class Track:
    """Records of one machine in file order [records]: clock [ms], positions if there are any, speeds it tells.

    ``timed`` says which records have a clock reading; the ``time_ms`` of the others means nothing.
    """

    time_ms: IntArray
    timed: npt.NDArray[np.bool_]
    positions: Positions | None
    speeds: tuple[SpeedSource, ...] = ()


@dataclass(frozen=True, slots=True)
class RecordFacts:
    """Counts and speeds of one track as written.

    ``same_time`` are records at the clock reading of the one before, ``backward_steps`` those before it; ``no_fix`` are
    records at 0/0 or without a position, ``same_place_frac`` the steps of the clock between two records at one
    position, ``jumps`` those over `JUMP_MPS`. ``values`` counts the numbers in a log that writes only what changed.
    """

    records: int
    untimed: int
    span_s: S
    usual_step_s: S
    step_p95_s: S
    longest_step_s: S
    gaps: int
    gap_total_s: S
    backward_steps: int
    same_time: int
    no_fix: int
    same_place_frac: Frac
    jumps: int
    speeds: tuple[SpeedPercentiles, ...]
    values: int | None = None

    @property
    def no_fix_frac(self) -> Frac:
        """Share of records without a position [frac]."""
        return self.no_fix / self.records if self.records else 0.0


def facts_of_track(track: Track, *, values: int | None = None) -> RecordFacts:
    """Return the facts of records; ``values`` is how many numbers a log holds that writes only what changed."""
    time_ms = track.time_ms[track.timed]
    step_ms = np.diff(time_ms)
    forward_ms = step_ms[step_ms > 0]
    gap_ms = step_ms[step_ms > gap_over_ms(time_ms)]
    records, positions = track.timed.size, track.positions
    same_place, jumps = _steps_between(track)
    return RecordFacts(
        records=records,
        untimed=int((~track.timed).sum()),
        span_s=float(np.ptp(time_ms)) / 1000 if time_ms.size else 0.0,
        usual_step_s=_level(forward_ms, 50),
        step_p95_s=_level(forward_ms, 95),
        longest_step_s=_level(forward_ms, 100),
        gaps=int(gap_ms.size),
        gap_total_s=float(gap_ms.sum()) / 1000,
        backward_steps=int((step_ms < 0).sum()),
        same_time=int((step_ms == 0).sum()),
        no_fix=int((~positions.known).sum()) if positions else records,
        same_place_frac=same_place,
        jumps=jumps,
        speeds=_speeds(track),
        values=values,
    )


def gap_over_ms(time_ms: IntArray) -> float:
    """Return the step of the clock over which a gap begins: five seconds, or five usual steps if those are longer."""
    step_ms = np.diff(time_ms)
    forward_ms = step_ms[step_ms > 0]
    usual_ms = float(np.median(forward_ms)) if forward_ms.size else 0.0
    return max(LONGEST_STEP_S * 1000, MEDIANS_TO_A_GAP * usual_ms)


def window_speeds(
    time_ms: IntArray, positions: Positions, *, longest_ms: float | None = None
) -> Annotated[FloatArray, METRE_PER_SECOND]:
    """Return the speed [m/s] from each position to the first one at least a window later, with no gap between.

    ``longest_ms`` leaves out longer windows as well.
    """
    known = np.flatnonzero(positions.known)
    order = known[np.argsort(time_ms[known], kind="stable")]
    at_ms, east_m, north_m = time_ms[order], positions.east_m[order], positions.north_m[order]
    ahead = np.searchsorted(at_ms, at_ms + WINDOW_MS, side="left")
    inside = np.flatnonzero(ahead < at_ms.size)
    ahead = ahead[inside]
    took_ms = at_ms[ahead] - at_ms[inside]
    moved_m = np.hypot(east_m[ahead] - east_m[inside], north_m[ahead] - north_m[inside])
    return np.asarray(moved_m / took_ms * 1000)[took_ms <= (longest_ms or gap_over_ms(time_ms))]


def step_speeds(time_ms: IntArray, positions: Positions) -> Annotated[FloatArray, METRE_PER_SECOND]:
    """Return the speed [m/s] from each position to the next one in time, without gaps and without equal readings."""
    known = np.flatnonzero(positions.known)
    order = known[np.argsort(time_ms[known], kind="stable")]
    step_ms = np.diff(time_ms[order])
    moved_m = np.hypot(np.diff(positions.east_m[order]), np.diff(positions.north_m[order]))
    drove = (step_ms > 0) & (step_ms <= gap_over_ms(time_ms))
    return np.asarray(moved_m[drove] / step_ms[drove] * 1000)


def repairs_and_doubts(facts: RecordFacts) -> tuple[tuple[Repair, ...], tuple[Doubt, ...]]:
    """Return what reading left out of these records, and what their speeds leave open."""
    share = per_cent(facts.no_fix_frac, places=1)
    repairs = (
        Repair("no time", facts.untimed, 0.0, "records without a readable time"),
        Repair("no position", facts.no_fix, 0.0, f"records at 0/0 or without a position: {share} of all"),
        Repair("clock backward", facts.backward_steps, 0.0, "records whose clock is before the one above"),
    )
    disagreement = disagreement_of(facts.speeds)
    return tuple(one for one in repairs if one.count), (disagreement,) if disagreement else ()


def disagreement_of(speeds: tuple[SpeedPercentiles, ...]) -> Doubt | None:
    """Return a doubt where the middle speeds of two sources differ by over a tenth."""
    middles = {one.source: float(one.percentiles_mps[PERCENTILES.index(50)]) for one in speeds}
    middles.pop(BETWEEN_RECORDS, None)
    if not middles:
        return None
    slowest, fastest = min(middles, key=middles.__getitem__), max(middles, key=middles.__getitem__)
    if middles[fastest] <= middles[slowest] * (1 + DISAGREEMENT):
        return None
    words = f"The speed by {fastest} is more than a tenth above that by {slowest}"
    return Doubt(words, "Check the calibration of the speed sources over a measured course")


def _level(values: IntArray, level: int) -> S:
    """Return a percentile of steps [ms] in seconds, nan where there is none."""
    return float(np.percentile(values, level)) / 1000 if values.size else float("nan")


def _steps_between(track: Track) -> tuple[Frac, int]:
    """Return the share of steps without a change of position, and how many would be a jump."""
    if track.positions is None or not track.positions.known.any():
        return float("nan"), 0
    known = track.timed & track.positions.known
    east_m, north_m = track.positions.east_m[known], track.positions.north_m[known]
    moved_m, step_ms = np.hypot(np.diff(east_m), np.diff(north_m)), np.diff(track.time_ms[known])
    if not moved_m.size:
        return float("nan"), 0
    with np.errstate(divide="ignore", invalid="ignore"):
        speed_mps = np.where(step_ms > 0, moved_m / step_ms * 1000, np.nan)
    near = step_ms <= gap_over_ms(track.time_ms[track.timed])
    return float((moved_m == 0).mean()), int((near & (speed_mps > JUMP_MPS)).sum())


def _speeds(track: Track) -> tuple[SpeedPercentiles, ...]:
    sources = list(track.speeds)
    if track.positions is not None:
        timed = Positions(track.positions.east_m, track.positions.north_m, track.positions.known & track.timed)
        words = f"way between positions over windows of at least {WINDOW_MS / 1000:g} s"
        sources.append(SpeedSource("positions", words, window_speeds(track.time_ms, timed)))
        words = "way between one record and the next, rough where records are close together"
        sources.append(SpeedSource(BETWEEN_RECORDS, words, step_speeds(track.time_ms, timed)))
    return tuple(
        SpeedPercentiles(one.source, one.words, int(known.sum()), np.percentile(one.speed_mps[known], PERCENTILES))
        for one in sources
        if (known := np.isfinite(one.speed_mps)).any()
    )
