"""The logs of a season tallied, each once ever: what is kept of it is found by its content."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from wetrun.documents.season_file import SeasonFile
from wetrun.fieldlog.tallied import TalliedLog
from wetrun.fleet.answers import kept_of_logs
from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.entries import Entry
from wetrun.fleet.log_sets import log_set_of
from wetrun.fleet.machines import FleetLog, Machine
from wetrun.fleet.tally_task import LogOutcome, LogTask, outcome_of
from wetrun.fleet.work import work_of
from wetrun.shop.answers.bench import Bench

Progress = Callable[[float, str], None]
"""Is told the share that is done, 0 to 1, and in words what is being done."""


def silent(share: float, words: str) -> None:
    """Tell nobody."""
    del share, words


@dataclass(frozen=True, slots=True)
class SeasonLogs:
    """What is known of the logs of a season.

    Attributes
    ----------
    by_pass : mapping of str to tuple of TalliedLog
        Passes without a usable log are left out.
    told : mapping of str to tuple of str
        By pass: sentences about logs that cannot be used, or parts of them.
    keys : mapping of int to str
        By key of the field log's record: what its tallies are kept under.
    """

    by_pass: Mapping[str, tuple[TalliedLog, ...]]
    told: Mapping[str, tuple[str, ...]]
    keys: Mapping[int, str]


def ledger_cache() -> LedgerCache:
    """Return where the shop keeps tallied logs."""
    return LedgerCache(Path(settings.LEDGERS))


def tallied_logs(laid: Bench, season_file: SeasonFile, progress: Progress = silent) -> SeasonLogs:
    """Return the logs of a season tallied.

    Parameters
    ----------
    laid : Bench
        The season's files, logs among them.
    season_file : SeasonFile
        The season as read from there.
    progress : callable
        Is told how far it is.

    Returns
    -------
    SeasonLogs
        A log that cannot be used is told, and the rest goes on without it.
    """
    machine = Machine(name=season_file.season.sprayer.name, season_file=season_file, logs=_fleet_logs(laid))
    cache = ledger_cache()
    tasks = work_of((machine,), cache=cache.folder).tasks
    outcomes: dict[FleetLog, LogOutcome] = {}
    for at, (log, task) in enumerate(tasks.items()):
        progress(at / len(tasks), f"reading {task.path.name}")
        outcomes[log] = outcome_of(task)
    kept = kept_of_logs(machine, outcomes, tasks, cache)
    by_pass = {ident: tuple(one for log in logs for one in _logs_in(kept[log])) for ident, logs in machine.logs.items()}
    return SeasonLogs(
        by_pass={ident: logs for ident, logs in by_pass.items() if logs},
        told={ident: tuple(words for log in logs for words in kept[log][1]) for ident, logs in machine.logs.items()},
        keys=_keys(laid, tasks, outcomes),
    )


def _logs_in(kept: tuple[Entry | None, tuple[str, ...]]) -> tuple[TalliedLog, ...]:
    return () if kept[0] is None else kept[0].logs


def _fleet_logs(laid: Bench) -> dict[str, tuple[FleetLog, ...]]:
    found: dict[str, list[FleetLog]] = {}
    for use in laid.laid_out.uses:
        if use.log is None:
            continue
        mapped = laid.folder / use.column_map if use.column_map else None
        found.setdefault(use.pass_name, []).append(FleetLog(log_set_of(laid.folder / use.name), mapped))
    # The same upload under two names would count its acres twice.
    return {ident: tuple({log.log_set.path.resolve(): log for log in logs}.values()) for ident, logs in found.items()}


def _keys(laid: Bench, tasks: Mapping[FleetLog, LogTask], outcomes: Mapping[FleetLog, LogOutcome]) -> dict[int, str]:
    by_path = {task.path: outcomes[log].key for log, task in tasks.items() if outcomes[log].key}
    uses = [(use.log.pk, laid.folder / use.name) for use in laid.laid_out.uses if use.log is not None]
    return {pk: by_path[path] for pk, path in uses if path in by_path}
