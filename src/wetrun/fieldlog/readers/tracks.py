"""Tracks woven into one file: told apart by where the rows are, and by a clock that starts again."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.cleaning import FASTEST_MPS
from wetrun.fieldlog.readers.record_facts import Positions
from wetrun.fieldlog.recordings import SLIGHT_STEP_S, recordings_of
from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray
from wetrun.units import SECOND, M, S

# Our own choices (no source): a boom with a wheel's width of error is under 100 m wide, so what is further away at the
# same moment is another machine; fewer rows than these in a place nobody comes back to are a faulty position.
APART_M: Final[M] = 100.0
LONGEST_AWAY_S: Final[S] = 30.0
LEAST_ROWS: Final = 10
LEAST_RETURNS: Final = 3
MOST_TRACKS: Final = 40
MOST_FAULTY: Final = 0.2
STEPS_FROM_THE_START: Final = 5

Row = tuple[float, float, float]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Tracks:
    """The track of each row [rows], counted from 0 in the order they begin, and how they were told apart."""

    track: IntArray
    count: int
    doubt: Doubt


def tracks_of(
    time_s: Annotated[FloatArray, SECOND], section: IntArray, positions: Positions | None, *, sections: bool
) -> Tracks | None:
    """Return the tracks of rows in file order, None where they are one.

    Parameters
    ----------
    time_s
        Clock of each row [rows] [s], nan where it has none.
    section
        Boom section of each row [rows].
    positions
        Positions of the rows, None where there are none.
    sections
        Whether rows are told apart by boom sections.

    Notes
    -----
    Two machines nearer to each other than `APART_M` are not told apart by place. A clock set back in the middle of the
    work makes no track: such recordings stay in one log (see `wetrun.fieldlog.recordings`).
    """
    found = _by_place(time_s, positions) if positions is not None else None
    return found or (None if sections else _by_restart(time_s, section, positions))


def _by_place(time_s: FloatArray, positions: Positions) -> Tracks | None:
    """Return tracks where rows jump between places no machine drives between, and back again."""
    rows = np.flatnonzero(np.isfinite(time_s) & positions.known)
    if rows.size < 2 * LEAST_ROWS:
        return None
    time_s, east_m, north_m = time_s[rows], positions.east_m[rows], positions.north_m[rows]
    far = _too_far(np.diff(time_s), np.hypot(np.diff(east_m), np.diff(north_m)))
    starts = np.concatenate([[0], np.flatnonzero(far) + 1])
    if starts.size <= LEAST_RETURNS:
        return None
    owner, returns = _owners(starts, np.append(starts[1:], rows.size) - 1, (time_s, east_m, north_m))
    lengths = np.diff(np.append(starts, rows.size))
    of_row = np.repeat(owner, lengths)
    sizes = np.bincount(of_row)
    kept = np.flatnonzero(sizes >= LEAST_ROWS)
    faulty = 1 - sizes[kept].sum() / rows.size
    if kept.size < 2 or returns < LEAST_RETURNS or faulty > MOST_FAULTY:
        return None
    words = f"The rows jump between {kept.size} places that no machine drives between: told apart as {kept.size} tracks"
    remedy = 'Map the column that names the machine or recording, if there is one: track = { column = "…" }'
    return Tracks(_spread(of_row, kept, rows, positions.known.size), int(kept.size), Doubt(words, remedy))


def _too_far(step_s: FloatArray, step_m: FloatArray) -> Mask:
    """Return which steps no machine drives, whichever way the clock goes."""
    far: Mask = step_m > FASTEST_MPS * np.abs(step_s) + APART_M
    return far


def _owners(starts: IntArray, ends: IntArray, rows: tuple[FloatArray, FloatArray, FloatArray]) -> tuple[IntArray, int]:
    """Return the track of each stretch of rows, and how often one went on with a track left before."""
    of_starts = zip(*(column[starts].tolist() for column in rows), strict=True)
    of_ends = zip(*(column[ends].tolist() for column in rows), strict=True)
    owner, last, returns = [], list[Row](), 0
    for first, end in zip(of_starts, of_ends, strict=True):
        near = min(((_reach_m(row, first), number) for number, row in enumerate(last)), default=(1.0, 0))
        if near[0] > 0 and len(last) == MOST_TRACKS:
            return np.zeros(starts.size, dtype=np.int64), 0
        if near[0] > 0:
            owner.append(len(last))
            last.append(end)
        else:
            owner.append(near[1])
            last[near[1]] = end
            returns += 1
    return np.array(owner, dtype=np.int64), returns


def _reach_m(row: Row, after: Row) -> M:
    """Return how much further two rows are apart than a machine drives [m], under zero where it can.

    After a while it could be anywhere, and going on with a track left long ago would be no sign of two machines.
    """
    step_s, east_m, north_m = (there - here for there, here in zip(after, row, strict=True))
    return math.hypot(east_m, north_m) - FASTEST_MPS * min(abs(step_s), LONGEST_AWAY_S) - APART_M


def _spread(of_row: IntArray, kept: IntArray, rows: IntArray, count: int) -> IntArray:
    """Return the track of every row: faulty and unplaced rows go with the row before them."""
    renumbered = np.full(int(of_row.max()) + 1, -1, dtype=np.int64)
    renumbered[kept] = np.arange(kept.size)
    track = np.full(count, -1, dtype=np.int64)
    track[rows] = renumbered[of_row]
    told = np.flatnonzero(track >= 0)
    before = np.maximum(np.searchsorted(told, np.arange(count), side="right") - 1, 0)
    spread: IntArray = track[told[before]]
    return spread


def _by_restart(time_s: FloatArray, section: IntArray, positions: Positions | None) -> Tracks | None:
    """Return tracks where the clock or counter begins again where it began, with other rows at the same readings."""
    rows = np.flatnonzero(np.isfinite(time_s))
    if rows.size < 2 * LEAST_ROWS:
        return None
    at_s = time_s[rows]
    step_s = np.diff(at_s)
    back = np.flatnonzero(step_s < -SLIGHT_STEP_S) + 1
    if not back.size or back.size >= MOST_TRACKS:
        return None
    usual_s = float(np.median(step_s[step_s > 0])) if (step_s > 0).any() else 0.0
    lengths = np.diff(np.concatenate([[0], back, [rows.size]]))
    again = at_s[back] - at_s[0] <= STEPS_FROM_THE_START * usual_s
    content = rows.astype(np.float64)
    if positions is not None:
        content = np.nan_to_num(positions.east_m[rows]) + 2 * np.nan_to_num(positions.north_m[rows])
    apart = np.unique(recordings_of(at_s, section[rows], content)[0]).size
    if not again.all() or lengths.min() < LEAST_ROWS or apart != back.size + 1:
        return None
    track = np.repeat(np.arange(lengths.size), lengths)
    words = f"The clock begins again {back.size} times where it began: told apart as {lengths.size} tracks"
    doubt = Doubt(words, "Nothing to do, unless it is one drive whose clock was set back")
    return Tracks(_spread(track, np.arange(lengths.size), rows, time_s.size), int(lengths.size), doubt)
