"""A long text log as traces of its pieces, in little memory: its head settles what every piece is read by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import Any, Final

import numpy as np

from wetrun.fieldlog.cleaning import settled_by
from wetrun.fieldlog.instants import Settled
from wetrun.fieldlog.readers.column_logs import raw_rows_of
from wetrun.fieldlog.readers.column_table import NOT_NUMBERS, ParsedColumns
from wetrun.fieldlog.readers.columns import ColumnRole
from wetrun.fieldlog.readers.csv_units import degrees_in, si_columns
from wetrun.fieldlog.readers.earth import Drawn, drawn_after, positions_on_earth
from wetrun.fieldlog.readers.held_values import LastWritten, held_repairs
from wetrun.fieldlog.readers.text_columns import Block, TextColumns
from wetrun.fieldlog.rows import RawRows
from wetrun.fieldlog.seams import pieces_of_rows
from wetrun.fieldlog.trace import IntArray, Trace

PIECE_ROWS: Final = 1 << 19
PLACES: Final = ("longitude", "latitude")


@dataclass(slots=True)
class Reading:
    """How one track of a long log is read on: what its head settled, and where its positions left off."""

    settled: Settled
    like: RawRows
    roles: dict[str, ColumnRole]
    section_names: list[str]
    place: list[int]
    held: LastWritten
    drawn: Drawn | None = None
    names: list[str] = field(default_factory=list)


def pieces_of_track(
    columns: TextColumns,
    head: ParsedColumns,
    blocks: Iterator[Block],
    *,
    track: str,
    held: tuple[str, ...],
    piece_rows: int = PIECE_ROWS,
) -> Iterator[Trace]:
    """Yield one track of a text log in pieces.

    Parameters
    ----------
    columns
        The opened log.
    head
        Its first rows, of this track.
    blocks
        All of its rows, from the first.
    track
        The name of the track, empty where the log is one.
    held
        Columns, by meaning, whose values are written only when they change; those of the head are carried on already.
    piece_rows
        About how many rows a piece is made of.

    Raises
    ------
    LogRefused
        When the head of the log cannot be driven again.
    """
    reading = _reading(columns, head, held)
    own = (_of_track(block, columns, track) for block in blocks)
    rows = (_rows_of(block, columns, reading) for block in own if block.time_s.size)
    yield from pieces_of_rows(rows, reading.settled, piece_rows=piece_rows)


def _reading(columns: TextColumns, head: ParsedColumns, held: tuple[str, ...]) -> Reading:
    like = raw_rows_of(head, columns.mapping)
    stated = {use.meaning: use for use in like.source.columns if use.unit}
    roles = {
        meaning: replace(role, unit=stated[meaning].unit, worked_out=not stated[meaning].stated)
        for meaning, role in columns.roles.items()
        if meaning in stated and meaning not in NOT_NUMBERS
    }
    return Reading(settled_by(like), like, roles, list(like.section_names), [], LastWritten(held))


def _of_track(block: Block, columns: TextColumns, track: str) -> Block:
    if not track:
        return block
    chosen = block.track == columns.tracks.number.get(track, -1)
    numbers = {meaning: values[chosen] for meaning, values in block.numbers.items()}
    return Block(numbers, block.time_s[chosen], block.section[chosen], block.track[chosen])


def _rows_of(block: Block, columns: TextColumns, reading: Reading) -> RawRows:
    """Return a block as rows in SI, by the units and sections that the head settled."""
    numbers = reading.held.carried(block.numbers, block.time_s, block.section)
    carried = held_repairs(reading.held.meanings, block.numbers, numbers)
    section = _places(block.section, columns, reading)
    roles = {meaning: role for meaning, role in reading.roles.items() if meaning not in PLACES}
    si = si_columns(roles, numbers, (block.time_s, section), file=columns.table.file.name, mapping=None)
    parts: dict[str, Any] = dict(si.columns)
    if set(PLACES) <= reading.roles.keys():
        east, north, known = degrees_in(reading.roles, block.numbers)
        positions = positions_on_earth(east, north, known, reading.drawn)
        reading.drawn = drawn_after(east, north, known, reading.drawn)
        parts |= {"east_m": positions.east_m, "north_m": positions.north_m}
    if "width" not in roles:
        parts["width_m"] = np.full(section.size, reading.like.width_m[0])
    source = replace(reading.like.source, rows=section.size, repairs=carried)
    return replace(
        reading.like, time_s=block.time_s, section=section, section_names=tuple(reading.section_names), source=source,
        **parts,
    )  # fmt: skip


def _places(section: IntArray, columns: TextColumns, reading: Reading) -> IntArray:
    """Return the place of each row's section: as in the head, later ones after them."""
    if "section" not in columns.roles:
        return section
    for name in list(columns.sections.number)[len(reading.place) :]:
        if name not in reading.section_names:
            reading.section_names.append(name)
        reading.place.append(reading.section_names.index(name))
    placed: IntArray = np.array(reading.place, dtype=np.int64)[section]
    return placed


def head_and_rest(blocks: Iterator[Block], most_rows: int) -> tuple[list[Block], Iterator[Block]]:
    """Return the blocks of the first rows, and all that come after; nothing comes after in a log that is not longer."""
    head: list[Block] = []
    rows = 0
    for block in blocks:
        if rows and rows + block.time_s.size > most_rows:
            return head, chain([block], blocks)
        head.append(block)
        rows += block.time_s.size
    return head, iter(())
