"""Recordings in one file: whether a clock that goes back means rows out of order, or a recording of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.units import SECOND, S

# Our own choice (no source): rows of one terminal may be written a little out of order.
SLIGHT_STEP_S: Final[S] = 2.0
STOP_S: Final[S] = 5.0
FEW: Final = 2
FEW_OF_ALL: Final = 0.02
KEYS_PER_MS: Final = 1 << 10
MOST_RUNS: Final = 200


def recordings_of(
    time_s: Annotated[FloatArray, SECOND], section: IntArray, content: FloatArray
) -> tuple[IntArray, int]:
    """Return the recording of each row, numbered in time order, and how often the file goes back in time.

    Parameters
    ----------
    time_s
        Time of each row in file order [rows] [s], finite.
    section
        Section of each row [rows].
    content
        Anything that tells two rows of one section at one reading apart [rows].

    Notes
    -----
    The file is cut into runs where it goes back. Runs that lie apart in time, or in each other's gaps, are one
    recording merged the wrong way round; so are runs with other sections at the same readings (a file written section
    by section), and runs that repeat the same rows. Runs that would have to be woven into one another instant by
    instant are recordings of their own (a clock set back) and are kept apart.

    Example
    -------
    A clock set back by 3 s in the middle of the work:

    >>> time_s = np.array([0.0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 5.5, 6.5, 7.5, 8.5, 9.5])
    >>> recordings_of(time_s, np.zeros(15, dtype=int), time_s)[0].tolist()
    [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1]
    """
    back = np.flatnonzero(np.diff(time_s) < 0) + 1
    far = back[time_s[back - 1] - time_s[back] > SLIGHT_STEP_S]
    if far.size > MOST_RUNS:
        # Not a clock that was set back but rows in no order at all: time alone decides.
        return np.zeros(time_s.size, dtype=np.int64), int(back.size)
    runs = np.split(np.arange(time_s.size), far)
    owner = _owners(runs, _Rows(time_s, section, content))
    recording = np.empty(time_s.size, dtype=np.int64)
    for run, number in zip(runs, owner, strict=True):
        recording[run] = number
    return recording, int(back.size)


@dataclass(frozen=True, slots=True)
class _Rows:
    time_s: FloatArray
    section: IntArray
    content: FloatArray

    def keys(self, run: IntArray) -> IntArray:
        """Return one number for each row's millisecond and section."""
        return np.rint(self.time_s[run] * 1000).astype(np.int64) * KEYS_PER_MS + self.section[run]


def _owners(runs: list[IntArray], rows: _Rows) -> list[int]:
    """Return the recording number of each run: it joins the first recording it can live in."""
    recordings: list[list[IntArray]] = []
    owner = []
    for run in runs:
        fits = (number for number, others in enumerate(recordings) if all(_fit(run, other, rows) for other in others))
        number = next(fits, len(recordings))
        if number == len(recordings):
            recordings.append([])
        recordings[number].append(run)
        owner.append(number)
    return owner


def _fit(run: IntArray, other: IntArray, rows: _Rows) -> bool:
    """Return whether two runs can be one recording."""
    own, its = np.unique(rows.time_s[run]), np.unique(rows.time_s[other])
    if own[0] > its[-1] or own[-1] < its[0]:
        return True
    few = max(FEW, FEW_OF_ALL * min(own.size, its.size))
    return _contradictions(run, other, rows) <= few and _woven(own, its) <= few


def _contradictions(run: IntArray, other: IntArray, rows: _Rows) -> int:
    """Count the section rows both runs have at one reading with another content."""
    _, own, its = np.intersect1d(rows.keys(run), rows.keys(other), return_indices=True)
    return int((rows.content[run][own] != rows.content[other][its]).sum())


def _woven(own: FloatArray, its: FloatArray) -> int:
    """Count the places where the runs would alternate closer than a stop, readings they share aside."""
    own, its = np.setdiff1d(own, its), np.setdiff1d(its, own)
    times = np.concatenate([own, its])
    order = np.argsort(times, kind="stable")
    turns = np.diff((order >= own.size).astype(np.int64)) != 0
    return int((turns & (np.diff(times[order]) < STOP_S)).sum())
