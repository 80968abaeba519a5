"""Time counted from durations, for logs that tell how long each record took but not when it was."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.readers.clock import Clock
from wetrun.fieldlog.readers.column_table import ParsedColumns
from wetrun.fieldlog.readers.columns import ColumnRole
from wetrun.fieldlog.readers.log_units import TIME
from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray
from wetrun.units import SECOND, S

# Our own choice (no source): a record that says it took longer is no record of a drive.
LONGEST_S: Final[S] = 86_400.0


def with_counted_time(columns: ParsedColumns) -> ParsedColumns:
    """Return columns without a clock with a time counted from the durations in them, others as they are.

    Each track counts for itself, in the order of its record numbers where there are any. A record without a duration
    has no time.
    """
    if columns.clock is not None or "interval" not in columns.roles:
        return columns
    role = columns.roles["interval"]
    order = _order(columns)
    duration_s = (columns.numbers["interval"] * TIME[role.unit or "s"])[order]
    track = columns.track[order]
    time_s = _counted(duration_s, track)
    if not np.isfinite(time_s).any():
        return columns
    words = f"{role.unit or 's'}, durations added up"
    evidence = f"{role.evidence}; durations of the records added up{_order_words(columns)}"
    return replace(
        columns,
        roles=columns.roles | {"time": ColumnRole("time", role.column, role.index, role.unit, "", evidence)},
        clock=Clock(_never, words),
        time_s=time_s,
        section=columns.section[order],
        numbers={meaning: values[order] for meaning, values in columns.numbers.items()},
        track=track,
        doubts=[*columns.doubts, _doubt(columns, role)],
    )


def _order(columns: ParsedColumns) -> IntArray:
    """Return the rows track by track, by record number within each."""
    if "record" in columns.roles:
        return np.lexsort((columns.numbers["record"], columns.track))
    return np.argsort(columns.track, kind="stable")


def _counted(duration_s: Annotated[FloatArray, SECOND], track: IntArray) -> Annotated[FloatArray, SECOND]:
    known = (duration_s >= 0) & (duration_s <= LONGEST_S)
    total_s = np.cumsum(np.where(known, duration_s, 0.0))
    firsts = np.flatnonzero(np.diff(track, prepend=-1))
    before_s = np.concatenate([[0.0], total_s])[firsts]
    begun_s = np.repeat(before_s, np.diff(np.append(firsts, track.size)))
    return np.where(known, total_s - begun_s, np.nan)


def _order_words(columns: ParsedColumns) -> str:
    return f" in the order of {columns.roles['record'].column}" if "record" in columns.roles else ""


def _doubt(columns: ParsedColumns, role: ColumnRole) -> Doubt:
    dates = (
        f"Column {columns.roles['time'].column} has no time of day" if "time" in columns.roles else "There is no clock"
    )
    words = f"{dates}: time was counted from the durations in {role.column}, so pauses between records do not show"
    return Doubt(words, "Export date and time of each record if the terminal has them")


def _never(_cells: object) -> FloatArray:
    """Stand in for reading a clock's cells: there are none."""
    return np.empty(0)
