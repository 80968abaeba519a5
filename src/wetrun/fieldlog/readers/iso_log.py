"""ISO 11783-10 task data with binary time logs, versions 2 to 4: a folder, a zip, or the TASKDATA.XML itself.

Each time log becomes a trace where it carries what a trace needs, and otherwise says what is missing. A log that
cannot be read is told and the rest go on.

References
----------
iso-11783-10
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.cleaning import trace_of_rows
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs, too_long
from wetrun.fieldlog.readers.iso_pieces import LongTimeLog, traces_of
from wetrun.fieldlog.readers.log_bundle import MAIN_FILE, PART_OF_SET, LogBundle, bundle_around
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.task_data import TaskData, task_data_in
from wetrun.fieldlog.readers.timelog_boom import Boom, boom_of
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable
from wetrun.fieldlog.readers.timelog_facts import facts_of
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_records import records_in
from wetrun.fieldlog.readers.timelog_rows import HOLDS, NOTHING_ON, findings_of, rows_of
from wetrun.fieldlog.readers.timelog_survey import check_records
from wetrun.fieldlog.trace import Doubt

FORMAT: Final = "ISO 11783-10 time log"
# Our own choice (no source): a longer log is read in pieces.
MOST_BYTES_AT_ONCE: Final = 64 << 20


def sniff(file: SentFile) -> bool:
    """Return whether a file is the main file of task data."""
    return file.base == MAIN_FILE


def companions(file: SentFile) -> frozenset[str]:
    """Return the names of the files beside a main file that belong to its task data."""
    return frozenset(base for base in file.kin if PART_OF_SET.fullmatch(base))


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return the time logs of one set of task data; one that cannot be used is told in the result.

    Raises
    ------
    LogRefused
        When the main file cannot be used.
    """
    bundle = bundle_around(file)
    task = task_data_in(bundle)
    logs, refused = [], []
    for nth, name in enumerate(task.logs, start=1):
        try:
            logs.append(_log(bundle, task, name))
        except LogRefused as fault:
            refused.append(fault)
        if request.progress:
            request.progress(nth / len(task.logs))
    machines = tuple(machine.kind for machine in task.machines)
    words = f"{FORMAT}, {task.version}"
    return FoundLogs(bundle.name, words, tuple(logs), machines, tuple(refused), task.doubts)


def _log(bundle: LogBundle, task: TaskData, name: str) -> FoundLog:
    header = header_in(bundle.content(f"{name}.xml"), file=f"{name}.xml")
    data = bundle.file(f"{name}.bin")
    with data.open_plain() as stream:
        empty = not stream.read(1)
    if empty:
        raise LogRefused(f"{name}.bin", place="", reason="it has no records", remedy="Nothing to do: it was never used")
    long = LongTimeLog(data, header, task, f"{bundle.name} {name}", f"{FORMAT}, {task.version}")
    if data.size > MOST_BYTES_AT_ONCE:
        return _long_log(long, name)
    records = records_in(data.content(), header, file=f"{name}.bin")
    check_records(records.count, data.limits.most_records, f"{name}.bin")
    return _log_of(TimeLogTable(header, records), long, name)


def _log_of(table: TimeLogTable, log: LongTimeLog, name: str) -> FoundLog:
    facts, boom = facts_of(table), boom_of(table, log.task)
    repairs, doubts = findings_of(table, facts)
    trace, lacks = None, _lacking(boom, name)
    if lacks is None:
        try:
            trace = trace_of_rows(rows_of(table, boom, file=log.name, words=log.words))
        except LogRefused as fault:
            lacks = fault
    return FoundLog(
        name, boom.kind, facts, repairs=repairs, doubts=(*doubts, *boom.doubts), trace=trace, lacks=lacks, holds=HOLDS
    )


def _long_log(log: LongTimeLog, name: str) -> FoundLog:
    """Return a log of which only the head was looked at, to be read in pieces."""
    head = _log_of(next(log.tables()), log, name)
    records = head.facts.records
    doubt = Doubt(
        f"The log is long: what is told here is of its first {records:,} records",
        "Nothing to do: plans, conversion and fleets take all of it, in pieces",
    )
    lacks, pieces = head.lacks, None
    if lacks is None or lacks.reason == NOTHING_ON:
        lacks, pieces = too_long(log.name, records), partial(traces_of, log)
    return replace(head, doubts=(doubt, *head.doubts), trace=None, lacks=lacks, pieces=pieces)


def _lacking(boom: Boom, name: str) -> LogRefused | None:
    """Return why a boom cannot be driven again, None if it can."""
    if not boom.missing:
        return None
    remedy = "Send logs that carry width or sections"
    return LogRefused(name, place="", reason=boom.missing, remedy=remedy)
