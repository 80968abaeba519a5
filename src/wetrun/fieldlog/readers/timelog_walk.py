"""The walk through a time log from record to record, over a window of its bytes, and what is done about damage.

A record that cannot be true starts the search for the next that can be. Nothing depends on where the window's edges
fall: no place is judged before all bytes that could matter to it are at hand.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.timelog_chunk import Chunk
from wetrun.fieldlog.readers.timelog_decoder import Decoder
from wetrun.fieldlog.readers.timelog_header import MOST_VALUES, VALUE_BYTES, TimeLogHeader
from wetrun.fieldlog.readers.timelog_plain import whole_numbers
from wetrun.fieldlog.readers.timelog_sync import ANY_DAY, DAYS_AFTER, DAYS_BEFORE, FOLLOWERS, NONE, Plausibility
from wetrun.fieldlog.readers.timelog_window import ByteWindow

# Our own choice (no source): a log out of step this often, and on more than this share of its records, is not a log
# with some damage.
MOST_RESYNCHRONISED: Final = 2000
RECORDS_PER_RESYNCHRONISED: Final = 1000
RECORDS_ASKED: Final = 15  # for the day of a log


@dataclass(slots=True)
class Harm:
    """Records with a wrong number of values put right, places out of step, and bytes that belong to no record."""

    recounted: int = 0
    resynchronised: int = 0
    skipped_bytes: int = 0


@dataclass(slots=True)
class Walk:
    """Where the walk stands [bytes], and what it found since it was last emptied.

    ``previous`` is where the last record starts, whose number of values may still turn out wrong.
    """

    window: ByteWindow
    header: TimeLogHeader
    decoder: Decoder
    day: int
    file: str
    place: int = 0
    previous: int = NONE
    chunks: list[Chunk] = field(default_factory=list)
    size: int = 0
    passed: int = 0
    resynchronised: int = 0
    harm: Harm = field(default_factory=Harm)

    @property
    def ended(self) -> bool:
        """Return whether the whole log was walked through."""
        return self.window.ended and self.place >= self.window.end

    def step(self, most: int) -> None:
        """Go on by up to ``most`` records, to the next damage or to the window's edge."""
        rules, base = self._rules(), self.window.base
        limit = self._limit()
        chunk, end, broken = self.decoder.sound_chain(rules, self.place - base, limit, most)
        if chunk.size:
            self._keep(chunk, base + end - self.header.fixed_bytes - VALUE_BYTES * chunk.last_count)
        self.place = base + end
        if broken:
            self.place = self._resynchronised(self.place)
        if not self.window.ended and self.place - base >= limit:
            self.window.slide(self._needed_from(self.place))

    def _keep(self, chunk: Chunk, last: int) -> None:
        self.chunks.append(chunk)
        self.size += chunk.size
        self.passed += chunk.size
        self.previous = last

    def _rules(self) -> Plausibility:
        return Plausibility(self.window.octets, self.header, self.day)

    def _limit(self) -> int:
        """Return before which place of the window [bytes] a record can be judged with the bytes at hand."""
        size = int(self.window.octets.size)
        return size if self.window.ended else size - reach_of(self.header)

    def _needed_from(self, place: int) -> int:
        """Return from where bytes are still needed: the last record's, if it can be what ends at a place."""
        near = self.previous != NONE and place - self.previous <= reach_of(self.header)
        return self.previous if near else place

    def _resynchronised(self, broken: int) -> int:
        """Return where to read on after a record that cannot be true, and put the count of the one before right."""
        self._note_out_of_step(broken)
        own = self._own_recount(broken)
        if own != NONE:
            return own
        frame = self._rules().after(broken - self.window.base)
        if frame != NONE:  # the frame holds, so only this record is damaged
            place = self.window.base + frame
        else:
            place = self.next_record(0 if self.previous == NONE else self.previous + self.header.fixed_bytes)
        self.harm.skipped_bytes += max(place - broken, 0)
        if frame == NONE and self.previous != NONE:
            self._recount(place)
        return place

    def _note_out_of_step(self, broken: int) -> None:
        self.harm.resynchronised += 1
        self.resynchronised += 1
        if self.resynchronised > max(MOST_RESYNCHRONISED, self.passed // RECORDS_PER_RESYNCHRONISED):
            reason = f"records are out of step over {MOST_RESYNCHRONISED} times: it is damaged all through"
            raise LogRefused(self.file, place=f"byte {broken}", reason=reason, remedy="Copy it from the terminal again")

    def _own_recount(self, broken: int) -> int:
        """Keep a record whose clock and position can be true if another count of values fits; return its end."""
        rules, at, fixed = self._rules(), broken - self.window.base, self.header.fixed_bytes
        if not rules.heads(np.array([at], dtype=np.int64))[0]:
            return NONE
        farthest = min(at + fixed + VALUE_BYTES * MOST_VALUES + 1, int(rules.octets.size))
        end = self.decoder.next_record(rules, at + fixed, farthest)
        count, rest = divmod(end - at - fixed, VALUE_BYTES)
        if end == NONE or rest or not rules.indices_fit(at + fixed, count):
            return NONE
        head = rules.octets[at : at + fixed].copy()
        self._keep(Chunk(head[np.newaxis], np.array([count], dtype=np.uint8), *self._values(broken, count)), broken)
        self.harm.recounted += 1
        return self.window.base + end

    def next_record(self, place: int) -> int:
        """Return where the next believable record starts at or after a place, the log's end if there is none."""
        place = max(place, self.window.base)
        while True:
            base, limit = self.window.base, self._limit()
            found = self.decoder.next_record(self._rules(), place - base, limit)
            if found != NONE:
                return base + found
            if self.window.ended:
                return self.window.end
            place = max(place, base + limit)
            self.window.slide(self._needed_from(place))

    def _recount(self, place: int) -> None:
        """Take the number of values of the last record from where the next starts, if they are values of this log."""
        first = self.previous + self.header.fixed_bytes
        count, rest = divmod(place - first, VALUE_BYTES)
        stated = self.chunks[-1].last_count
        if self.window.ended and place >= self.window.end and count >= stated:
            return
        if rest or count > MOST_VALUES or not self._rules().indices_fit(first - self.window.base, count):
            self._set_last(0 if place < first + VALUE_BYTES * stated else stated)
            return
        self._set_last(count)
        self.harm.recounted += 1
        self.harm.skipped_bytes -= VALUE_BYTES * max(count - stated, 0)

    def _set_last(self, count: int) -> None:
        if count != self.chunks[-1].last_count:
            self.chunks[-1] = self.chunks[-1].with_last(*self._values(self.previous, count))

    def _values(self, record: int, count: int) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.int32]]:
        """Return the index and the raw number of the first values of a record."""
        places = record - self.window.base + self.header.fixed_bytes + VALUE_BYTES * np.arange(count, dtype=np.int64)
        return self.window.octets[places], whole_numbers(self.window.octets, places + 1)


