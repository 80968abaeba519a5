"""Logs of any format and any length as traces of a bounded size."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.formats import pieces_of, read_logs
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.trace import Trace


def pieces_in(path: Path, request: ReadRequest = PLAIN_REQUEST) -> Iterator[Trace | LogRefused]:
    """Yield the traces of all logs in a file, folder or zip, long ones in pieces; a log without one as its refusal.

    The ledgers of the pieces, merged, are the ledger of the whole, but for the count of logs.
    """
    for found in read_logs(path, request):
        if isinstance(found, FoundLogs):
            for log in found.logs:
                if log.trace is None and log.pieces is None and log.lacks is not None:
                    yield log.lacks
                yield from pieces_of(log)
        elif isinstance(found, LogRefused):
            yield found
