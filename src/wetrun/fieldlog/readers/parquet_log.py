"""Parquet files: working files of our own with all they hold, and anybody's tables of points, GeoParquet among them."""

from __future__ import annotations

import io
from typing import BinaryIO, Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.column_logs import NOT_TOLD, logs_of_table
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.fieldlog.readers.parquet_checks import MAGIC, is_parquet, opened
from wetrun.fieldlog.readers.parquet_columns import table_in
from wetrun.fieldlog.readers.parquet_trace import FORMAT as WORKING_FORMAT
from wetrun.fieldlog.readers.parquet_trace import trace_in
from wetrun.fieldlog.readers.record_facts import Positions, SpeedSource, Track, facts_of_track
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.working_header import KEY
from wetrun.fieldlog.rows import LATEST_S
from wetrun.fieldlog.trace import Trace

FORMAT: Final = "Parquet"


def sniff(file: SentFile) -> bool:
    """Return whether a file begins as Parquet does."""
    return file.head(len(MAGIC)) == MAGIC


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return the logs of a Parquet file.

    Raises
    ------
    LogRefused
        When it is damaged, too long, or has no column that means anything here.
    InputProblems
        When the mapping names columns the file does not have.
    """
    with _stream(file) as stream:
        parquet = opened(stream, file.name, request.limits.most_records)
        if KEY in (parquet.metadata.metadata or {}):
            trace = trace_in(stream, file.name)
            return FoundLogs(file.name, WORKING_FORMAT, (_log_of(trace, file.name),))
        request.limits.check_held(parquet.metadata.num_rows, "rows", file=file.name)
        table = table_in(stream, parquet.metadata, file.name, request.mapping)
    if request.progress:
        request.progress(1.0)
    if not table.columns or not table.rows:
        reason = "no column is recognised as a time, a place or a speed" if table.rows else "it has no rows"
        remedy = 'Name its columns in a mapping file: time = { column = "…" }'
        raise LogRefused(file.name, place="", reason=reason, remedy=remedy)
    return logs_of_table(table, request)


def _stream(file: SentFile) -> BinaryIO:
    """Return the bytes to be read from any place; those of a gzip from memory."""
    stream = file.open()
    if is_parquet(stream) or stream.seek(0) or stream.read(len(MAGIC)) == MAGIC:
        return stream
    stream.close()
    return io.BytesIO(file.content())


def _log_of(trace: Trace, name: str) -> FoundLog:
    """Return the log of a working file: its instants stand for the records it was made from."""
    timed = np.isfinite(trace.time_s) & (np.abs(trace.time_s) < LATEST_S)
    time_ms = np.where(timed, np.rint(np.where(timed, trace.time_s, 0.0) * 1000), 0).astype(np.int64)
    known = np.isfinite(trace.east_m) & np.isfinite(trace.north_m)
    positions = Positions(trace.east_m, trace.north_m, known, trace.origin) if known.any() else None
    shown = np.where(trace.shown_speed_mps < 0, np.nan, trace.shown_speed_mps)
    speeds = () if np.isnan(shown).all() else (SpeedSource("logged", "speed column of the log", shown),)
    return FoundLog(
        name=name,
        kind=NOT_TOLD,
        facts=facts_of_track(Track(time_ms, timed, positions, speeds)),
        columns=trace.facts.columns,
        raw_columns=trace.facts.raw_columns,
        repairs=trace.facts.repairs,
        doubts=trace.facts.doubts,
        trace=trace,
    )
