"""Whether bytes can be a record of a time log, and where the next one starts when the reading is out of step.

A record can be true where its clock is within a day, its day near the log's first, its position on the globe, and
every value it lists one the header knows. Position status is no reason to reject: 15, "not available", stands on
every record of good logs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.timelog_header import VALUE_BYTES, TimeLogHeader
from wetrun.fieldlog.trace import IntArray

MS_PER_DAY: Final = 86_400_000
# Our own choices (no source): one log spans a season at most, and two believable records in a row are no accident.
DAYS_BEFORE, DAYS_AFTER = 1, 366
FOLLOWERS: Final = 2
POLE, DATE_LINE = 900_000_000, 1_800_000_000
NOT_THERE: Final = (-(1 << 31), (1 << 31) - 1)
ANY_DAY: Final = -1
NONE: Final = -1
LAST_DAY: Final = (1 << 16) - 1


@dataclass(frozen=True, slots=True)
class Plausibility:
    """The rules for one log. ``day`` is the first day it tells, `ANY_DAY` where none is known yet."""

    octets: npt.NDArray[np.uint8]
    header: TimeLogHeader
    day: int

    def of(self, starts: IntArray) -> npt.NDArray[np.bool_]:
        """Return which places [bytes] can be the start of a record, looked at on its own."""
        good = self.heads(starts)
        good[good] = self._indices_known(starts[good])
        return good

    def heads(self, starts: IntArray) -> npt.NDArray[np.bool_]:
        """Return which places [bytes] can start a record by clock and position alone, whatever its values."""
        fits = starts + self.header.fixed_bytes <= self.octets.size
        inside = starts[fits]
        good = (self._number(inside, 4) < MS_PER_DAY) & self._near(self._number(inside + 4, 2))
        good &= self._on_globe(inside, "north", POLE) & self._on_globe(inside, "east", DATE_LINE)
        fits[fits] = good
        return fits

    def overruns(self, starts: IntArray) -> npt.NDArray[np.bool_]:
        """Return which records would end beyond the file."""
        return self.ends(starts) > self.octets.size

    def ends(self, starts: IntArray) -> IntArray:
        """Return where the records that start here would end [bytes]."""
        fixed = self.header.fixed_bytes
        counts = self.octets[np.minimum(starts + fixed - 1, self.octets.size - 1)].astype(np.int64)
        ends: IntArray = starts + fixed + VALUE_BYTES * counts
        return ends

    def followed(self, starts: IntArray) -> npt.NDArray[np.bool_]:
        """Return which places start a record with believable ones after it, or that ends the file exactly."""
        good = self.of(starts)
        for _ in range(FOLLOWERS):
            going = np.flatnonzero(good & (starts < self.octets.size))
            ends = self.ends(starts[going])
            starts = starts.copy()
            starts[going] = ends
            good[going] = (ends == self.octets.size) | self.of(ends)
        return good

    def after(self, broken: int) -> int:
        """Return where a damaged record ends, if its frame is whole and believable records follow; else `NONE`."""
        place = np.array([broken], dtype=np.int64)
        if broken + self.header.fixed_bytes > self.octets.size:
            return NONE
        end = self.ends(place)
        whole = end[0] < self.octets.size and bool(self.followed(end)[0])
        return int(end[0]) if whole else NONE

    def indices_fit(self, first: int, count: int) -> bool:
        """Return whether ``count`` values from a place on all name a value of the header."""
        if count < 0 or count > len(self.header.values):
            return False
        indices = self.octets[first : first + VALUE_BYTES * count : VALUE_BYTES]
        return bool(indices.size == count and (indices < len(self.header.values)).all())

    def _number(self, places: IntArray, width: int) -> IntArray:
        number = np.zeros(places.size, dtype=np.int64)
        for octet in range(width):
            number |= self.octets[places + octet].astype(np.int64) << (8 * octet)
        return number

    def days(self) -> tuple[int, int]:
        """Return the first and the last day that can be true [days since 1980]."""
        return (1, LAST_DAY) if self.day == ANY_DAY else (self.day - DAYS_BEFORE, self.day + DAYS_AFTER)

    def _near(self, day: IntArray) -> npt.NDArray[np.bool_]:
        first, last = self.days()
        return (day >= first) & (day <= last)

    def _on_globe(self, starts: IntArray, name: str, most: int) -> npt.NDArray[np.bool_]:
        offset = self.header.offset(name)
        if offset < 0:
            return np.ones(starts.size, dtype=bool)
        value = self._number(starts + offset, 4).astype(np.uint32).view(np.int32).astype(np.int64)
        return (np.abs(value) <= most) | np.isin(value, NOT_THERE)

    def _indices_known(self, starts: IntArray) -> npt.NDArray[np.bool_]:
        """Return which records list only values of the header; what lies beyond the file counts as known."""
        fixed, known = self.header.fixed_bytes, len(self.header.values)
        counts = self.octets[starts + fixed - 1].astype(np.int64)
        total = int(counts.sum())
        record = np.repeat(np.arange(starts.size), counts)
        nth = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts)
        places = np.minimum((starts + fixed)[record] + VALUE_BYTES * nth, self.octets.size - 1)
        inside = (starts + fixed)[record] + VALUE_BYTES * nth < self.octets.size
        strange = np.bincount(record[inside & (self.octets[places] >= known)], minlength=starts.size)
        known_all: npt.NDArray[np.bool_] = strange == 0
        return known_all
