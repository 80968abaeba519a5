"""The first half of a run: every log tallied once, by whatever engine, and kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.engine import Died, Engine
from wetrun.fleet.entries import entry_from_bytes
from wetrun.fleet.journal import Journal, claim_of
from wetrun.fleet.machines import FleetLog
from wetrun.fleet.tally_task import LogOutcome, LogTask, outcome_of
from wetrun.fleet.work import Work, size_of


class Watcher(Protocol):
    """Is told of every log that is done, to show how far it is."""

    def done(self, size: int, outcome: LogOutcome, /) -> None:
        """Take note of a log of so many bytes."""
        ...


@dataclass(frozen=True, slots=True)
class Keeping:
    """Where results are kept: tallied logs in the cache, which of them are done in the journal, if there is one."""

    cache: LedgerCache
    journal: Journal | None


def outcomes_of(
    work: Work,
    engine: Engine,
    keeping: Keeping,
    *,
    watcher: Watcher,
    tally: Callable[[LogTask], LogOutcome] = outcome_of,
) -> dict[FleetLog, LogOutcome]:
    """Return what came of every log.

    Parameters
    ----------
    work : Work
        What there is to do.
    engine : Engine
        What carries it out.
    keeping : Keeping
        Where results are kept.
    watcher : Watcher
        Is told as logs get done.
    tally : callable
        The work on one log.

    Returns
    -------
    dict of FleetLog to LogOutcome
        In the order of the work, whatever order results came in.
    """
    found: dict[FleetLog, LogOutcome] = {}
    for log, task in work.tasks.items():
        key = "" if keeping.journal is None else keeping.journal.key_of(claim_of(task))
        if key and keeping.cache.holds(key):
            found[log] = LogOutcome(key=key, known=True)
            watcher.done(size_of(task), found[log])
    for repeats in (False, True):
        left = [log for log in work.tasks if log not in found and (log in work.repeats) is repeats]
        # The longest first: whoever begins it last keeps everybody waiting.
        left.sort(key=lambda log: -size_of(work.tasks[log]))
        tasks = [work.tasks[log] for log in left]
        for at, result in engine.results(tally, tasks):
            found[left[at]] = _kept(tasks[at], result, keeping)
            watcher.done(size_of(tasks[at]), found[left[at]])
    return {log: found[log] for log in work.tasks}


def _kept(task: LogTask, result: LogOutcome | Died, keeping: Keeping) -> LogOutcome:
    """What came of a log, once it is safe on the disk."""
    if isinstance(result, Died):
        return LogOutcome(refused=f"{task.path.name}: {result.words}")
    if result.stored is not None:
        keeping.cache.put(result.key, entry_from_bytes(result.stored))
    if result.key and keeping.journal is not None:
        keeping.journal.add(task, claim_of(task, result.state), result.key)
    return replace(result, stored=None)
