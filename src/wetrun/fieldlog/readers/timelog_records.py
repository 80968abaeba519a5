"""Binary time logs of ISO 11783-10: records of different lengths, decoded block by block without a loop over fields.

Only the walk from record to record is a loop, over the one byte that says how long a record is; fields and values
are then taken out by column. A record that cannot be true starts the search for the next that can be.

References
----------
iso-11783-10
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.timelog_header import VALUE_BYTES, TimeLogHeader
from wetrun.fieldlog.readers.timelog_sync import Plausibility, first_day, next_record
from wetrun.fieldlog.trace import IntArray

FIRST_BLOCK: Final = 64
LARGEST_BLOCK: Final = 1 << 16
# From here on compiling the loops takes less time than it saves (measured).
LONG_LOG_BYTES: Final = 32 << 20
# Our own choice (no source): a log that is out of step this often is not a log with some damage.
MOST_RESYNCHRONISED: Final = 2000


@dataclass(frozen=True, slots=True)
class TimeLogRecords:
    """Decoded records.

    ``fields`` are columns by name [records]. Values stand in the order of the file: ``value_record`` is the record a
    value belongs to, ``value_index`` its place in the header, ``value_raw`` the raw number [values]. ``recounted`` is
    how many records had a wrong number of values put right, ``resynchronised`` how often the reading was out of step,
    ``skipped_bytes`` what was passed over on the way.
    """

    fields: dict[str, npt.NDArray[np.integer]]
    value_record: npt.NDArray[np.int32]
    value_index: npt.NDArray[np.uint8]
    value_raw: npt.NDArray[np.int32]
    recounted: int
    resynchronised: int
    skipped_bytes: int

    @property
    def count(self) -> int:
        """Return the number of records."""
        return int(self.fields["ms"].size)


@dataclass(slots=True)
class _Walk:
    """Starts of records [bytes] and their value counts, with what went wrong on the way."""

    starts: list[npt.NDArray[np.int64]] = field(default_factory=list)
    counts: list[npt.NDArray[np.int64]] = field(default_factory=list)
    recounted: int = 0
    resynchronised: int = 0
    skipped_bytes: int = 0


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
    octets = np.frombuffer(data, dtype=np.uint8)
    walk = _walked(octets, data, header, file=file)
    if not walk.starts:
        shown = data[:8].hex(" ")
        reason = f"no record in it can be true with this header (it begins {shown})"
        raise LogRefused(file, place="start of the file", reason=reason, remedy="Copy log and header from one set")
    starts = np.concatenate([np.empty(0, dtype=np.int64), *walk.starts])
    counts = np.concatenate([np.empty(0, dtype=np.int64), *walk.counts])
    fields = {name: _taken(octets, starts + offset, kind) for name, kind, offset in header.fields}
    record, index, raw = _values(octets, starts + header.fixed_bytes, counts)
    return TimeLogRecords(
        fields=fields,
        value_record=record,
        value_index=index,
        value_raw=raw,
        recounted=walk.recounted,
        resynchronised=walk.resynchronised,
        skipped_bytes=walk.skipped_bytes,
    )


def _values(
    octets: npt.NDArray[np.uint8], first: IntArray, counts: IntArray
) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.uint8], npt.NDArray[np.int32]]:
    """Return record, index and raw number of every value, given where each record's first one starts [bytes]."""
    if octets.size >= LONG_LOG_BYTES:
        from wetrun.fieldlog.readers.timelog_kernels import values_of

        return values_of(octets, first, counts)
    places = value_places(first, counts)
    raw = _taken(octets, places + 1, "<i4").astype(np.int32, copy=False)
    return np.repeat(np.arange(first.size, dtype=np.int32), counts), octets[places], raw


def value_places(first: IntArray, counts: IntArray) -> IntArray:
    """Return where each value starts [bytes], given where each record's first one does and how many it has."""
    total = int(counts.sum())
    before = np.repeat(np.cumsum(counts) - counts, counts)
    places: IntArray = np.repeat(first, counts) + VALUE_BYTES * (np.arange(total) - before)
    return places


def _taken(octets: npt.NDArray[np.uint8], places: IntArray, kind: str) -> npt.NDArray[np.integer]:
    """Return numbers of a kind that stand at any byte, aligned or not."""
    width = np.dtype(kind).itemsize
    room = max(octets.size - width + 1, 0)
    every = np.ndarray((room,), dtype=kind, buffer=octets, strides=(1,)) if room else np.empty(0, dtype=kind)
    return every[places]


