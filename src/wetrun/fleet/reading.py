"""The one seam between a fleet and the log readers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.formats import pieces_of, read_logs, traces_in
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.parquet_trace import pieces_in, sniff, working_file
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.trace import Trace


@dataclass(frozen=True, slots=True)
class Reading:
    """What the readers make of a file or set.

    Attributes
    ----------
    logs : tuple of iterable of Trace
        Logs that can be driven again, at least one, each in its pieces; a long one is read as they are asked for.
    aside : tuple of str
        Sentences about the parts that cannot.
    """

    logs: tuple[Iterable[Trace], ...]
    aside: tuple[str, ...]


def reading_of(path: Path, request: ReadRequest) -> Reading:
    """Return what the readers make of a file or set.

    Parameters
    ----------
    path : Path
        File, archive, or main file of a set.
    request : ReadRequest
        What its columns mean, and how much is still read.

    Returns
    -------
    Reading
        With everything that cannot be used told.

    Raises
    ------
    LogRefused
        If nothing in it can be used.
    InputProblems
        If the column map does not fit it.
    """
    if sniff(path) and (working := working_file(path)).instants <= request.limits.most_records:
        return Reading((pieces_in(working),), ())
    logs: list[Iterable[Trace]] = []
    aside: list[str] = []
    for one in read_logs(path, request):
        if isinstance(one, FoundLogs):
            logs += [pieces_of(log) for log in one.logs if log.trace is not None or log.pieces is not None]
            aside += [str(log.lacks) for log in one.logs if log.lacks is not None and log.pieces is None]
            aside += [str(refused) for refused in one.refused]
        else:
            aside.append(str(one) if isinstance(one, LogRefused) else f"{one.name}: {one.reason}.")
    return Reading(tuple(logs) or tuple((trace,) for trace in traces_in(path, request)), tuple(aside))
