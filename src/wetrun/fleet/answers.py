"""The second half of a run: the plan of each machine over what was kept of its logs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from wetrun.errors import InputProblems, LogRefused, WetrunError
from wetrun.fieldlog.tallied import TalliedLog
from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.entries import Entry
from wetrun.fleet.log_sets import told_name
from wetrun.fleet.machines import FleetLog, Machine
from wetrun.fleet.tally_task import LogOutcome, LogTask, outcome_of
from wetrun.planning.over_logs import report_over_logs
from wetrun.planning.report import PlanReport


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineAnswer:
    """What a run says of one machine.

    Attributes
    ----------
    machine : Machine
        The season with its logs.
    report : PlanReport or None
        The plan; None if there can be none.
    wrong : tuple of str
        Why not, as sentences.
    logs : mapping of FleetLog to tuple of TalliedLog
        What was made of each log that can be used.
    told : mapping of FleetLog to tuple of str
        Sentences about logs: why one was refused, what of it is not used, what was made anew.
    refused : frozenset of FleetLog
        Logs that cannot be used at all.
    exit_code : int
        0 with a plan; else that of what was wrong, which is the logs' where none of them could be used.
    """

    machine: Machine
    report: PlanReport | None
    wrong: tuple[str, ...]
    logs: Mapping[FleetLog, tuple[TalliedLog, ...]]
    told: Mapping[FleetLog, tuple[str, ...]]
    refused: frozenset[FleetLog]
    exit_code: int = 0

    def logs_of(self, ident: str) -> tuple[TalliedLog, ...]:
        """Return what was made of the logs of a pass."""
        return tuple(one for log in self.machine.logs.get(ident, ()) for one in self.logs.get(log, ()))


def answer_for(
    machine: Machine,
    outcomes: Mapping[FleetLog, LogOutcome],
    tasks: Mapping[FleetLog, LogTask],
    cache: LedgerCache,
) -> MachineAnswer:
    """Return the plan of a machine over its logs.

    Parameters
    ----------
    machine : Machine
        The season with its logs.
    outcomes : mapping of FleetLog to LogOutcome
        What came of each log.
    tasks : mapping of FleetLog to LogTask
        What each log was asked, in case it has to be asked again.
    cache : LedgerCache
        Where tallied logs are kept.

    Returns
    -------
    MachineAnswer
        The same as a plan over the same logs read one by one.
    """
    kept = kept_of_logs(machine, outcomes, tasks, cache)
    logs = {log: entry.logs for log, (entry, _) in kept.items() if entry is not None}
    by_pass = {
        ident: tuple(one for log in of_pass for one in logs.get(log, ())) for ident, of_pass in machine.logs.items()
    }
    season_file = machine.season_file
    report: PlanReport | None = None
    wrong: tuple[str, ...] = ()
    exit_code = 0
    try:
        report = report_over_logs(
            season_file.season,
            season_file.catalogue,
            {ident: of_pass for ident, of_pass in by_pass.items() if of_pass},
            file=season_file.path.name,
        )
    except WetrunError as fault:
        wrong = tuple(str(fault).splitlines())
        no_log = kept and not logs and isinstance(fault, InputProblems)
        exit_code = LogRefused.exit_code if no_log else fault.exit_code
    return MachineAnswer(
        machine=machine,
        report=report,
        wrong=wrong,
        logs=logs,
        told={log: told for log, (_, told) in kept.items() if told},
        refused=frozenset(log for log, (entry, _) in kept.items() if entry is None),
        exit_code=exit_code,
    )


def kept_of_logs(
    machine: Machine,
    outcomes: Mapping[FleetLog, LogOutcome],
    tasks: Mapping[FleetLog, LogTask],
    cache: LedgerCache,
) -> dict[FleetLog, tuple[Entry | None, tuple[str, ...]]]:
    """Return what was kept of every log of a machine, and what there is to say of it.

    Parameters
    ----------
    machine : Machine
        The season with its logs.
    outcomes : mapping of FleetLog to LogOutcome
        What came of each log.
    tasks : mapping of FleetLog to LogTask
        What each log was asked, in case it has to be asked again.
    cache : LedgerCache
        Where tallied logs are kept.

    Returns
    -------
    dict
        Each log once; None for one that cannot be used.
    """
    return {log: _entry(outcomes[log], tasks[log], cache) for log in _logs(machine)}


def _logs(machine: Machine) -> Iterator[FleetLog]:
    return iter(dict.fromkeys(log for logs in machine.logs.values() for log in logs))


def _entry(outcome: LogOutcome, task: LogTask, cache: LedgerCache) -> tuple[Entry | None, tuple[str, ...]]:
    """What was kept of a log, under the name it has now, and what there is to say; tallied again if it is gone."""
    if outcome.refused:
        return None, (outcome.refused,)
    notes = [outcome.note]
    entry, note = cache.found(outcome.key)
    if entry is None or not entry.answers(task.questions):
        notes.append(note)
        again = outcome_of(replace(task, cache=cache.folder))
        entry, _ = cache.found(again.key) if again.key else (None, "")
        notes.append(again.refused or ("" if entry else "what was kept of it is gone again; run once more"))
    told = (*(f"{task.path.name}: {words}." for words in notes[:2] if words), *filter(None, notes[2:]))
    if entry is None:
        return None, told
    return entry.told_as(told_name(task.path)), (*told, *entry.aside)