def _walked(octets: npt.NDArray[np.uint8], data: bytes, header: TimeLogHeader, *, file: str) -> _Walk:
    walk, place, block = _Walk(), 0, FIRST_BLOCK
    rules = Plausibility(octets, header, first_day(octets, header))
    while place < octets.size:
        starts, place, broken = _sound_chain(rules, data, place, block)
        _keep(walk, octets, starts, header)
        block = FIRST_BLOCK if broken else min(2 * block, LARGEST_BLOCK)
        if broken:
            place = _resynchronised(walk, rules, place)
        if walk.resynchronised > MOST_RESYNCHRONISED:
            reason = f"records are out of step over {MOST_RESYNCHRONISED} times: it is damaged all through"
            raise LogRefused(file, place=f"byte {place}", reason=reason, remedy="Copy it from the terminal again")
    return walk


def _sound_chain(rules: Plausibility, data: bytes, place: int, most: int) -> tuple[IntArray, int, bool]:
    """Return the starts of believable records that follow each other, where they end, and whether damage ended them."""
    if len(data) >= LONG_LOG_BYTES:
        from wetrun.fieldlog.readers.timelog_kernels import sound_chain

        starts, end = sound_chain(rules, place)
        return starts, end, end < len(data)
    starts, end = _chain(data, place, rules.header.fixed_bytes, most)
    sound = rules.of(starts) & ~rules.overruns(starts)
    if starts.size and sound.all():
        return starts, end, False
    good = int(sound.argmin()) if starts.size else 0
    return starts[:good], int(starts[good]) if starts.size else place, True


def _chain(data: bytes, place: int, fixed: int, most: int) -> tuple[IntArray, int]:
    """Return the starts of up to ``most`` records that follow each other, and where the next would start."""
    starts: list[int] = []
    last = len(data) - fixed
    take = starts.append
    count_at = fixed - 1
    while place <= last and len(starts) < most:
        take(place)
        place += fixed + VALUE_BYTES * data[place + count_at]
    return np.array(starts, dtype=np.int64), place


def _keep(walk: _Walk, octets: npt.NDArray[np.uint8], starts: IntArray, header: TimeLogHeader) -> None:
    if starts.size:
        walk.starts.append(starts)
        walk.counts.append(octets[starts + header.fixed_bytes - 1].astype(np.int64))


def _resynchronised(walk: _Walk, rules: Plausibility, broken: int) -> int:
    """Return where to read on after a record that cannot be true, and put the count of the one before right."""
    fixed = rules.header.fixed_bytes
    own = _own_recount(walk, rules, broken)
    if own >= 0:
        return own
    previous = int(walk.starts[-1][-1]) if walk.starts else -1
    after = rules.after(broken)
    if after >= 0:  # the frame holds, so only this record is damaged
        place = after
    else:
        place = next_record(rules, previous + fixed if previous >= 0 else 0)
    walk.resynchronised += 1
    walk.skipped_bytes += max(place - broken, 0)
    if after < 0 and previous >= 0:
        _recount(walk, rules, previous, place)
    return place


def _own_recount(walk: _Walk, rules: Plausibility, broken: int) -> int:
    """Keep a record whose clock and position can be true if another count of values fits; return its end, else -1."""
    fixed = rules.header.fixed_bytes
    if not rules.heads(np.array([broken], dtype=np.int64))[0]:
        return -1
    place = next_record(rules, broken + fixed)
    count, rest = divmod(place - broken - fixed, VALUE_BYTES)
    if place >= rules.octets.size or rest or not rules.indices_fit(broken + fixed, count):
        return -1
    walk.starts.append(np.array([broken], dtype=np.int64))
    walk.counts.append(np.array([count], dtype=np.int64))
    walk.recounted += 1
    walk.resynchronised += 1
    return place


def _recount(walk: _Walk, rules: Plausibility, previous: int, place: int) -> None:
    """Take the number of values of a record from where the next one starts, if they are values of this log."""
    fixed = rules.header.fixed_bytes
    count, rest = divmod(place - previous - fixed, VALUE_BYTES)
    stated = int(walk.counts[-1][-1])
    if place >= rules.octets.size and count >= stated:
        return
    if rest or not rules.indices_fit(previous + fixed, count):
        walk.counts[-1][-1] = 0 if place < previous + fixed + VALUE_BYTES * stated else stated
        return
    walk.counts[-1][-1] = count
    walk.recounted += 1
    walk.skipped_bytes -= VALUE_BYTES * max(count - stated, 0)
