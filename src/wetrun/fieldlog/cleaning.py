"""From the rows of a file to a trace: what was put right is counted, what stays open is said, nothing is silent."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.crosscheck import clock_shift, step_shift
from wetrun.fieldlog.instants import Instants, Settled, instants_of
from wetrun.fieldlog.recordings import recordings_of
from wetrun.fieldlog.rows import RawRows, believable
from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray, LeftOut, LogFacts, Repair, Trace, whole_cm
from wetrun.fieldlog.turns import curvature_along
from wetrun.units import M2, METRE_PER_SECOND, SECOND, SQUARE_METRE, M, Mps, S

METHOD: Final = "cleaning of a field log"
METHOD_NUMBER: Final = 1

# Our own choices (no source): no sprayer sprays at 90 km/h, and a pause of 5 s is a stop, not a slow sample.
FASTEST_MPS: Final[Mps] = 25.0
LONGEST_STEP_S: Final[S] = 5.0
MEDIANS_TO_A_GAP: Final = 5
SLOWEST_LOG_S: Final[S] = 30.0
MEDIANS_TO_A_PAUSE: Final = 3
MOST_JUMPS: Final = 0.2


@dataclass(slots=True)
class Notes:
    """Repairs, doubts and left-out areas, gathered while cleaning."""

    repairs: list[Repair] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)

    def repair(self, kind: str, count: int, words: str, area_m2: M2 = 0.0) -> None:
        """Note a repair over an area [m2], if it happened at all."""
        if count:
            self.repairs.append(Repair(kind, int(count), float(area_m2), words))


def trace_of_rows(rows: RawRows, settled: Settled | None = None) -> Trace:
    """Return the trace of a log's rows, or of a piece of a long one as was settled on its head.

    Raises
    ------
    LogRefused
        When no instant with a time, a width and a distance is left; in a piece, when no row has a time and a width.
    """
    notes = Notes(list(rows.source.repairs), list(rows.source.doubts))
    rows = believable(rows, notes.repair)
    kept, recording, backward_steps = _ordered(rows, notes)
    found = instants_of(rows, kept, recording, notes.repair, settled=settled)
    if settled is None:
        _check_interval(rows, found)
    interval_s, gaps_s = _intervals(found, notes, settled)
    distance_m = _distances(found, interval_s, notes, settled)
    speed_mps = _speeds(found, distance_m, interval_s, notes)
    area_m2 = np.where(np.isnan(found.area_m2), distance_m * found.width_m, found.area_m2)
    notes.left_out.extend(left_out_of(speed_mps, interval_s, area_m2))
    if settled is None:
        _check_anything_left(rows, speed_mps, area_m2)
        _doubt_steps(found, distance_m, interval_s, notes)
    facts = _facts(rows, found, notes, (backward_steps, gaps_s))
    return Trace(
        time_s=found.time_s - (settled.start_s if settled else found.time_s[0]),
        interval_s=interval_s,
        distance_m=distance_m,
        speed_mps=speed_mps,
        shown_speed_mps=found.shown_speed_mps,
        width_m=found.width_m,
        target_m3pm2=found.target_m3pm2,
        applied_m3pm2=found.applied_m3pm2,
        heading_rad=found.heading_rad,
        curvature_radpm=curvature_along(found.heading_rad, distance_m, interval_s),
        area_m2=area_m2,
        east_m=found.east_m,
        north_m=found.north_m,
        sections_on=found.sections_on,
        full_width_m=max(_full_width_m(rows, found), settled.full_width_m if settled else 0.0),
        sections=found.sections,
        facts=facts,
        origin=rows.origin,
        swing_ratio=found.swing_ratio,
    )


def _ordered(rows: RawRows, notes: Notes) -> tuple[IntArray, IntArray, int]:
    """Return the rows worth keeping in time order, the recording of each, and how often the clock went back."""
    timed = np.isfinite(rows.time_s)
    on = (rows.width_m > 0) & np.isfinite(rows.width_m)
    notes.repair("no time", (~timed).sum(), "rows without a readable time were left out")
    notes.repair("no width", (timed & ~on).sum(), "rows without a width over zero were taken as a section that is off")
    rows_kept = np.flatnonzero(timed & on)
    if not rows_kept.size:
        reason = "no row has both a readable time and a width over zero"
        remedy = "Check with a mapping that the right columns are read"
        raise LogRefused(rows.source.file, place=f"rows 1 to {rows.source.rows}", reason=reason, remedy=remedy)
    time_s = rows.time_s[rows_kept]
    content = np.nan_to_num(rows.distance_m) + np.nan_to_num(rows.east_m) + 2 * np.nan_to_num(rows.north_m)
    recording, steps = recordings_of(time_s, rows.section[rows_kept], content[rows_kept])
    words = "places where the file goes back in time; rows were put in time order, recordings kept apart"
    notes.repair("clock backward", steps, words)
    order = np.lexsort((rows.section[rows_kept], time_s, recording))
    return rows_kept[order], recording[order], steps


def settled_by(rows: RawRows) -> Settled:
    """Return what the head of a long log settles for all of it.

    Raises
    ------
    LogRefused
        When the head cannot be driven again.
    """
    trace, notes = trace_of_rows(rows), Notes()
    rows = believable(rows, notes.repair)
    kept, recording, _ = _ordered(rows, notes)
    found = instants_of(rows, kept, recording, notes.repair)
    interval_s = _plain_intervals(found)
    usual_s = _usual(interval_s)
    names = list(rows.section_names)
    return Settled(
        start_s=float(found.time_s[0]),
        usual_s=usual_s,
        trusts_positions=int(_jumps(found, interval_s, usual_s)[0].sum()) <= MOST_JUMPS * interval_s.size,
        distance_logged=bool(np.isfinite(found.distance_m).any()),
        speed_shown=bool(np.isfinite(found.shown_speed_mps).any()),
        full_width_m=trace.full_width_m,
        sections=trace.sections,
        numbers=np.array([names.index(section.name) for section in trace.sections], dtype=np.int64),
    )


def _plain_intervals(found: Instants) -> Annotated[FloatArray, SECOND]:
    interval_s = np.diff(found.time_s, prepend=np.nan)
    interval_s[np.diff(found.recording, prepend=-1) != 0] = np.nan
    return interval_s


def _usual(interval_s: FloatArray) -> S:
    return float(np.nanmedian(interval_s)) if np.isfinite(interval_s).any() else 0.0


def _jumps(found: Instants, interval_s: FloatArray, usual_s: S) -> tuple[npt.NDArray[np.bool_], FloatArray]:
    """Return where the position jumps further than a sprayer drives, and each step of the position [m]."""
    gap = interval_s > max(LONGEST_STEP_S, MEDIANS_TO_A_GAP * usual_s)
    step_m = np.hypot(np.diff(found.east_m, prepend=np.nan), np.diff(found.north_m, prepend=np.nan))
    return ~gap & (step_m > FASTEST_MPS * interval_s + FASTEST_MPS), step_m


def _intervals(found: Instants, notes: Notes, settled: Settled | None) -> tuple[Annotated[FloatArray, SECOND], list[S]]:
    """Return the time to the previous instant, nan at each cut, and the lengths of the gaps cut."""
    interval_s = _plain_intervals(found)
    usual_s = settled.usual_s if settled else _usual(interval_s)
    gap = interval_s > max(LONGEST_STEP_S, MEDIANS_TO_A_GAP * usual_s)
    gaps_s = [float(length) for length in interval_s[gap]]
    notes.repair("gap", len(gaps_s), f"gaps over {max(LONGEST_STEP_S, MEDIANS_TO_A_GAP * usual_s):.3g} s were cut")
    jump, step_m = _jumps(found, interval_s, usual_s)
    if not (settled.trusts_positions if settled else jump.sum() <= MOST_JUMPS * interval_s.size):
        remedy = "Check the longitude and latitude columns with a mapping"
        notes.doubts.append(Doubt(f"Positions jump at {jump.sum()} of {interval_s.size} instants: not used", remedy))
        jump, step_m = np.zeros_like(jump), np.full_like(step_m, np.nan)
    notes.repair("jump", jump.sum(), "jumps of position that no sprayer drives were cut")
    pause = ~gap & ~jump & (interval_s > MEDIANS_TO_A_PAUSE * usual_s) & _falls_short(found, interval_s, step_m)
    notes.repair("pause", pause.sum(), "pauses whose logged distance is that of the last step only were cut")
    interval_s[gap | jump | pause] = np.nan
    return interval_s, gaps_s


def _check_interval(rows: RawRows, found: Instants) -> None:
    usual_s = float(np.median(np.diff(found.time_s))) if found.time_s.size > 1 else 0.0
    if usual_s > SLOWEST_LOG_S:
        reason = f"instants are usually {usual_s:.3g} s apart, and over {SLOWEST_LOG_S:g} s no speed can be told"
        remedy = "Export the log at the terminal's own interval, or state the unit of the time in a mapping"
        raise LogRefused(rows.source.file, place="time column", reason=reason, remedy=remedy)


def _falls_short(found: Instants, interval_s: FloatArray, step_m: FloatArray) -> npt.NDArray[np.bool_]:
    """Return where the distance does not cover the interval: sections were off for a while, and rows are missing.

    Told by positions that moved twice as far, or by a speed under half of those just before and after.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        speed_mps = found.distance_m / interval_s
    beside_mps = np.fmin(np.roll(speed_mps, 1), np.roll(speed_mps, -1))
    return (step_m > 2 * found.distance_m) | (2 * speed_mps < beside_mps)


