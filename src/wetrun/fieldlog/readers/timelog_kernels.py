"""Compiled loops over long time logs, imported only for those (numba takes a second to load).

They give the same arrays as the NumPy code they stand in for; a record that cannot be true ends the walk, and what to
do about it is settled there.
"""

from __future__ import annotations

import numba
import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.timelog_header import VALUE_BYTES
from wetrun.fieldlog.readers.timelog_sync import DATE_LINE, MS_PER_DAY, NOT_THERE, POLE, Plausibility
from wetrun.fieldlog.trace import IntArray

LEAST, GREATEST = NOT_THERE


def sound_chain(rules: Plausibility, place: int) -> tuple[IntArray, int]:
    """Return the starts [bytes] of all believable records that follow each other, and where the next would start."""
    header = rules.header
    offsets = np.array([header.offset("north"), header.offset("east")], dtype=np.int64)
    days = np.array(rules.days(), dtype=np.int64)
    starts = np.empty((rules.octets.size - place) // header.fixed_bytes + 1, dtype=np.int64)
    count, end = _chain(rules.octets, place, np.array([header.fixed_bytes, len(header.values)]), offsets, days, starts)
    return starts[:count].copy(), int(end)


def values_of(
    octets: npt.NDArray[np.uint8], first: IntArray, counts: IntArray
) -> tuple[npt.NDArray[np.int32], npt.NDArray[np.uint8], npt.NDArray[np.int32]]:
    """Return record, index and raw number of every value, given where each record's first one starts [bytes]."""
    total = int(counts.sum())
    record, index, raw = np.empty(total, np.int32), np.empty(total, np.uint8), np.empty(total, np.int32)
    _values(octets, first, counts, record, index, raw)
    return record, index, raw


@numba.njit(nogil=True)
def _whole(octets, place):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    return np.int32(
        np.uint32(octets[place])
        | np.uint32(octets[place + 1]) << np.uint32(8)
        | np.uint32(octets[place + 2]) << np.uint32(16)
        | np.uint32(octets[place + 3]) << np.uint32(24)
    )


@numba.njit(nogil=True)
def _on_globe(octets, place, most):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    value = np.int64(_whole(octets, place))
    return -most <= value <= most or value in {LEAST, GREATEST}


@numba.njit(nogil=True)
def _believable(octets, place, sizes, offsets, days):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    ms = np.int64(_whole(octets, place)) & 0xFFFFFFFF
    day = np.int64(octets[place + 4]) | np.int64(octets[place + 5]) << 8
    if ms >= MS_PER_DAY or day < days[0] or day > days[1]:
        return False
    if offsets[0] >= 0 and not _on_globe(octets, place + offsets[0], POLE):
        return False
    if offsets[1] >= 0 and not _on_globe(octets, place + offsets[1], DATE_LINE):
        return False
    first = place + sizes[0]
    for nth in range(octets[first - 1]):
        if octets[first + VALUE_BYTES * nth] >= sizes[1]:
            return False
    return True


@numba.njit(nogil=True)
def _chain(octets, place, sizes, offsets, days, starts):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    count = 0
    while place + sizes[0] <= octets.size:
        end = place + sizes[0] + VALUE_BYTES * np.int64(octets[place + sizes[0] - 1])
        if end > octets.size or not _believable(octets, place, sizes, offsets, days):
            break
        starts[count] = place
        count += 1
        place = end
    return count, place


@numba.njit(nogil=True)
def _values(octets, first, counts, record, index, raw):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    at = 0
    for nth in range(first.size):
        place = first[nth]
        for _ in range(counts[nth]):
            record[at] = nth
            index[at] = octets[place]
            raw[at] = _whole(octets, place + 1)
            place += VALUE_BYTES
            at += 1
