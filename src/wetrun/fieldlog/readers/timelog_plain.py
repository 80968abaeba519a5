"""Decoding records with NumPy alone, for logs too short to be worth loading a compiler.

Only the walk from record to record is a loop, over the one byte that says how long a record is; fields and values
are then taken out by column.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.timelog_chunk import Chunk
from wetrun.fieldlog.readers.timelog_header import VALUE_BYTES
from wetrun.fieldlog.readers.timelog_sync import NONE, Plausibility
from wetrun.fieldlog.trace import IntArray

# A block grows while the log is sound, so that little of it is walked twice where it is not.
FIRST_BLOCK, LARGEST_BLOCK = 1 << 6, 1 << 16
FIRST_STRETCH, LARGEST_STRETCH = 1 << 7, 1 << 16


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
    found, block = [np.empty(0, dtype=np.int64)], FIRST_BLOCK
    while place < limit and most > 0:
        starts, end, sound = _sound_block(rules, place, limit, min(most, block))
        found.append(starts)
        if not sound:
            return _chunk(rules, np.concatenate(found)), end, True
        place, most, block = end, most - starts.size, min(2 * block, LARGEST_BLOCK)
    return _chunk(rules, np.concatenate(found)), place, False


def _sound_block(rules: Plausibility, place: int, limit: int, most: int) -> tuple[IntArray, int, bool]:
    """Return the starts of believable records, where the next would start, and whether no damage ended them."""
    starts, end = _walked(rules, place, limit, most)
    sound = rules.of(starts) & ~rules.overruns(starts)
    if starts.size and sound.all():
        return starts, end, True
    good = int(sound.argmin()) if starts.size else 0
    return starts[:good], int(starts[good]) if starts.size else place, False


def next_record(rules: Plausibility, place: int, limit: int) -> int:
    """Return where the next believable record starts at or after a place and before a limit, `NONE` if there is none.

    It must be followed by believable ones, or end the file.
    """
    width = FIRST_STRETCH
    while place < limit:
        stretch = np.arange(place, min(place + width, limit), dtype=np.int64)
        found = stretch[rules.of(stretch)]
        found = found[rules.followed(found)] if found.size else found
        if found.size:
            return int(found[0])
        place += width
        width = min(2 * width, LARGEST_STRETCH)
    return NONE


def _walked(rules: Plausibility, place: int, limit: int, most: int) -> tuple[IntArray, int]:
    """Return the starts of up to ``most`` records that follow each other, and where the next would start."""
    starts: list[int] = []
    take = starts.append
    octets = rules.octets.data
    fixed = rules.header.fixed_bytes
    count_at, last = fixed - 1, min(octets.nbytes - fixed, limit - 1)
    while place <= last and len(starts) < most:
        take(place)
        place += fixed + VALUE_BYTES * octets[place + count_at]
    return np.array(starts, dtype=np.int64), place


def _chunk(rules: Plausibility, starts: IntArray) -> Chunk:
    octets, fixed = rules.octets, rules.header.fixed_bytes
    room = max(octets.size - fixed + 1, 0)
    heads: npt.NDArray[np.uint8] = np.ndarray((room, fixed), np.uint8, octets.data, strides=(1, 1))[starts]
    counts = heads[:, -1].copy()
    places = _value_places(starts + fixed, counts.astype(np.int64))
    return Chunk(heads, counts, octets[places], whole_numbers(octets, places + 1))


def _value_places(first: IntArray, counts: IntArray) -> IntArray:
    """Return where each value starts [bytes], given where each record's first one does and how many it has."""
    total = int(counts.sum())
    before = np.repeat(np.cumsum(counts) - counts, counts)
    places: IntArray = np.repeat(first, counts) + VALUE_BYTES * (np.arange(total) - before)
    return places


def whole_numbers(octets: npt.NDArray[np.uint8], places: IntArray) -> npt.NDArray[np.int32]:
    """Return numbers of four bytes that stand at any byte, aligned or not."""
    room = max(octets.size - 3, 0)
    every = np.ndarray((room,), "<i4", octets.data, strides=(1,)) if room else np.empty(0, dtype="<i4")
    return every[places].astype(np.int32, copy=False)