def _distances(found: Instants, interval_s: FloatArray, notes: Notes, settled: Settled | None) -> FloatArray:
    """Return the distance of each instant: logged, else from the shown speed, else from positions."""
    if settled.distance_logged if settled else np.isfinite(found.distance_m).any():
        wrong = found.distance_m < 0
        notes.repair("negative distance", wrong.sum(), "instants with a distance under zero were left out")
        missing = np.isnan(found.distance_m)
        notes.repair("no distance", missing.sum(), "instants without a distance were left out")
        return np.where(wrong, np.nan, found.distance_m)
    if settled.speed_shown if settled else np.isfinite(found.shown_speed_mps).any():
        notes.doubts.append(Doubt("There is no distance: it is the shown speed times the interval", "Nothing to do"))
        return np.where(found.shown_speed_mps < 0, np.nan, found.shown_speed_mps) * interval_s
    remedy = "Export distance or speed as well: positions alone are rough"
    notes.doubts.append(Doubt("There is no distance and no speed: both come from positions", remedy))
    step_m = np.hypot(np.diff(found.east_m, prepend=np.nan), np.diff(found.north_m, prepend=np.nan))
    return np.where(np.isnan(interval_s), np.nan, step_m)


def _speeds(
    found: Instants, distance_m: FloatArray, interval_s: FloatArray, notes: Notes
) -> Annotated[FloatArray, METRE_PER_SECOND]:
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        speed_mps = distance_m / interval_s
    impossible = ~(speed_mps <= FASTEST_MPS) & ~np.isnan(speed_mps)
    area_m2 = np.nansum((distance_m * found.width_m)[impossible])
    words = f"instants faster than {FASTEST_MPS:g} m/s were left out"
    notes.repair("impossible speed", impossible.sum(), words, area_m2)
    return np.where(impossible, np.nan, speed_mps)


