"""Binary time logs of ISO 11783-10: the records of a whole log, or piece by piece of one too long for memory.

References
----------
iso-11783-10
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.timelog_chunk import Chunk, joined
from wetrun.fieldlog.readers.timelog_decoder import decoder_for
from wetrun.fieldlog.readers.timelog_header import TimeLogHeader
from wetrun.fieldlog.readers.timelog_sync import MS_PER_DAY
from wetrun.fieldlog.readers.timelog_walk import Harm, Walk, first_day, least_window
from wetrun.fieldlog.readers.timelog_window import WINDOW_BYTES, ByteWindow
from wetrun.fieldlog.trace import IntArray

# What is made of a piece takes some hundred bytes a record and section (our own choice).
PIECE_RECORDS: Final = 1 << 18
LEAST_PIECE: Final = 2  # one to give out, and the last one, which stays

Opened = Callable[[], BinaryIO]


@dataclass(frozen=True, slots=True)
class TimeLogRecords:
    """Decoded records.

    ``fields`` are columns by name [records]. Values stand in the order of the file: ``value_counts`` is how many each
    record has [records], ``value_index`` a value's place in the header, ``value_raw`` the raw number [values].
    ``recounted`` is how many records had a wrong number of values put right, ``resynchronised`` how often the reading
    was out of step, ``skipped_bytes`` what was passed over on the way.
    """

    fields: dict[str, npt.NDArray[np.integer]]
    value_counts: npt.NDArray[np.uint8]
    value_index: npt.NDArray[np.uint8]
    value_raw: npt.NDArray[np.int32]
    recounted: int
    resynchronised: int
    skipped_bytes: int

    @property
    def count(self) -> int:
        """Return the number of records."""
        return int(self.value_counts.size)

    @property
    def value_record(self) -> npt.NDArray[np.int32]:
        """Return the record each value belongs to [values]."""
        return np.repeat(np.arange(self.count, dtype=np.int32), self.value_counts)


def records_in(data: bytes, header: TimeLogHeader, *, file: str) -> TimeLogRecords:
    """Return the records of a binary time log, resynchronised where it is damaged.

    Parameters
    ----------
    data
        The whole file.
    header
        Its layout.
    file
        Its name, for the refusal.

    Raises
    ------
    LogRefused
        When no record can be true, or the file is out of step all the time.

    Notes
    -----
    Bytes that belong to no believable record are counted, never guessed at.
    """
    decoder = decoder_for(len(data))
    window = ByteWindow.over(data)
    walk = Walk(window, header, decoder, first_day(window, header, decoder), file)
    while not walk.ended:
        walk.step(sys.maxsize)
    _check_any(walk, data[:8])
    return _records(joined(walk.chunks, header), header, walk.harm)


def pieces_in(
    opened: Opened, header: TimeLogHeader, *, file: str, piece_records: int = PIECE_RECORDS, window: int = WINDOW_BYTES
) -> Iterator[TimeLogRecords]:
    """Yield the records of a binary time log in pieces, in memory that does not grow with the log.

    Parameters
    ----------
    opened
        Opens the log from its start; called twice, first to learn its day.
    header
        Its layout.
    file
        Its name, for the refusal.
    piece_records
        How many records a piece has at most. It ends before the longest step of the clock in its second half.
    window
        How much of the file is in memory at once [byte].

    Raises
    ------
    LogRefused
        As `records_in`, while the pieces are asked for.

    Notes
    -----
    All pieces together are what `records_in` returns: a record is given out only when the one after it is known.
    """
    with opened() as search:
        octets = ByteWindow(search, size=max(window, least_window(header)))
        decoder = decoder_for(octets.end if octets.ended else sys.maxsize)
        shown, size = octets.octets[:8].tobytes(), octets.octets.size
        day = first_day(octets, header, decoder)
    if not size:
        raise LogRefused(file, place="", reason="it has no records", remedy="Nothing to do: it was never used")
    piece_records = max(piece_records, LEAST_PIECE)
    with opened() as stream:
        octets = ByteWindow(stream, size=max(window, least_window(header)))
        walk = Walk(octets, header, decoder, day, file)
        while not walk.ended:
            walk.step(max(piece_records - walk.size, 1))
            if walk.size >= piece_records and not walk.ended:
                yield _next_piece(walk)
    _check_any(walk, shown)
    yield _records(joined(walk.chunks, header), header, walk.harm)


def _next_piece(walk: Walk) -> TimeLogRecords:
    """Take all but the end of what was found out of a walk; its last record always stays, as it may change."""
    whole = joined(walk.chunks, walk.header)
    piece, rest = whole.split(_cut(whole, walk.header))
    walk.chunks, walk.size = [rest], rest.size
    harm, walk.harm = walk.harm, Harm()
    return _records(piece, walk.header, harm)


def _cut(chunk: Chunk, header: TimeLogHeader) -> int:
    """Return the record before which a piece ends: after the longest step of the clock in the second half."""
    half = (chunk.size + 1) // 2
    fields = Chunk(chunk.heads[half - 1 :], chunk.counts, chunk.index, chunk.raw).fields(header)
    step_ms = np.diff(clock_ms(fields))
    return half + step_ms.size - 1 - int(np.argmax(step_ms[::-1])) if step_ms.size else half


def clock_ms(fields: dict[str, npt.NDArray[np.integer]]) -> IntArray:
    """Return the clock of records [ms since 1980]."""
    clock: IntArray = fields["day"].astype(np.int64) * MS_PER_DAY + fields["ms"].astype(np.int64)
    return clock


def _check_any(walk: Walk, shown: bytes) -> None:
    if not walk.passed:
        reason = f"no record in it can be true with this header (it begins {shown.hex(' ')})"
        raise LogRefused(walk.file, place="start of the file", reason=reason, remedy="Copy log and header from one set")


def _records(chunk: Chunk, header: TimeLogHeader, harm: Harm) -> TimeLogRecords:
    return TimeLogRecords(
        fields=chunk.fields(header),
        value_counts=chunk.counts,
        value_index=chunk.index,
        value_raw=chunk.raw,
        recounted=harm.recounted,
        resynchronised=harm.resynchronised,
        skipped_bytes=harm.skipped_bytes,
    )
