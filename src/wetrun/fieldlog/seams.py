"""The rows of a long log, piece by piece: cut between two instants, and bridged so that nothing is lost or told twice.

Each piece is cleaned together with some instants before and after it, which are then taken off again, so that what is
decided by neighbours – an interval, a pause, a turn – comes out as it would in the whole. The gap, the sections and
whether positions can be trusted are settled on the head of the log.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.cleaning import left_out_of, trace_of_rows
from wetrun.fieldlog.instants import Settled
from wetrun.fieldlog.joining import joined_repairs
from wetrun.fieldlog.recordings import SLIGHT_STEP_S
from wetrun.fieldlog.rows import MOST_TOLD, RawRows
from wetrun.fieldlog.trace import Repair, Trace, with_columns_of
from wetrun.units import S

# A turn is taken from a second of driving: these are over a second at fifty readings a second.
INSTANTS_BESIDE: Final = 64
ROW_COLUMNS: Final = (
    "time_s", "section", "distance_m", "width_m", "target_m3pm2", "applied_m3pm2", "heading_rad", "shown_speed_mps",
    "east_m", "north_m",
)  # fmt: skip


@dataclass(slots=True)
class Seam:
    """What is held back of a recording: rows [rows], and the clock reading up to which all is handed on already."""

    rows: RawRows | None = None
    done_s: S = -np.inf


def pieces_of_rows(blocks: Iterator[RawRows], settled: Settled, *, piece_rows: int) -> Iterator[Trace]:
    """Yield a log as traces of about so many rows, from its rows in blocks.

    Notes
    -----
    A clock that goes back by over `SLIGHT_STEP_S` begins a recording that is never joined with those before it. Files
    whose recordings must be woven into one another – merged the wrong way round within a gap's length, written section
    by section, or holding the same rows twice far apart – come out whole only if they are read at once.
    """
    read = _Read()
    for piece in _pieces(map(read.noted, blocks), settled, piece_rows):
        yield read.told_with(piece)


class _Read:
    """What reading said of the blocks since a piece was last told of: pieces share rows at their seams, told once."""

    def __init__(self) -> None:
        self._rows = 0
        self._repairs: list[Repair] = []

    def noted(self, block: RawRows) -> RawRows:
        """Return a block that leaves its repairs to be told here."""
        self._rows += block.source.rows
        self._repairs += block.source.repairs
        return replace(block, source=replace(block.source, repairs=()))

    def told_with(self, piece: Trace) -> Trace:
        """Return a piece that tells of all blocks since the piece before it."""
        repairs = joined_repairs([*self._repairs, *piece.facts.repairs])
        told = replace(piece, facts=replace(piece.facts, rows=self._rows, repairs=repairs))
        self._rows, self._repairs = 0, []
        return told


def _pieces(blocks: Iterator[RawRows], settled: Settled, piece_rows: int) -> Iterator[Trace]:
    seam = Seam()
    for block in map(_worth_keeping, blocks):
        for nth, run in enumerate(_runs(block, seam)):
            if nth:
                yield from _cut(seam, settled, upto_s=np.inf)
                seam = Seam()
            seam.rows = run if seam.rows is None else _joined(seam.rows, run)
            while seam.rows.time_s.size > piece_rows and (upto_s := _upto(seam, piece_rows)) > seam.done_s:
                yield from _cut(seam, settled, upto_s=upto_s)
    yield from _cut(seam, settled, upto_s=np.inf)


def _worth_keeping(rows: RawRows) -> RawRows:
    """Return the rows with a time and a width: the others are a section that is off."""
    told = np.abs(rows.time_s) <= MOST_TOLD["time_s"]
    return _some(rows, told & (rows.width_m > 0) & (rows.width_m <= MOST_TOLD["width_m"]))


def _runs(block: RawRows, seam: Seam) -> Iterator[RawRows]:
    """Yield the rows of a block in runs; the first goes on with what is held back, each further one begins anew."""
    last_s = seam.rows.time_s[-1] if seam.rows is not None and seam.rows.time_s.size else np.nan
    late = block.time_s <= seam.done_s
    back = (np.diff(block.time_s, prepend=last_s) < -SLIGHT_STEP_S) | (late & ~np.roll(late, 1))
    run = np.cumsum(back)
    if run.size and run[0]:
        yield _some(block, np.zeros(run.size, dtype=bool))
    for number in np.unique(run):
        yield _some(block, run == number)


def _upto(seam: Seam, piece_rows: int) -> S:
    """Return the reading to cut after: rows that may still be joined by late ones, and some beside, are held back."""
    assert seam.rows is not None  # noqa: S101 - there are rows, or nothing would be cut
    time_s = np.unique(seam.rows.time_s)
    settled = time_s[time_s < seam.rows.time_s.max() - SLIGHT_STEP_S]
    new = int(np.searchsorted(settled, seam.done_s, side="right"))
    last = min(settled.size - 1 - INSTANTS_BESIDE, new + piece_rows)
    return float(settled[last]) if last >= new else -np.inf


def _cut(seam: Seam, settled: Settled, *, upto_s: S) -> Iterator[Trace]:
    """Yield the instants after those done and up to a reading, and keep what the next piece needs beside it."""
    rows, after_s = seam.rows, seam.done_s
    if rows is None or not (rows.time_s > after_s).any():
        return
    instants_s = np.unique(rows.time_s)
    low = int(np.searchsorted(instants_s, after_s, side="right"))
    high = int(np.searchsorted(instants_s, upto_s, side="right"))
    beside_s = instants_s[min(high + INSTANTS_BESIDE, instants_s.size) - 1]
    trace = trace_of_rows(_some(rows, rows.time_s <= beside_s), settled)
    keep_from_s = instants_s[max(0, high - INSTANTS_BESIDE)]
    seam.rows, seam.done_s = _some(rows, rows.time_s >= keep_from_s), float(instants_s[high - 1])
    yield part_of(trace, slice(low, high))


def part_of(trace: Trace, chosen: slice) -> Trace:
    """Return the chosen instants of a trace, with the facts that can be told of them alone told of them alone.

    These are the count of instants, what is left out, and how often each section was on, as many rows as it has
    instants. What was repaired, and the gaps, stay those of the trace: near a seam they are told by both its pieces.
    """
    part = with_columns_of(trace, chosen)
    left_out = left_out_of(part.speed_mps, part.interval_s, part.area_m2)
    facts = replace(part.facts, instants=int(part.time_s.size), left_out=left_out)
    sections = tuple(replace(one, rows=int(((part.sections_on >> one.bit) & 1).sum())) for one in part.sections)
    return replace(part, facts=facts, sections=sections)


def _some(rows: RawRows, chosen: npt.NDArray[np.bool_]) -> RawRows:
    parts: dict[str, Any] = {name: getattr(rows, name)[chosen] for name in ROW_COLUMNS}
    return replace(rows, **parts)


def _joined(first: RawRows, second: RawRows) -> RawRows:
    parts: dict[str, Any] = {
        name: np.concatenate([getattr(first, name), getattr(second, name)]) for name in ROW_COLUMNS
    }
    return replace(second, **parts)
