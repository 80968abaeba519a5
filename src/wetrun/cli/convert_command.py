"""`wetrun log convert`: any log that can be read becomes a working file, read a hundred times as fast afterwards."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, Final

from wetrun.cli.log_files import request_for
from wetrun.cli.telling import print_json, progress_on_stderr, say, tell_error
from wetrun.errors import CannotWrite, InputProblems, LogRefused, WetrunError
from wetrun.fieldlog.readers.formats import pieces_of, read_logs
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.shifting import WORDS, Shift
from wetrun.fieldlog.readers.working_writer import write_trace
from wetrun.fieldlog.trace import Trace
from wetrun.quantity import System, sentence

FORMAT_VERSION: Final = 1
ENDING: Final = ".parquet"
LONGEST_NAME: Final = 120
UNFIT: Final = re.compile(r"[^\w.-]+")


@dataclass(frozen=True, slots=True)
class ConvertRequest:
    """What to convert, and how. ``force`` writes over files that are there."""

    files: tuple[Path, ...]
    out: Path
    log_map: Path | None
    limits: Limits
    shift: bool
    force: bool
    as_json: bool


def run_convert(request: ConvertRequest) -> None:
    """Convert logs one by one; a bad one is told and the rest go on.

    Parameters
    ----------
    request : ConvertRequest
        What to convert.

    Raises
    ------
    CannotWrite
        If the folder cannot be made.
    SystemExit
        With the exit code of the first log that was refused, or of the first one without a trace if none was written.
    """
    _make_folder(request.out)
    desk = _Desk(request)
    codes: list[int] = []
    lacking: list[int] = []
    for found in _found_in(request):
        if isinstance(found, LogRefused | InputProblems):
            codes.append(desk.tell(found))
        elif found.trace is None and found.pieces is None and found.lacks is not None:
            lacking.append(desk.tell(found.lacks))
        else:
            codes += desk.convert(found)
    if request.as_json:
        print_json({"format_version": FORMAT_VERSION, "shifted": request.shift, "logs": desk.plain})
    elif request.shift and desk.written:
        say(f"{WORDS}. Distances are as logged.")
    code = next(iter(codes if codes or desk.written else lacking), 0)
    if code:
        raise SystemExit(code)


def _make_folder(out: Path) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as failed:
        remedy = "Choose a folder you may write to."
        raise CannotWrite(str(out), reason=(failed.strerror or str(failed)).lower(), remedy=remedy) from None


def _found_in(request: ConvertRequest) -> Iterator[FoundLog | LogRefused | InputProblems]:
    for file in request.files:
        try:
            with progress_on_stderr() as bar:
                for found in read_logs(file, request_for(file, request.log_map, request.limits, bar)):
                    if isinstance(found, FoundLogs):
                        yield from found.refused
                        yield from (_in_its_set(log, found) for log in found.logs)
                    elif isinstance(found, LogRefused):
                        yield found
        except (LogRefused, InputProblems) as refused:
            yield refused


def _in_its_set(log: FoundLog, found: FoundLogs) -> FoundLog:
    """Return a log under a name that says what it was sent in: every set of task data has a TLG00001."""
    return log if log.name.startswith(found.name) else replace(log, name=f"{found.name} {log.name}")


class _Desk:
    """Where logs get their names and are written, and what is said of them."""

    def __init__(self, request: ConvertRequest) -> None:
        self._request = request
        self._shift = Shift() if request.shift else None
        self._taken: set[str] = set()
        self.plain: list[dict[str, Any]] = []
        self.written = 0

    def tell(self, refused: WetrunError) -> int:
        """Say why a log was not converted, and return the exit code that goes with it."""
        file = refused.file if isinstance(refused, LogRefused) else str(getattr(refused, "path", ""))
        self.plain.append({"log": file, "refused": sentence(refused, System.US)})
        return tell_error(refused)

    def convert(self, log: FoundLog) -> list[int]:
        """Write one log, and return the exit code if that was not possible."""
        name = self._name(f"log-{self.written + 1:03}" if self._shift else log.name)
        path = self._request.out / name
        try:
            _check_free(path, force=self._request.force)
            instants = _write(path, log, partial(self._shift.moved, name=name) if self._shift else None)
        except (CannotWrite, LogRefused) as refused:
            return [self.tell(refused)]
        self.written += 1
        size = path.stat().st_size
        self.plain.append({"log": log.name, "file": str(path), "instants": instants, "bytes": size})
        if not self._request.as_json:
            say(f"Written: {path} ({log.name}: {instants:,} instants in {_size(size)})")
        return []

    def _name(self, told: str) -> str:
        """Return a file name made of what a log is called, not yet given in this run."""
        stem = UNFIT.sub("_", told.removesuffix(ENDING))[-LONGEST_NAME:].strip("._-") or "log"
        name, nth = f"{stem}{ENDING}", 1
        while name.lower() in self._taken:
            nth += 1
            name = f"{stem}-{nth}{ENDING}"
        self._taken.add(name.lower())
        return name


def _write(path: Path, log: FoundLog, moved: Callable[[Trace], Trace] | None) -> int:
    """Write a log, a long one piece by piece, and return how many instants it has."""
    instants = 0

    def counted() -> Iterator[Trace]:
        nonlocal instants
        for piece in pieces_of(log):
            instants += piece.time_s.size
            yield moved(piece) if moved else piece

    write_trace(path, counted())
    return instants


def _check_free(path: Path, *, force: bool) -> None:
    if path.exists() and not force:
        raise CannotWrite(str(path), reason="it is there already", remedy="Use --force to write over it.")


def _size(count: int) -> str:
    return f"{count / 1e6:.1f} MB" if count >= 1e5 else f"{count / 1e3:.1f} kB"