def _doubt_steps(found: Instants, distance_m: FloatArray, interval_s: FloatArray, notes: Notes) -> None:
    """Doubt a distance column one row out of step with the positions, else a clock one row out of step with both."""
    # A distance that is not logged is made of clock and speed: it would tell of the clock under another name.
    logged = np.isfinite(found.distance_m).any()
    shift = step_shift(found.east_m, found.north_m, distance_m, interval_s) if logged else None
    if shift is None:
        # Of the cuts only gaps: a clock out of step makes pauses and jumps of its own, which are what tells on it.
        plain_s = _plain_intervals(found)
        plain_s[plain_s > max(LONGEST_STEP_S, MEDIANS_TO_A_GAP * _usual(plain_s))] = np.nan
        step_m = np.hypot(np.diff(found.east_m, prepend=np.nan), np.diff(found.north_m, prepend=np.nan))
        step_m = step_m if np.isfinite(step_m).any() else found.distance_m
        shift = clock_shift(step_m, plain_s, found.shown_speed_mps)
    notes.doubts.extend([shift] if shift else [])


def left_out_of(
    speed_mps: Annotated[FloatArray, METRE_PER_SECOND],
    interval_s: Annotated[FloatArray, SECOND],
    area_m2: Annotated[FloatArray, SQUARE_METRE],
) -> tuple[LeftOut, ...]:
    """Return which instants with these speeds [m/s], intervals [s] and areas [m2] no tally counts, by reason."""
    first, standing = np.isnan(interval_s), speed_mps == 0
    faulty = np.isnan(speed_mps) & ~first
    reasons = {"first instant after a cut: no interval": first, "no believable speed": faulty, "standing": standing}
    return tuple(
        LeftOut(why, int(mask.sum()), float(np.nansum(area_m2[mask]))) for why, mask in reasons.items() if mask.any()
    )


def _full_width_m(rows: RawRows, found: Instants) -> M:
    """The boom's width with every section on: as stated, else the widest that ever was on."""
    widest_m = float(found.width_m.max())
    if rows.full_width_m is None:
        return widest_m
    if whole_cm(np.array(rows.full_width_m)) < whole_cm(np.array(widest_m)):
        stated = rows.full_width_m / widest_m
        reason = f"the full width stated is only {stated:.3f} of the widest boom the log has on"
        remedy = "Correct full_width, or the unit of the width column, in the column map"
        raise LogRefused(rows.source.file, place="full width of the boom", reason=reason, remedy=remedy)
    return rows.full_width_m


def _check_anything_left(rows: RawRows, speed_mps: FloatArray, area_m2: FloatArray) -> None:
    if not (np.isfinite(speed_mps) & (area_m2 > 0)).any():
        reason = "no two instants follow each other with a time, a distance and a width"
        remedy = "Check the distance and time columns with a mapping, or export the log again"
        raise LogRefused(rows.source.file, place=f"rows 1 to {rows.source.rows}", reason=reason, remedy=remedy)


def _facts(rows: RawRows, found: Instants, notes: Notes, steps: tuple[int, list[S]]) -> LogFacts:
    backward_steps, gaps_s = steps
    names = {group: [s.name for s in found.sections if s.group == group] for group in {s.group for s in found.sections}}
    return LogFacts(
        file=rows.source.file,
        format=rows.source.format,
        rows=rows.source.rows,
        instants=found.time_s.size,
        recordings=int(np.unique(found.recording).size),
        section_groups=tuple(tuple(names[group]) for group in sorted(names)),
        backward_steps=backward_steps,
        gaps=len(gaps_s),
        gap_total_s=float(sum(gaps_s)),
        columns=rows.source.columns,
        raw_columns=rows.source.raw_columns,
        repairs=tuple(notes.repairs),
        doubts=tuple(notes.doubts),
        left_out=tuple(notes.left_out),
    )
