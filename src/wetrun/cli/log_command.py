"""`wetrun log inspect`: what a log holds, before anybody trusts it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from wetrun.cli.log_files import request_for
from wetrun.cli.log_text import refused_as_data, set_as_data
from wetrun.cli.telling import print_json, progress_on_stderr, say, tell_error
from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers.formats import nothing_in, read_logs
from wetrun.fieldlog.readers.found import FoundLogs, PassedOver
from wetrun.fieldlog.readers.limits import Limits
from wetrun.papers.log_words import set_lines
from wetrun.papers.reader import Reader
from wetrun.quantity import System

FORMAT_VERSION: Final = 2
MOST_NAMED: Final = 8

Found = FoundLogs | LogRefused | InputProblems | PassedOver


def run_inspect(
    files: tuple[Path, ...],
    *,
    log_map: Path | None,
    limits: Limits,
    units: str | None,
    section: str | None,
    as_json: bool,
) -> None:
    """Inspect logs one by one; a bad one is told and the rest go on.

    Parameters
    ----------
    files : tuple of Path
        Logs, folders and zips of logs.
    log_map : Path or None
        Column map for all of them.
    limits : Limits
        How much is still read.
    units : str or None
        Unit system; US if none is given.
    section : str or None
        Speeds of this section's rows only.
    as_json : bool
        Print JSON.

    Raises
    ------
    SystemExit
        With the exit code of the first log that was refused, or that of a refused log where none was read at all.
    """
    reader, plain, code, read = Reader(System(units or System.US)), [], 0, False
    passed_over: list[str] = []
    for found in _found_in(files, log_map, limits):
        read = read or (isinstance(found, FoundLogs) and bool(found.logs))
        if isinstance(found, PassedOver):
            passed_over.append(found.name)
        if as_json:
            plain.append(_as_data(found, reader, section))
        told = _told(found, reader, section, as_json=as_json)
        code = code or told
    if as_json:
        print_json({"format_version": FORMAT_VERSION, "logs": plain})
    elif passed_over:
        say(_passed_over_line(passed_over))
    if not code and not read:
        code = tell_error(nothing_in(files[-1]), reader.system)
    if code:
        raise SystemExit(code)


def _told(found: Found, reader: Reader, section: str | None, *, as_json: bool) -> int:
    """Say what was found, a refusal on standard error, and return its exit code."""
    if isinstance(found, LogRefused | InputProblems):
        return tell_error(found, reader.system)
    if isinstance(found, FoundLogs) and not as_json:
        for line in set_lines(found, reader, section):
            say(line)
    return 0


def _found_in(files: tuple[Path, ...], log_map: Path | None, limits: Limits) -> Iterator[Found]:
    for file in files:
        try:
            with progress_on_stderr() as bar:
                yield from read_logs(file, request_for(file, log_map, limits, bar))
        except (LogRefused, InputProblems) as refused:
            yield refused


def _passed_over_line(names: list[str]) -> str:
    """One line for all files that are no logs: a licence or a note beside logs must not drown them."""
    shown = ", ".join(names[:MOST_NAMED])
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    files = "1 file that is no log" if len(names) == 1 else f"{len(names)} files that are no logs"
    return f"Passed over {files} known here: {shown}{more}. What each begins with: --json."


def _as_data(found: Found, reader: Reader, section: str | None) -> dict[str, Any]:
    if isinstance(found, FoundLogs):
        return set_as_data(found, reader, section)
    if isinstance(found, PassedOver):
        return {"file": found.name, "passed_over": found.reason}
    return refused_as_data(found, reader)
