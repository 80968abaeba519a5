"""ISO 11783-10 task data with binary time logs, versions 2 to 4: a folder, a zip, or the TASKDATA.XML itself.

Each time log becomes a trace where it carries what a trace needs, and otherwise says what is missing. A log that
cannot be read is told and the rest go on.

References
----------
iso-11783-10
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.cleaning import trace_of_rows
from wetrun.fieldlog.readers.log_bundle import MAIN_FILE, LogBundle, bundles_in, is_zip
from wetrun.fieldlog.readers.task_data import TaskData, task_data_in
from wetrun.fieldlog.readers.timelog_boom import boom_of
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable
from wetrun.fieldlog.readers.timelog_facts import TimeLogFacts, facts_of
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_records import records_in
from wetrun.fieldlog.readers.timelog_rows import findings_of, rows_of
from wetrun.fieldlog.trace import Doubt, Repair, Trace

FORMAT: Final = "ISO 11783-10 time log"
Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class TimeLog:
    """One time log: its facts, and its trace or the reason why there is none."""

    name: str
    kind: str
    facts: TimeLogFacts
    repairs: tuple[Repair, ...]
    doubts: tuple[Doubt, ...]
    trace: Trace | None
    missing: str


@dataclass(frozen=True, slots=True)
class TaskLogs:
    """One set of task data: what it says of itself, its time logs, and those that were refused."""

    name: str
    format: str
    machines: tuple[str, ...]
    logs: tuple[TimeLog, ...]
    refused: tuple[LogRefused, ...]
    doubts: tuple[Doubt, ...]


def is_task_data(path: Path) -> bool:
    """Return whether a path is to be read by this reader: any folder or zip, and a main file by its name."""
    return path.is_dir() or path.name.lower() == MAIN_FILE or is_zip(path)


def sniff(path: Path) -> bool:
    """Return whether a folder, zip or file holds task data of this standard."""
    try:
        return bool(bundles_in(path))
    except LogRefused:
        return False


def read(path: Path, progress: Progress | None = None) -> tuple[TaskLogs, ...]:
    """Return every set of task data in a folder or zip, or beside a main file.

    Parameters
    ----------
    path
        Folder, zip, or TASKDATA.XML in any case.
    progress
        Called after each time log with the share read, 0 to 1.

    Raises
    ------
    LogRefused
        When there is no task data, or a main file cannot be used. A single bad time log is told in the result.
    """
    bundles = bundles_in(path)
    if not bundles:
        reason = "there is no TASKDATA.XML in it"
        remedy = "Give the folder the terminal wrote, usually named TASKDATA, or a zip of it"
        raise LogRefused(path.name, place="", reason=reason, remedy=remedy)
    return tuple(_logs_of(bundle, task_data_in(bundle), progress) for bundle in bundles)


def traces_in(path: Path, progress: Progress | None = None) -> tuple[Trace, ...]:
    """Return the traces of all time logs that have one.

    Raises
    ------
    LogRefused
        When there is none: the sentence says of each log what it lacks.
    """
    sets = read(path, progress)
    traces = tuple(log.trace for one in sets for log in one.logs if log.trace is not None)
    if not traces:
        lacks = [f"{log.name}: {log.missing}" for one in sets for log in one.logs]
        lacks += [f"{refused.file}: {refused.reason}" for one in sets for refused in one.refused]
        reason = "no time log in it can be driven again" + (f": {'; '.join(lacks[:5])}" if lacks else ": it lists none")
        remedy = "Send logs that carry width or sections, and speed or positions"
        raise LogRefused(path.name, place="", reason=reason, remedy=remedy)
    return traces


def _logs_of(bundle: LogBundle, task: TaskData, progress: Progress | None) -> TaskLogs:
    logs, refused = [], []
    for nth, name in enumerate(task.logs, start=1):
        try:
            logs.append(_log(bundle, task, name))
        except LogRefused as fault:
            refused.append(fault)
        if progress:
            progress(nth / len(task.logs))
    machines = tuple(machine.kind for machine in task.machines)
    words = f"{FORMAT}, {task.version}"
    return TaskLogs(bundle.name, words, machines, tuple(logs), tuple(refused), task.doubts)


def _log(bundle: LogBundle, task: TaskData, name: str) -> TimeLog:
    header = header_in(bundle.content(f"{name}.xml"), file=f"{name}.xml")
    data = bundle.content(f"{name}.bin")
    if not data:
        raise LogRefused(f"{name}.bin", place="", reason="it has no records", remedy="Nothing to do: it was never used")
    table = TimeLogTable(header, records_in(data, header, file=f"{name}.bin"))
    facts, boom = facts_of(table), boom_of(table, task)
    repairs, doubts = findings_of(facts)
    doubts = (*doubts, *boom.doubts)
    trace, missing = None, boom.missing
    if not missing:
        try:
            trace = trace_of_rows(rows_of(table, boom, file=f"{bundle.name} {name}", words=f"{FORMAT}, {task.version}"))
        except LogRefused as fault:
            missing = fault.reason
    return TimeLog(name, boom.kind, facts, repairs, doubts, trace, missing)
