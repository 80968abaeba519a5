"""Every format read here, in the order of trying, and the one door through which logs come in."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers import (
    csv_log,
    geojson_log,
    gpx_log,
    iso_log,
    nmea_log,
    parquet_log,
    receiver_json_log,
    shapefile_log,
)
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs, PassedOver
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import HEAD, ZIP_MARKS, SentFile, is_office_document, sent_files
from wetrun.fieldlog.trace import Trace

FIRST_BYTES: Final = 8
MOST_TOLD: Final = 5
TIME_LOG: Final = re.compile(r"tlg\d{1,8}\.(bin|xml)")


@dataclass(frozen=True, slots=True)
class Format:
    """A format: its name, how a file of it is recognised and read, and which files beside it are part of it."""

    words: str
    sniff: Callable[[SentFile], bool]
    read: Callable[[SentFile, ReadRequest], FoundLogs]
    companions: Callable[[SentFile], frozenset[str]]


def _alone(file: SentFile) -> frozenset[str]:
    """Return the name of a file that needs no others."""
    return frozenset({file.base})


# A text table takes whatever looks like one, so it comes last.
FORMATS: Final = (
    Format(iso_log.FORMAT, iso_log.sniff, iso_log.read, iso_log.companions),
    Format(parquet_log.FORMAT, parquet_log.sniff, parquet_log.read, _alone),
    Format(gpx_log.FORMAT, gpx_log.sniff, gpx_log.read, _alone),
    Format(nmea_log.FORMAT, nmea_log.sniff, nmea_log.read, _alone),
    Format(receiver_json_log.FORMAT, receiver_json_log.sniff, receiver_json_log.read, _alone),
    Format(shapefile_log.FORMAT, shapefile_log.sniff, shapefile_log.read, shapefile_log.companions),
    Format(geojson_log.FORMAT, geojson_log.sniff, geojson_log.read, _alone),
    Format(csv_log.FORMAT, csv_log.sniff, csv_log.read, _alone),
)


def format_of(file: SentFile) -> Format | None:
    """Return the first format that recognises a file, None if none does."""
    return next((one for one in FORMATS if one.sniff(file)), None)


def read_logs(path: Path, request: ReadRequest = PLAIN_REQUEST) -> Iterator[FoundLogs | LogRefused | PassedOver]:
    """Yield what is in a file, folder or zip, one file or set after another; a bad one is yielded as its refusal.

    Raises
    ------
    LogRefused
        When what was named is not there, or is an archive that cannot be used.
    InputProblems
        When the column map names columns the only log there is does not have; one of several is yielded as refused.
    """
    files, unknown = [], []
    for sent in sent_files(path, request.limits):
        if isinstance(sent, LogRefused):
            yield sent
        else:
            files.append(sent)
    recognised = [(file, format_of(file)) for file in files]
    claimed = {(file.folder, base) for file, of in recognised if of is not None for base in of.companions(file)}
    several = sum(of is not None for _, of in recognised) > 1
    for file, of in recognised:
        if of is not None:
            yield _read_one(file, of, request, several=several)
        elif (file.folder, file.base) not in claimed:
            unknown.append(file)
    if not files:
        yield nothing_in(path)
    yield from _without_main_file(unknown)
    alone = len(files) == 1
    for file in unknown:
        if TIME_LOG.fullmatch(file.base):
            continue
        is_zip = file.head(4) in ZIP_MARKS and not is_office_document(file.head(HEAD))
        yield _refusal(file, request) if alone or is_zip else PassedOver(file.name, _beginning(file))


def _without_main_file(files: list[SentFile]) -> Iterator[LogRefused]:
    """Yield for each folder that holds time logs without the main file that describes them what to send."""
    folders: dict[str, list[SentFile]] = {}
    for file in files:
        if TIME_LOG.fullmatch(file.base):
            folders.setdefault(file.name.rpartition("/")[0], []).append(file)
    for folder, logs in folders.items():
        names = ", ".join(sorted({log.stem.upper() for log in logs})[:MOST_TOLD])
        reason = f"it holds time logs ({names}) but not the TASKDATA.XML that says what is in them"
        remedy = "Send the whole folder the terminal wrote"
        yield LogRefused(folder or logs[0].name, place="", reason=reason, remedy=remedy)


def logs_in(path: Path, request: ReadRequest = PLAIN_REQUEST) -> tuple[FoundLogs, ...]:
    """Return all logs that are in a file, folder or zip.

    Raises
    ------
    LogRefused
        When there is none: the first refusal, or that nothing in it is known.
    """
    found, refused = [], []
    for one in read_logs(path, request):
        if isinstance(one, FoundLogs):
            found.append(one)
        elif isinstance(one, LogRefused):
            refused.append(one)
    if refused and not found:
        raise refused[0]
    if not found:
        raise nothing_in(path)
    return tuple(found)


def traces_in(path: Path, request: ReadRequest = PLAIN_REQUEST) -> tuple[Trace, ...]:
    """Return the traces of all logs in a file, folder or zip that have one.

    Raises
    ------
    LogRefused
        When there is none: the sentence says of each log what it lacks.
    """
    sets = logs_in(path, request)
    traces = tuple(piece for one in sets for log in one.logs for piece in pieces_of(log))
    if not traces:
        lone = [log.lacks for one in sets for log in one.logs if log.lacks]
        if len(lone) == 1 and not any(one.refused for one in sets):
            raise lone[0]
        lacks = [f"{log.name}: {log.missing}" for one in sets for log in one.logs]
        lacks += [f"{refused.file}: {refused.reason}" for one in sets for refused in one.refused]
        told = f": {'; '.join(lacks[:MOST_TOLD])}" if lacks else ": it lists none"
        remedy = "Send logs that carry width or sections, and speed or positions; or state the boom in a column map"
        raise LogRefused(path.name, place="", reason=f"no log in it can be driven again{told}", remedy=remedy)
    return traces


def pieces_of(log: FoundLog) -> Iterator[Trace]:
    """Yield the trace of a log, or of one that is too long to be held at once those of its pieces."""
    if log.trace is not None:
        yield log.trace
    elif log.pieces is not None:
        yield from log.pieces()


def _read_one(file: SentFile, of: Format, request: ReadRequest, *, several: bool = False) -> FoundLogs | LogRefused:
    try:
        return of.read(file, request)
    except LogRefused as refused:
        return refused
    except InputProblems as misfit:
        if not several:
            raise
        columns = ", ".join(problem.value for problem in misfit.problems)
        remedy = "Read it with a column map of its own, or with none"
        return LogRefused(file.name, place="", reason=f"the column map does not fit it: no {columns}", remedy=remedy)


def _refusal(file: SentFile, request: ReadRequest) -> LogRefused:
    """Return why a file that was sent is not read; of what may be a text table there is more to say."""
    if csv_log.may_be_text(file):
        refused = _read_one(file, FORMATS[-1], request)
        if isinstance(refused, LogRefused):
            return refused
    return LogRefused(file.name, place="start of the file", reason=_beginning(file), remedy=_what_is_read())


def nothing_in(path: Path) -> LogRefused:
    """Return the refusal of a place that holds no log at all."""
    reason = "there is no log in it that can be read here"
    return LogRefused(path.name, place="", reason=reason, remedy=_what_is_read())


def _what_is_read() -> str:
    words = ", ".join(one.words for one in FORMATS)
    return (
        f"Give a log, or the folder or zip the terminal wrote (read here: {words}); of a terminal that writes a format "
        "of its own, ask for the standard export"
    )


def _beginning(file: SentFile) -> str:
    head = file.head(HEAD)
    if is_office_document(head):
        return "it is a spreadsheet or another office document: save the log in it as CSV"
    if head.startswith(ZIP_MARKS):
        return "it is a zip inside a zip, which is not opened: put its files into one zip or a folder"
    first = head[:FIRST_BYTES].hex(" ")
    return f"it begins {first}, as none of the formats read here" if first else "it is empty or unreadable"
