"""A field log that was handed in: read once by the worker, told in both unit systems, its tallies kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Any, Final

from django.db import transaction

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers.formats import read_logs
from wetrun.fieldlog.readers.found import FoundLogs, PassedOver
from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS
from wetrun.fieldlog.readers.mapping import mapping_in
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.tallied import TurnQuestion
from wetrun.fleet.log_sets import log_set_of
from wetrun.fleet.tally_task import LogOutcome, LogTask, outcome_of
from wetrun.papers.log_data import set_data
from wetrun.papers.reader import Reader
from wetrun.planning.over_logs import turn_questions
from wetrun.quantity import System, sentence
from wetrun.shop.answers.bench import Bench, bench
from wetrun.shop.answers.file_names import wrong_with
from wetrun.shop.answers.laid_out import LaidOut
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.season_logs import LogUse, uses_of_logs
from wetrun.shop.answers.seasons import season_file_of
from wetrun.shop.answers.tally import Progress, ledger_cache, silent
from wetrun.shop.records.models import ColumnMap, FieldLog

FORMAT_VERSION: Final = 1
ANSWER: Final = ("state", "refused", "in_us", "in_si", "ledger_key")
"""Columns that reading a log fills."""
Found = FoundLogs | LogRefused | InputProblems | PassedOver


def read_log(log: FieldLog, progress: Progress = silent) -> None:
    """Fill what a log holds and where its tallies are kept; or why it cannot be used. Nothing is saved.

    Parameters
    ----------
    log : FieldLog
        With machine and branch.
    progress : callable
        Is told the share that is done and what is being done.
    """
    with bench(log_laid_out(log)) as laid:
        found = tuple(_found_in(laid, log, progress))
        progress(0.5, f"tallying {log.name}")
        outcome = _outcome(laid, log)
    log.in_us, log.in_si = (_data(found, Reader(system)) for system in System)
    log.ledger_key = outcome.key
    log.refused = outcome.refused
    log.state = "refused" if outcome.refused else "ready"


def keep_reading_of(log: FieldLog) -> None:
    """Keep what was read of a log; one that was taken away meanwhile stays away."""
    with transaction.atomic():
        FieldLog.objects.filter(pk=log.pk).update(**{name: getattr(log, name) for name in ANSWER})


def column_map_of(log: FieldLog) -> str:
    """Return the name of the map a log is read by: that of a pass that names the log, else its own; empty for none."""
    return next((use.column_map for use in _uses(log) if use.column_map), log.column_map)


def log_laid_out(log: FieldLog) -> LaidOut:
    """Return the files of a log: itself below logs/, and the map its columns are read by."""
    name = PurePosixPath(log.name).name
    shown = name if name and not wrong_with(name) else f"log-{log.pk}{PurePosixPath(log.stored).suffix}"
    mapped = column_map_of(log)
    kept = ColumnMap.objects.filter(branch_id=log.branch_id, name=mapped, replaced_at=None).first() if mapped else None
    texts = {} if kept is None else {kept.name: kept.text}
    use = LogUse(pass_name="", name=f"logs/{shown}", log=log, column_map="" if kept is None else kept.name)
    return LaidOut(main="", texts=texts, uses=(use,))


def _found_in(laid: Bench, log: FieldLog, progress: Progress) -> Iterator[Found]:
    (use,) = laid.laid_out.uses
    try:
        mapping = mapping_in(laid.folder / use.column_map) if use.column_map else None
        told = ReadRequest(mapping, DEFAULT_LIMITS, lambda share: progress(0.5 * share, f"reading {log.name}"))
        yield from read_logs(laid.folder / use.name, told)
    except (LogRefused, InputProblems) as refused:
        yield refused


def _outcome(laid: Bench, log: FieldLog) -> LogOutcome:
    """Tally it, and ask its turns what every pass it stands for will ask: a plan then finds it done."""
    (use,) = laid.laid_out.uses
    path = laid.folder / use.name
    task = LogTask(
        path=path,
        parts=log_set_of(path).parts,
        column_map=laid.folder / use.column_map if use.column_map else None,
        questions=_questions(log),
        cache=ledger_cache().folder,
    )
    return outcome_of(task)


def _questions(log: FieldLog) -> tuple[TurnQuestion, ...]:
    asked: dict[TurnQuestion, None] = {}
    for season in log.machine.seasons.filter(put_away_at=None).select_related("branch", "machine__customer"):
        passes = {use.pass_name for use in uses_of_logs(season) if use.log is not None and use.log.pk == log.pk}
        try:
            questions = turn_questions(season_file_of(season).season) if passes else {}
        except InputProblems:  # an unfinished season asks when it is finished
            continue
        asked |= {questions[name]: None for name in passes if name in questions}
    return tuple(asked)


def _uses(log: FieldLog) -> Iterator[LogUse]:
    for season in log.machine.seasons.filter(put_away_at=None):
        yield from (use for use in uses_of_logs(season) if use.log is not None and use.log.pk == log.pk)


def _data(found: tuple[Found, ...], reader: Reader) -> dict[str, Any]:
    sets = [one for one in found if isinstance(one, FoundLogs)]
    return dict(
        plain(
            {
                "format_version": FORMAT_VERSION,
                "sets": [set_data(one, reader) for one in sets],
                "refused": [
                    sentence(one, reader.system) for one in found if isinstance(one, LogRefused | InputProblems)
                ],
                "passed_over": [{"name": one.name, "why": one.reason} for one in found if isinstance(one, PassedOver)],
            }
        )
    )
