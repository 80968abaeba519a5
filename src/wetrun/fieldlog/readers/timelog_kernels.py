"""Compiled decoding of records, loaded only for long logs (see `wetrun.fieldlog.readers.timelog_decoder`).

It gives the same bits as `wetrun.fieldlog.readers.timelog_plain`. What is compiled is kept on disk between runs where
there is a place for it, so the loops take all they need as arguments: a number changed in another module can never
meet an old loop.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from typing import Any, Final

import numba
import numpy as np
from numba import types

from wetrun.fieldlog.readers.timelog_chunk import Chunk
from wetrun.fieldlog.readers.timelog_header import VALUE_BYTES
from wetrun.fieldlog.readers.timelog_sync import DATE_LINE, FOLLOWERS, MS_PER_DAY, NOT_THERE, POLE, Plausibility
from wetrun.fieldlog.trace import IntArray

# Places in the array of rules the loops are given.
FIXED, KNOWN, WIDTH, FIRST_DAY, LAST_DAY, DAY_MS, NORTH, EAST, MOST_NORTH, MOST_EAST, LEAST, GREATEST, AFTER = range(13)
U: Final = np.uint64
OCTETS: Final = types.Array(types.uint8, 1, "C", readonly=True)
RULES: Final = types.int64[::1]
# Numba's own "nowhere to keep it", faults of the disk, and what a damaged file can raise when it is unpacked.
NOT_KEPT: Final = (
    RuntimeError, OSError, EOFError, pickle.UnpicklingError, AttributeError, ImportError, LookupError, ValueError,
    TypeError,
)  # fmt: skip


def compiled(signature: object) -> Callable[[Callable[..., Any]], Any]:
    """Return a maker of compiled loops, kept on disk where that can be done, else compiled anew in each run.

    A package folder that is read-only, a full disk or a damaged file there must not stop a log from being read.
    """

    def make(loop: Callable[..., Any]) -> Any:  # noqa: ANN401 - what numba makes has no type a checker knows
        try:
            return numba.njit(signature, nogil=True, cache=True)(loop)
        except NOT_KEPT:
            return numba.njit(signature, nogil=True)(loop)

    return make


def sound_chain(rules: Plausibility, place: int, limit: int, most: int) -> tuple[Chunk, int, bool]:
    """Return believable records that follow each other, where the next would start, and whether damage ended them.

    Parameters
    ----------
    rules
        What can be true, over the bytes at hand.
    place
        Where the first one starts.
    limit
        Before which a record must start.
    most
        How many at most.
    """
    fixed, octets = rules.header.fixed_bytes, rules.octets
    room = max(octets.size - place, 0)
    records, values = min(room // fixed + 1, most), room // VALUE_BYTES + 1
    heads, counts = np.empty((records, fixed), np.uint8), np.empty(records, np.uint8)
    index, raw = np.empty(values, np.uint8), np.empty(values, np.int32)
    count, written, end, broken = _decoded(octets, _numbers(rules), U(place), U(limit), heads, counts, index, raw)
    return Chunk(heads[:count], counts[:count], index[:written], raw[:written]), int(end), bool(broken)


def next_record(rules: Plausibility, place: int, limit: int) -> int:
    """Return where the next believable record starts at or after a place and before a limit, `NONE` if there is none.

    It must be followed by believable ones, or end the file.
    """
    return int(_next(rules.octets, _numbers(rules), place, limit))


def _numbers(rules: Plausibility) -> IntArray:
    header = rules.header
    first, last = rules.days()
    least, greatest = NOT_THERE
    numbers = {
        FIXED: header.fixed_bytes, KNOWN: len(header.values), WIDTH: VALUE_BYTES, FIRST_DAY: first, LAST_DAY: last,
        DAY_MS: MS_PER_DAY, NORTH: header.offset("north"), EAST: header.offset("east"), MOST_NORTH: POLE,
        MOST_EAST: DATE_LINE, LEAST: least, GREATEST: greatest, AFTER: FOLLOWERS,
    }  # fmt: skip
    return np.array([numbers[place] for place in range(len(numbers))], dtype=np.int64)


@numba.njit(nogil=True)
def _whole(octets, place):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    return np.int32(
        np.uint32(octets[place])
        | np.uint32(octets[place + U(1)]) << np.uint32(8)
        | np.uint32(octets[place + U(2)]) << np.uint32(16)
        | np.uint32(octets[place + U(3)]) << np.uint32(24)
    )


@numba.njit(nogil=True)
def _on_globe(octets, place, most, least, greatest):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    value = np.int64(_whole(octets, place))
    return -most <= value <= most or value == least or value == greatest  # noqa: PLR1714 - a set is slow here


@numba.njit(nogil=True)
def _head_believable(octets, rules, place):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    ms = np.int64(_whole(octets, place)) & 0xFFFFFFFF
    day = np.int64(octets[place + U(4)]) | np.int64(octets[place + U(5)]) << 8
    if ms >= rules[DAY_MS] or day < rules[FIRST_DAY] or day > rules[LAST_DAY]:
        return False
    for offset, most in ((rules[NORTH], rules[MOST_NORTH]), (rules[EAST], rules[MOST_EAST])):
        if offset >= 0 and not _on_globe(octets, place + U(offset), most, rules[LEAST], rules[GREATEST]):
            return False
    return True


@compiled(
    types.Tuple((types.uint64, types.uint64, types.uint64, types.boolean))(  # type: ignore[no-untyped-call]
        OCTETS, RULES, types.uint64, types.uint64,
        types.uint8[:, ::1], types.uint8[::1], types.uint8[::1], types.int32[::1],
    )
)  # fmt: skip
def _decoded(octets, rules, place, limit, heads, counts, index, raw):  # type: ignore[no-untyped-def]  # noqa: PLR0913
    """Take out records up to the first that cannot be true; return how many, their values, the end, and whether."""
    fixed, known, width, size = U(rules[FIXED]), rules[KNOWN], U(rules[WIDTH]), U(octets.size)
    record, value = U(0), U(0)
    while place < limit and record < U(counts.size):
        if place + fixed > size:
            return record, value, place, True
        count = octets[place + fixed - U(1)]
        end = place + fixed + width * U(count)
        if end > size or not _head_believable(octets, rules, place):
            return record, value, place, True
        at = place + fixed
        for nth in range(count):
            if octets[at] >= known:
                return record, value, place, True
            index[value + U(nth)] = octets[at]
            raw[value + U(nth)] = _whole(octets, at + U(1))
            at += width
        for octet in range(fixed):
            heads[record, octet] = octets[place + U(octet)]
        counts[record] = count
        record += U(1)
        value += U(count)
        place = end
    return record, value, place, False


@numba.njit(nogil=True)
def _believable(octets, rules, place):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Return whether a record can start at a place, looked at on its own; values beyond the bytes count as known."""
    fixed, width, size = U(rules[FIXED]), U(rules[WIDTH]), U(octets.size)
    if place + fixed > size or not _head_believable(octets, rules, place):
        return False
    at = place + fixed
    for _ in range(octets[at - U(1)]):
        if at < size and octets[at] >= rules[KNOWN]:
            return False
        at += width
    return True


@compiled(types.int64(OCTETS, RULES, types.int64, types.int64))
def _next(octets, rules, place, limit):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    size, fixed, width = U(octets.size), U(rules[FIXED]), U(rules[WIDTH])
    for start in range(place, limit):
        at = U(start)
        good = _believable(octets, rules, at)
        for _ in range(rules[AFTER]):
            if not good or at == size:
                break
            at += fixed + width * U(octets[at + fixed - U(1)])
            good = at == size or _believable(octets, rules, at)
        if good:
            return start
    return -1
