"""A trace, whole or in pieces, written as a working file: complete under its name, or not there at all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Self

import pyarrow as pa
import pyarrow.parquet as pq

from wetrun.errors import CannotWrite
from wetrun.fieldlog.joining import Told, renumbered, swing_renumbered, told_by
from wetrun.fieldlog.readers.working_columns import INSTANTS_PER_GROUP, schema_of, table_of, writing_options
from wetrun.fieldlog.readers.working_header import KEY, header_as_json, header_told
from wetrun.fieldlog.trace import Trace


def write_trace(path: Path, pieces: Iterable[Trace]) -> None:
    """Write the pieces of one trace, in their order, as a working file in place of any that has this name.

    Raises
    ------
    CannotWrite
        When the disk or the folder does not allow it. What had the name before is then still there.
    """
    with TraceWriter(path) as writer:
        for piece in pieces:
            writer.add(piece)


class TraceWriter:
    """A working file being written: a context that takes pieces and gives the file its name at the end.

    Only so many instants are held in memory as one row group has.
    """

    def __init__(self, path: Path, *, instants_per_group: int = INSTANTS_PER_GROUP) -> None:
        self._path = path
        self._part = path.with_name(f".{path.name}.part")
        self._group = instants_per_group
        self._writer: pq.ParquetWriter | None = None
        self._waiting: list[pa.Table] = []
        self._told: Told | None = None

    def __enter__(self) -> Self:
        return self

    def add(self, piece: Trace) -> None:
        """Add the next piece of the trace."""
        try:
            self._add(piece)
        except OSError as trouble:
            raise self._refused(trouble) from trouble

    def _add(self, piece: Trace) -> None:
        self._told = told_by(piece, self._told)
        piece = _numbered(piece, self._told)
        if self._writer is None:
            self._writer = pq.ParquetWriter(self._part, schema_of(), **writing_options(piece))
        self._waiting.append(table_of(piece))
        while sum(table.num_rows for table in self._waiting) >= self._group:
            self._write_group()

    def _write_group(self) -> None:
        """Write what fills a row group, or all that waits if that is less."""
        waiting = pa.concat_tables(self._waiting)
        group, rest = waiting.slice(0, self._group), waiting.slice(self._group)
        if self._writer:
            self._writer.write_table(group.combine_chunks(), row_group_size=self._group)
        self._waiting = [rest] if rest.num_rows else []

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace_back: TracebackType | None
    ) -> None:
        try:
            if kind is None:
                self._close()
        except OSError as trouble:
            raise self._refused(trouble) from trouble
        finally:
            self._discard()

    def _close(self) -> None:
        if self._writer is None or self._told is None:
            raise ValueError("a working file needs at least one piece of a trace")
        if self._waiting:
            self._write_group()
        self._writer.add_key_value_metadata({KEY.decode(): header_as_json(header_told(self._told))})
        self._writer.close()
        self._writer = None
        self._part.replace(self._path)

    def _discard(self) -> None:
        """Leave nothing half written behind."""
        writer, self._writer = self._writer, None
        try:
            if writer is not None:
                writer.close()
        finally:
            self._part.unlink(missing_ok=True)

    def _refused(self, trouble: OSError) -> CannotWrite:
        reason = (trouble.strerror or str(trouble)).lower()
        return CannotWrite(str(self._path), reason=reason, remedy="Choose a folder with room that you may write to.")


def _numbered(piece: Trace, told: Told) -> Trace:
    """Return a piece under the section numbers of all pieces up to it."""
    swing = piece.swing_ratio
    if swing is not None and piece.sections != told.sections:
        swing = swing_renumbered(swing, piece.sections, told.sections)
    return replace(piece, sections_on=renumbered(piece.sections_on, piece.sections, told.sections), swing_ratio=swing)
