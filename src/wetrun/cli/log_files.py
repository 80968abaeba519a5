"""Field logs as files: read with progress, with their column maps, into traces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from wetrun.cli.telling import progress_on_stderr, say_aside
from wetrun.documents.season_file import SeasonFile
from wetrun.errors import InputProblems, Problem
from wetrun.fieldlog.joining import joined_trace
from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS, Limits
from wetrun.fieldlog.readers.mapping import mapping_in
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.tallied import TalliedLog, TurnQuestion, tallied_in_pieces
from wetrun.fieldlog.trace import Trace
from wetrun.fleet.reading import reading_of
from wetrun.planning.over_logs import turn_questions

if TYPE_CHECKING:
    from rich.progress import Progress


def traces_of(files: Sequence[Path], log_map: Path | None, limits: Limits = DEFAULT_LIMITS) -> tuple[Trace, ...]:
    """Return the traces of some files, read one after another.

    Parameters
    ----------
    files : sequence of Path
        Logs, folders and zips of logs.
    log_map : Path or None
        Their column map.
    limits : Limits
        How much is still read.

    Returns
    -------
    tuple of Trace
        In the order given; a folder, zip or set of task data gives one trace for each log that can be driven again. A
        log that is read in pieces is put together; what cannot be driven again is told on standard error.

    Raises
    ------
    LogRefused
        If nothing in a file can be used, or a log is too long to be held at once.
    InputProblems
        If the column map is wrong.
    """
    found: list[Trace] = []
    for file in files:
        with progress_on_stderr() as bar:
            reading = reading_of(file, request_for(file, log_map, limits, bar))
            found += [joined_trace(pieces) for pieces in reading.logs]
        for line in reading.aside:
            say_aside(f"Not used: {line}")
    return tuple(found)


def request_for(file: Path, log_map: Path | None, limits: Limits, bar: Progress) -> ReadRequest:
    """Return the request to read a file, its progress shown on a bar.

    Parameters
    ----------
    file : Path
        What is read.
    log_map : Path or None
        Column map.
    limits : Limits
        How much is still read.
    bar : Progress
        Where the share read is shown.

    Returns
    -------
    ReadRequest
        Ready for the readers.

    Raises
    ------
    InputProblems
        If the column map is wrong.
    """
    mapping = None if log_map is None else mapping_in(log_map)
    task = bar.add_task(f"reading {file.name}", total=1.0)
    return ReadRequest(mapping, limits, lambda share: bar.update(task, completed=share))


def logs_by_pass(season_file: SeasonFile, given: Sequence[str]) -> dict[str, tuple[Path, ...]]:
    """Return the logs that stand for each pass: those of the season file, then those given on the command line.

    Parameters
    ----------
    season_file : SeasonFile
        The season with its own logs.
    given : sequence of str
        ``FILE`` for every pass that names none, or ``PASS=FILE``.

    Returns
    -------
    dict of str to tuple of Path
        Passes without a log are left out.

    Raises
    ------
    InputProblems
        If a named pass does not exist.
    """
    idents = [planned.ident for planned in season_file.season.passes]
    found: dict[str, tuple[Path, ...]] = dict(season_file.log_paths)
    for text in given:
        name, _, path = text.rpartition("=")
        if name and name not in idents and not Path(text).exists():
            remedy = f"Name one of: {', '.join(idents)}; or give the file alone."
            raise InputProblems([Problem("--log", name, path, "the season has no such pass", remedy)])
        named = [name] if name in idents else [ident for ident in idents if ident not in season_file.log_paths]
        for ident in named:
            found[ident] = (*found.get(ident, ()), Path(path if name in idents else text))
    return {ident: _each_once(files) for ident, files in found.items()}


def _each_once(files: Sequence[Path]) -> tuple[Path, ...]:
    """The files without repeats: a log given twice would count its acres twice."""
    return tuple({file.resolve(): file for file in files}.values())


def tallied_logs(
    logs: Mapping[str, Sequence[Path]], season_file: SeasonFile, log_map: Path | None
) -> dict[str, tuple[TalliedLog, ...]]:
    """Return the logs of every pass tallied, each file read once however many passes it stands for.

    Parameters
    ----------
    logs : mapping of str to sequence of Path
        Files by pass.
    season_file : SeasonFile
        The season, with the column maps it names.
    log_map : Path or None
        Column map given on the command line; goes before the season's.

    Returns
    -------
    dict of str to tuple of TalliedLog
        Same keys. A long log is read piece by piece, so that its length costs no memory.

    Raises
    ------
    LogRefused
        If nothing in a file can be used; of what a folder holds beside its logs is told on standard error.
    InputProblems
        If the column map is wrong.
    """
    questions = turn_questions(season_file.season)
    uses = {ident: log_map or season_file.log_maps.get(ident) for ident in logs}
    asked: dict[tuple[Path, Path | None], list[TurnQuestion]] = {}
    for ident, files in logs.items():
        for file in files:
            asked.setdefault((file, uses[ident]), []).append(questions[ident])
    done = {key: _tallied(*key, tuple(dict.fromkeys(wanted))) for key, wanted in asked.items()}
    return {ident: tuple(log for file in files for log in done[file, uses[ident]]) for ident, files in logs.items()}


def _tallied(file: Path, use: Path | None, questions: tuple[TurnQuestion, ...]) -> tuple[TalliedLog, ...]:
    with progress_on_stderr() as bar:
        reading = reading_of(file, request_for(file, use, DEFAULT_LIMITS, bar))
        found = tuple(tallied_in_pieces(pieces, questions) for pieces in reading.logs)
    for line in reading.aside:
        say_aside(f"Not used: {line}")
    return found