def reach_of(header: TimeLogHeader) -> int:
    """Return how many bytes after a place can matter to what is done there: a record and those that follow it."""
    return (FOLLOWERS + 2) * (header.fixed_bytes + VALUE_BYTES * MOST_VALUES)


def least_window(header: TimeLogHeader) -> int:
    """Return how many bytes a window over a log must hold at least [byte]."""
    return 4 * reach_of(header)


def first_day(window: ByteWindow, header: TimeLogHeader, decoder: Decoder) -> int:
    """Return the day [days since 1980] of the first believable record, `ANY_DAY` if there is none.

    As long as any day will do, bytes out of step can pass for a record. So it is the first day that most of the
    records found next can be near of. The window moves on to the first of them.
    """
    walk = Walk(window, header, decoder, ANY_DAY, "")
    place = walk.next_record(0)
    if place >= window.end:
        return ANY_DAY
    rules, limit = Plausibility(window.octets, header, ANY_DAY), int(window.octets.size)
    limit = limit if window.ended else limit - reach_of(header)
    days: list[int] = []
    at = place - window.base
    while at != NONE and len(days) < RECORDS_ASKED:
        days.append(int(window.octets[at + 4]) | int(window.octets[at + 5]) << 8)
        at = decoder.next_record(rules, at + 1, limit)
    return max(days, key=lambda own: sum(own - DAYS_BEFORE <= day <= own + DAYS_AFTER for day in days))
