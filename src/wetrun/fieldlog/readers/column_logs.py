"""From columns by meaning to logs: units, facts as written, tracks apart, and traces where there is a width."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.cleaning import LONGEST_STEP_S, MEDIANS_TO_A_GAP, trace_of_rows
from wetrun.fieldlog.readers.clock import counts_rows
from wetrun.fieldlog.readers.column_table import ColumnTable, ParsedColumns, parsed
from wetrun.fieldlog.readers.columns import ColumnRole
from wetrun.fieldlog.readers.counted_time import with_counted_time
from wetrun.fieldlog.readers.csv_units import SiColumns, positions_in, si_columns
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.fieldlog.readers.held_values import with_values_held
from wetrun.fieldlog.readers.log_units import TIME
from wetrun.fieldlog.readers.mapping import ColumnMapping
from wetrun.fieldlog.readers.record_facts import (
    Positions,
    RecordFacts,
    SpeedSource,
    Track,
    facts_of_track,
    repairs_and_doubts,
)
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.readers.tracks import tracks_of
from wetrun.fieldlog.rows import LATEST_S, UNBELIEVABLE, LogSource, RawRows, unbelievable_words
from wetrun.fieldlog.trace import ColumnUse, Doubt, FloatArray, Repair
from wetrun.units import SECOND, Ratio

NOT_TOLD: Final = "machine not described"
SAME_STEP: Final[Ratio] = 0.1


def logs_of_table(table: ColumnTable, request: ReadRequest) -> FoundLogs:
    """Return the logs of a table of named columns.

    Raises
    ------
    InputProblems
        When the mapping names columns the table does not have.
    """
    logs = logs_of_columns(parsed(table, request.mapping), request.mapping)
    return FoundLogs(table.file, table.format, logs)


def logs_of_columns(columns: ParsedColumns, mapping: ColumnMapping | None) -> tuple[FoundLog, ...]:
    """Return one log for each track of columns by meaning: as a column names them, else as the rows show them."""
    columns = _with_believable_clock(with_counted_time(columns))
    if len(columns.track_names) <= 1:
        columns = told_apart(columns)
    if columns.on_change:
        columns = with_values_held(columns)
    if len(columns.track_names) <= 1:
        return (_log(columns, mapping, columns.file),)
    return tuple(
        _log(columns.of_rows(np.flatnonzero(columns.track == number)), mapping, f"{columns.file}, track {name}")
        for number, name in enumerate(_told_names(columns, mapping))
    )


def _told_names(columns: ParsedColumns, mapping: ColumnMapping | None) -> tuple[str, ...]:
    """Return what tracks are called: by number, for a column taken unasked may hold a person's name or a serial number.

    Only a column that the user mapped as the track is told by its own words, and the numbers a reader gave itself.
    """
    role = columns.roles.get("track")
    if role is None or role.fixed or (mapping is not None and "track" in mapping.columns):
        return columns.track_names
    return tuple(str(nth) for nth, _ in enumerate(columns.track_names, start=1))


def _with_believable_clock(columns: ParsedColumns) -> ParsedColumns:
    beyond = np.abs(columns.time_s) > LATEST_S
    if not beyond.any():
        return columns
    repair = Repair(UNBELIEVABLE, int(beyond.sum()), 0.0, unbelievable_words("time"))
    return replace(columns, time_s=np.where(beyond, np.nan, columns.time_s), repairs=[*columns.repairs, repair])


def told_apart(columns: ParsedColumns) -> ParsedColumns:
    """Return the columns with the tracks their rows show, as they are where that is one."""
    positions, _ = positions_in(columns.roles, columns.numbers)
    found = tracks_of(columns.time_s, columns.section, positions, sections=bool(columns.section_names))
    if found is None:
        return columns
    names = tuple(str(number) for number in range(1, found.count + 1))
    return replace(columns, track=found.track, track_names=names, doubts=[*columns.doubts, found.doubt])


def _log(columns: ParsedColumns, mapping: ColumnMapping | None, name: str) -> FoundLog:
    found = _si(columns, mapping, name)
    facts = facts_of_track(_track(columns, found))
    repairs, doubts = repairs_and_doubts(facts)
    trace, lacks = None, _no_time(columns, name) or found.lacks
    if lacks is None:
        try:
            trace = trace_of_rows(_raw_rows(columns, found, name))
        except LogRefused as refused:
            lacks = refused
    return FoundLog(
        name=name,
        kind=NOT_TOLD,
        facts=facts,
        columns=_uses(columns, found),
        raw_columns=found.raw,
        repairs=(*columns.repairs, *repairs),
        doubts=(*columns.doubts, *found.doubts, *_counter(columns, facts), *doubts),
        trace=trace,
        lacks=lacks,
        of_section=_fullest_section(columns),
        proposed=columns.proposed,
    )


def facts_and_speeds(columns: ParsedColumns, mapping: ColumnMapping | None) -> tuple[RecordFacts, Track]:
    """Return the facts of rows, and the records and speeds they are of."""
    track = _track(columns, _si(columns, mapping, columns.file))
    return facts_of_track(track), track


def raw_rows_of(columns: ParsedColumns, mapping: ColumnMapping | None) -> RawRows:
    """Return the rows of one track in SI, as they go into cleaning.

    Raises
    ------
    LogRefused
        When there is no time, no width, or a unit that is neither stated nor worked out.
    """
    found = _si(columns, mapping, columns.file)
    lacks = _no_time(columns, columns.file) or found.lacks
    if lacks is not None:
        raise lacks
    return _raw_rows(columns, found, columns.file)


def _si(columns: ParsedColumns, mapping: ColumnMapping | None, name: str) -> SiColumns:
    return si_columns(columns.roles, columns.numbers, (columns.time_s, columns.section), file=name, mapping=mapping)


def _fullest_section(columns: ParsedColumns) -> str:
    if not columns.section_names or not columns.rows:
        return ""
    return columns.section_names[int(np.bincount(columns.section).argmax())]


def _track(columns: ParsedColumns, found: SiColumns) -> Track:
    """Return all records, or where rows are boom sections, of the section that has most of them."""
    of_one = slice(None)
    if columns.section_names:
        of_one = np.flatnonzero(columns.section == np.bincount(columns.section).argmax())  # type: ignore[assignment]
    time_s = columns.time_s[of_one]
    timed = np.isfinite(time_s)
    time_ms = np.where(timed, np.rint(np.where(timed, time_s, 0.0) * 1000), 0).astype(np.int64)
    positions, shown = found.positions, found.columns["shown_speed_mps"][of_one]
    shown = np.where(shown < 0, np.nan, shown)  # a speed under zero tells none
    if positions is not None:
        positions = Positions(positions.east_m[of_one], positions.north_m[of_one], positions.known[of_one])
    distance_m, interval = found.columns["distance_m"][of_one], _interval(columns)[of_one]
    logged = (
        SpeedSource("logged", "speed column of the log", shown),
        SpeedSource("distance / time", *_distance_speeds(distance_m, np.where(timed, time_s, np.nan), interval)),
    )
    told = tuple(one for one in logged if np.isfinite(one.speed_mps).any())
    return Track(time_ms, timed, positions, told)


def _interval(columns: ParsedColumns) -> Annotated[FloatArray, SECOND]:
    """Return the interval column [rows] [s], nan where there is none: without a unit it is in those of the clock."""
    if "interval" not in columns.roles:
        return np.full(columns.time_s.size, np.nan)
    unit = columns.roles["interval"].unit
    return columns.numbers["interval"] * TIME[unit or "s"]


def _distance_speeds(distance_m: FloatArray, time_s: FloatArray, interval_s: FloatArray) -> tuple[str, FloatArray]:
    """Return logged distance over the logged interval, else over the step of the clock where that is no gap."""
    step_s = np.diff(time_s, prepend=np.nan)
    forward = step_s[step_s > 0]
    usual_s = float(np.median(forward)) if forward.size else 0.0
    known_s = interval_s[interval_s > 0]
    if known_s.size and abs(float(np.median(known_s)) - usual_s) <= SAME_STEP * usual_s:
        words, took_s = "logged distance over the logged interval", interval_s
    else:
        words, took_s = "logged distance over the time since the record before", step_s
        took_s = np.where(took_s <= max(LONGEST_STEP_S, MEDIANS_TO_A_GAP * usual_s), took_s, np.nan)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return words, np.where((took_s > 0) & (distance_m >= 0), distance_m / took_s, np.nan)


def _counter(columns: ParsedColumns, facts: RecordFacts) -> tuple[Doubt, ...]:
    """Return the doubt of a clock that may only count the records: one more in each, also where the place jumps."""
    if columns.clock is None or columns.clock.of_numbers is None or not facts.jumps or not counts_rows(columns.time_s):
        return ()
    words = (
        f"Every record is 1 s after the one before, also where the place jumps ({facts.jumps}): it may only count them"
    )
    return (Doubt(words, "Ask what the terminal writes there, and do not trust speeds until it is known to be a time"),)


def _no_time(columns: ParsedColumns, name: str) -> LogRefused | None:
    if columns.clock is not None:
        return None
    role = columns.roles.get("time")
    if role is None:
        reason = "no column tells the time, so there is no speed"
        remedy = 'Name it in a mapping file: time = { column = "…" }; without times a log shows where, not how fast'
        return LogRefused(name, place="line 1", reason=reason, remedy=remedy)
    remedy = f'Say how to read it in a mapping file: time = {{ column = "{role.column}", unit = "s" }}, or a format'
    return LogRefused(name, place=f"column {role.column}", reason=columns.no_clock, remedy=remedy)


def _uses(columns: ParsedColumns, found: SiColumns) -> tuple[ColumnUse, ...]:
    return (*_time_use(columns, columns.roles.get("time")), *found.uses)


def _time_use(columns: ParsedColumns, role: ColumnRole | None) -> tuple[ColumnUse, ...]:
    if role is None or columns.clock is None:
        return ()
    words = role.unit or columns.clock.words
    return (ColumnUse("time", role.column, words, role.stated or bool(role.format), role.evidence),)


def _raw_rows(columns: ParsedColumns, found: SiColumns, name: str) -> RawRows:
    source = LogSource(
        file=name,
        format=columns.format,
        rows=columns.rows,
        columns=_uses(columns, found),
        raw_columns=found.raw,
        repairs=(*columns.repairs, *found.repairs),
        doubts=(*columns.doubts, *found.doubts),
    )
    return RawRows(
        time_s=columns.time_s,
        section=columns.section,
        section_names=columns.section_names,
        source=source,
        full_width_m=found.full_width_m,
        origin=found.positions.origin if found.positions else None,
        **found.columns,
    )
