"""What there is to do: every log of every machine once, with everything any machine asks of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from pathlib import Path
from typing import Final

from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS, Limits
from wetrun.fieldlog.tallied import TurnQuestion
from wetrun.fleet.machines import FleetLog, Machine
from wetrun.fleet.tally_task import LogTask
from wetrun.planning.over_logs import turn_questions

END_BYTES: Final = 1 << 16


@dataclass(frozen=True, slots=True)
class Work:
    """The tasks of a fleet.

    Attributes
    ----------
    tasks : mapping of FleetLog to LogTask
        Each log once.
    repeats : frozenset of FleetLog
        Logs that look like a copy of another one: they are looked at when that one is done, and then cost nothing.
    """

    tasks: Mapping[FleetLog, LogTask]
    repeats: frozenset[FleetLog]


def work_of(machines: Sequence[Machine], *, cache: Path | None, limits: Limits = DEFAULT_LIMITS) -> Work:
    """Return what there is to do for machines.

    Parameters
    ----------
    machines : sequence of Machine
        With their logs.
    cache : Path or None
        Folder of tallied logs that every worker sees.
    limits : Limits
        How much of a log is still read.

    Returns
    -------
    Work
        A log that is copied to several places is asked at once what all of its places want to know.
    """
    asked = _asked(machines)
    alike = _alike(asked)
    tasks, repeats = {}, set()
    for logs in alike:
        together = tuple(dict.fromkeys(question for log in logs for question in asked[log]))
        repeats |= set(logs[1:])
        for log in logs:
            one = log.log_set
            tasks[log] = LogTask(
                path=one.path,
                parts=one.parts,
                column_map=log.column_map,
                questions=together,
                cache=cache,
                limits=limits,
            )
    return Work(tasks, frozenset(repeats))


def moved(work: Work, cache: Path | None) -> Work:
    """Return the same work with the tallied logs kept elsewhere, or sent back where there is no such place."""
    return replace(work, tasks={log: replace(task, cache=cache) for log, task in work.tasks.items()})


def size_of(task: LogTask) -> int:
    """Return how many bytes a log has; none where it is not there."""
    return sum(part.stat().st_size for part in task.parts if part.is_file())


def _asked(machines: Iterable[Machine]) -> dict[FleetLog, dict[TurnQuestion, None]]:
    asked: dict[FleetLog, dict[TurnQuestion, None]] = {}
    for machine in machines:
        questions = turn_questions(machine.season_file.season)
        for ident, logs in machine.logs.items():
            for log in logs:
                asked.setdefault(log, {})[questions[ident]] = None
    return asked


def _alike(logs: Iterable[FleetLog]) -> list[list[FleetLog]]:
    """Logs grouped by what can be seen from outside; only those of one size are looked into."""
    by_size: dict[object, list[FleetLog]] = {}
    for log in logs:
        sizes = tuple(part.stat().st_size if part.is_file() else -1 for part in log.log_set.parts)
        by_size.setdefault((sizes, log.column_map), []).append(log)
    groups: list[list[FleetLog]] = []
    for same in by_size.values():
        by_ends: dict[bytes, list[FleetLog]] = {}
        for log in same:
            by_ends.setdefault(_ends(log) if len(same) > 1 else b"", []).append(log)
        groups += by_ends.values()
    return groups


def _ends(log: FleetLog) -> bytes:
    """A hash of how the files of a log begin and end; of its path where they cannot be read."""
    found = blake2b(digest_size=16)
    try:
        for part in log.log_set.parts:
            with part.open("rb") as opened:
                found.update(opened.read(END_BYTES))
                opened.seek(max(part.stat().st_size - END_BYTES, 0))
                found.update(opened.read(END_BYTES))
    except OSError:
        found.update(str(log.log_set.path).encode(errors="replace"))
    return found.digest()
