"""The track of a satellite receiver as logs, whatever the format it was written in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.clock import Clock
from wetrun.fieldlog.readers.column_logs import logs_of_columns
from wetrun.fieldlog.readers.column_table import ColumnTable, NamedColumn, ParsedColumns, column_numbers, roles_of
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.fieldlog.readers.mapping import check_columns_exist
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray, Repair
from wetrun.units import SECOND

# Our own choice (no source): where this share of the points carries the time of the one before, the times are no clock.
MOST_ALIKE: Final = 0.5
ALL_SPRAYED: Final = Doubt(
    "A receiver does not tell when the boom was on: the whole track counts as sprayed, turns and roads too",
    "Send a log that tells sections or widths, or cut the track to the field first",
)
STATE_THE_BOOM: Final = 'State the boom in a mapping file: [boom] full_width = { value = 100, unit = "ft" }'
WITH_TIMES: Final = "Export the track as it was recorded, with times; without them it shows where, not how fast"


@dataclass(frozen=True, slots=True)
class ReceiverTrack:
    """Points in file order [points]: clock, nan where there is none, places and what else the receiver tells.

    ``clock`` says in words how the times are written, empty where there are none. ``part`` is the place in
    ``part_names`` of the stretch a point belongs to: stretches are never joined. ``of_file`` are doubts of the whole
    file, ``no_time`` says why a part is without a clock.
    """

    file: str
    format: str
    time_s: Annotated[FloatArray, SECOND]
    clock: str
    columns: tuple[NamedColumn, ...]
    part: IntArray
    part_names: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    of_file: tuple[Doubt, ...] = ()
    no_time: str = "its points tell no time, so there is no speed"


def logs_of_receiver(track: ReceiverTrack, request: ReadRequest) -> FoundLogs:
    """Return the logs of a receiver's track, one for each part.

    Raises
    ------
    InputProblems
        When the mapping names columns the track does not have.
    """
    mapping = request.mapping
    clock = (NamedColumn("time", track.time_s, track.clock, "time"),) if track.clock else ()
    table = ColumnTable(track.file, track.format, track.time_s.size, (*clock, *track.columns))
    if mapping:
        check_columns_exist(mapping, tuple(column.name for column in table.columns), log=track.file)
    roles = roles_of(table, mapping)
    numbers = {
        meaning: column_numbers(table.columns[role.index])[0] for meaning, role in roles.items() if meaning != "time"
    }
    boom = (ALL_SPRAYED,) if mapping and mapping.full_width_m is not None else ()
    columns = ParsedColumns(
        file=track.file, format=track.format, rows=table.rows, roles=roles,
        clock=Clock(_never, track.clock) if track.clock else None, time_s=track.time_s,
        section=np.zeros(table.rows, dtype=np.int64), section_names=(), numbers=numbers,
        track=track.part, track_names=track.part_names, repairs=list(track.repairs),
        doubts=[*track.doubts, *_alike(track), *boom],
    )  # fmt: skip
    logs = logs_of_columns(columns, mapping)
    told = tuple(_in_receivers_words(log, track, known=bool(boom)) for log in logs)
    return FoundLogs(track.file, track.format, told, doubts=track.of_file)


def _never(_cells: object) -> FloatArray:
    """Stand for the reading of a clock that has been read already."""
    raise NotImplementedError


def _alike(track: ReceiverTrack) -> tuple[Doubt, ...]:
    """Return a doubt where most points carry the time of the one before."""
    same = int((np.diff(track.time_s) == 0).sum())
    if same <= MOST_ALIKE * track.time_s.size:
        return ()
    words = f"{same:,} of {track.time_s.size:,} points carry the time of the one before: these times are no clock"
    return (Doubt(words, "Take no speed from this track; export it as it was recorded"),)


def _in_receivers_words(log: FoundLog, track: ReceiverTrack, *, known: bool) -> FoundLog:
    """Return a log that says of a track, not of a table, what it lacks."""
    if log.facts.untimed == log.facts.records:
        return replace(log, lacks=LogRefused(log.name, place="", reason=track.no_time, remedy=WITH_TIMES))
    if log.lacks is None or known:
        return log
    reason = "a receiver's track tells no width"
    return replace(log, lacks=LogRefused(log.name, place="", reason=reason, remedy=STATE_THE_BOOM))
