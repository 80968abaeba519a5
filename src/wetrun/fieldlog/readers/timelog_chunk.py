"""A run of decoded records that follow each other without a break, the form both decoders give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.timelog_header import TimeLogHeader


@dataclass(frozen=True, slots=True)
class Chunk:
    """Records as written.

    ``heads`` are the bytes of each record before its values [records, bytes], ``counts`` how many values each has.
    ``index`` and ``raw`` are the place in the header and the raw number of each value, in the order of the file.
    """

    heads: npt.NDArray[np.uint8]
    counts: npt.NDArray[np.uint8]
    index: npt.NDArray[np.uint8]
    raw: npt.NDArray[np.int32]

    @property
    def size(self) -> int:
        """Return the number of records."""
        return int(self.counts.size)

    @property
    def last_count(self) -> int:
        """Return how many values the last record has."""
        return int(self.counts[-1])

    def with_last(self, index: npt.NDArray[np.uint8], raw: npt.NDArray[np.int32]) -> Chunk:
        """Return this chunk with other values in its last record."""
        kept = self.index.size - self.last_count
        counts = self.counts.copy()
        counts[-1] = index.size
        indices, raws = np.concatenate([self.index[:kept], index]), np.concatenate([self.raw[:kept], raw])
        return Chunk(self.heads, counts, indices, raws)

    def split(self, record: int) -> tuple[Chunk, Chunk]:
        """Return the records before one and those from it on; the latter are a copy."""
        value = int(self.counts[:record].sum(dtype=np.int64))
        before = Chunk(self.heads[:record], self.counts[:record], self.index[:value], self.raw[:value])
        heads, counts = self.heads[record:].copy(), self.counts[record:].copy()
        return before, Chunk(heads, counts, self.index[value:].copy(), self.raw[value:].copy())

    def fields(self, header: TimeLogHeader) -> dict[str, npt.NDArray[np.integer]]:
        """Return the fields before the values by name [records]."""
        layout = np.dtype([*((name, kind) for name, kind, _ in header.fields), ("count", "u1")])
        columns = np.ascontiguousarray(self.heads).view(layout)[:, 0]
        return {name: np.ascontiguousarray(columns[name]) for name, _, _ in header.fields}


def joined(chunks: Sequence[Chunk], header: TimeLogHeader) -> Chunk:
    """Return chunks as one; a single one is not copied."""
    if len(chunks) == 1:
        return chunks[0]
    nothing = np.empty(0, dtype=np.uint8)
    return Chunk(
        np.concatenate([nothing.reshape(0, header.fixed_bytes), *(one.heads for one in chunks)]),
        np.concatenate([nothing, *(one.counts for one in chunks)]),
        np.concatenate([nothing, *(one.index for one in chunks)]),
        np.concatenate([nothing.astype(np.int32), *(one.raw for one in chunks)]),
    )
