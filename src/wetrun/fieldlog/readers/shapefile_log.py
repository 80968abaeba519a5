"""Shapefiles, loose or zipped: points as a log, polygons as an as-applied map.

A shapefile is a set: shapes (``.shp``), an index (``.shx``), a table of values (``.dbf``), the projection (``.prj``)
and the code page (``.cpg``). The shapes alone are needed; what else is missing or does not fit is told. The index is
only held against the shapes: every place it holds follows from the shapes themselves.

Own decoding of the two fixed tables rather than a library: see ADR 0011.

References
----------
esri-shapefile-1998, dbase-3
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Annotated, Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.column_logs import logs_of_table
from wetrun.fieldlog.readers.column_table import ColumnTable, NamedColumn, roles_of
from wetrun.fieldlog.readers.dbase_table import DbaseTable, code_page, columns_of, table_head
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.map_grid import GridPlaces, areas_m2, grid_places
from wetrun.fieldlog.readers.mapping import check_columns_exist
from wetrun.fieldlog.readers.patch_map import map_of_table
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, Progress, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.shape_records import Shapes, is_shapes, shapes_in
from wetrun.fieldlog.trace import Doubt, FloatArray, Repair
from wetrun.units import SQUARE_METRE

FORMAT: Final = "shapefile"
ENDINGS: Final = (".shp", ".shx", ".dbf", ".prj", ".cpg", ".sbn", ".sbx", ".qix", ".qpj", ".shp.xml")
FIRST_BYTES: Final = 32
INDEX_HEAD: Final = 100
INDEX_ENTRY: Final = 8
# Share of the work that reading the shapes is; the rest is the table of values.
SHAPES_FRAC: Final = 0.3


@dataclass(slots=True)
class _Notes:
    """What reading put right, and what stays open."""

    repairs: list[Repair] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)

    def repair(self, kind: str, count: int, words: str) -> None:
        if count:
            self.repairs.append(Repair(kind, count, 0.0, words))


def sniff(file: SentFile) -> bool:
    """Return whether a file holds the shapes of a shapefile."""
    return is_shapes(file.head(FIRST_BYTES)) and not file.base.endswith(".shx")


def companions(file: SentFile) -> frozenset[str]:
    """Return the names of the files beside the shapes that belong to them."""
    return frozenset(file.stem + ending for ending in ENDINGS)


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return the log or the map that a shapefile holds.

    Raises
    ------
    LogRefused
        When the shapes cannot be used: where, why, and what to do.
    InputProblems
        When the mapping names columns the table does not have.
    """
    table, area_m2 = table_in(file, request)
    return logs_of_table(table, request) if area_m2 is None else map_of_table(table, area_m2, request)


def table_in(file: SentFile, request: ReadRequest) -> tuple[ColumnTable, Annotated[FloatArray, SQUARE_METRE] | None]:
    """Return the columns of a shapefile that mean something here, and the area of its patches [m2], None for points.

    Raises
    ------
    LogRefused
        When the shapes cannot be used.
    InputProblems
        When the mapping names columns the table does not have.
    """
    shapes = shapes_in(file, progress=_share(request.progress, 0.0, SHAPES_FRAC))
    if not shapes.x.size:
        raise LogRefused(file.name, place="", reason="there is no shape in it", remedy="Export the log again")
    notes = _Notes()
    _note_shapes(notes, shapes)
    _note_index(notes, file, shapes.x.size)
    values = _values_beside(notes, file)
    rows = _paired(notes, shapes.x.size, values)
    prj = file.beside(".prj")
    stated = prj.head(1 << 17).decode("utf-8", errors="replace") if prj else None
    places = grid_places(shapes.x[:rows], shapes.y[:rows], stated, file=file.name)
    notes.doubts += places.doubts
    columns, there = _columns(notes, values, places, request)
    if not there.any():
        raise LogRefused(
            file.name, place="", reason="all its rows are marked as deleted", remedy="Export the log again"
        )
    words = "polygon" if shapes.area is not None else "point"
    table = ColumnTable(
        file.name, f"{words} {FORMAT}", int(there.sum()), columns, tuple(notes.repairs), tuple(notes.doubts)
    )
    return table, None if shapes.area is None else areas_m2(shapes.area[:rows], places)[there]


def _note_shapes(notes: _Notes, shapes: Shapes) -> None:
    notes.repair("several points", shapes.several, "records of several points were told by their middle")
    notes.repair("empty shape", shapes.empty, "records without a shape have no position")
    notes.repair("damaged shape", shapes.damaged, "records whose shape is damaged or of another type have no position")
    if shapes.lost_bytes:
        words = f"The shapes break off: of the last {shapes.lost_bytes:,} bytes no record can be made"
        notes.doubts.append(Doubt(words, "Copy the log from the terminal again"))


def _note_index(notes: _Notes, file: SentFile, count: int) -> None:
    index = file.beside(".shx")
    if index is None:
        words = f"The index (.shx) of {file.name} is missing: the shapes were read in the order they stand in"
        notes.doubts.append(Doubt(words, "Nothing to do; other programs may refuse it"))
    elif (listed := max(index.size - INDEX_HEAD, 0) // INDEX_ENTRY) != count:
        words = f"The index (.shx) of {file.name} lists {listed:,} shapes, there are {count:,}: all of these were read"
        notes.doubts.append(Doubt(words, "Copy the log from the terminal again if records are missing"))


def _values_beside(notes: _Notes, file: SentFile) -> DbaseTable | None:
    """Return the table of values; None where there is none that can be read, which is told."""
    beside = file.beside(".dbf")
    remedy = "Send all files of the shapefile together: times, widths and rates are in the .dbf"
    if beside is None:
        notes.doubts.append(
            Doubt(f"The table of values (.dbf) of {file.name} is missing: only places are known", remedy)
        )
        return None
    encoding, doubt = code_page(file.beside(".cpg"))
    try:
        table = table_head(beside, encoding=encoding)
    except LogRefused as refused:
        notes.doubts.append(Doubt(f"{beside.name} cannot be used: {refused.reason}; only places are known", remedy))
        return None
    notes.doubts += [*table.doubts, *([doubt] if doubt else [])]
    if not table.rows:
        notes.doubts.append(Doubt(f"{beside.name} cannot be used: it has no rows; only places are known", remedy))
    return table if table.rows else None


def _paired(notes: _Notes, shapes: int, values: DbaseTable | None) -> int:
    """Return how many records have both a shape and a row of values."""
    if values is None or values.rows == shapes:
        return shapes
    rows = min(values.rows, shapes)
    words = f"There are {shapes:,} shapes and {values.rows:,} rows of values: the first {rows:,} of both were read"
    notes.doubts.append(Doubt(words, "Export the log again: values may stand beside the wrong places"))
    return rows


def _columns(
    notes: _Notes, values: DbaseTable | None, places: GridPlaces, request: ReadRequest
) -> tuple[tuple[NamedColumn, ...], np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Return the columns that mean something here, places among them, without rows marked as deleted."""
    rows = places.square_m2.size
    there = np.ones(rows, dtype=np.bool_)
    if values is None:
        if request.mapping:
            check_columns_exist(request.mapping, (), log=places.columns[0].name)
        return places.columns, there
    # Columns without a meaning are not even decoded: names, farms and serial numbers stay where they are.
    empty = [NamedColumn(name, np.zeros(0)) for name in values.names]
    header = ColumnTable(values.file.name, FORMAT, 0, (*empty, *_stated(places)))
    if request.mapping:
        check_columns_exist(request.mapping, values.names, log=values.file.name)
    named = {role.column for role in roles_of(header, request.mapping).values()}
    decoded = columns_of(values, sorted(named), rows=rows, progress=_share(request.progress, SHAPES_FRAC, 1.0))
    there = ~decoded.deleted
    notes.repair("deleted row", int(decoded.deleted.sum()), "rows marked as deleted were left out")
    notes.repair("no value", decoded.starred, "cells full of asterisks hold no number")
    notes.repair("unreadable text", decoded.undecodable, "texts are not in the stated code page")
    kept = (*decoded.columns, *_stated(places))
    return tuple(NamedColumn(one.name, _kept(one.values, there), one.unit, one.meaning) for one in kept), there


def _stated(places: GridPlaces) -> tuple[NamedColumn, ...]:
    """Return the places of the shapes, none where not one shape has a place, so that columns of degrees may serve."""
    return places.columns if any(np.isfinite(one.values).any() for one in places.columns) else ()


def _kept(values: FloatArray | object, there: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> FloatArray | list[str]:
    if isinstance(values, np.ndarray):
        return np.asarray(values[there])
    assert isinstance(values, list)  # noqa: S101 - what the table of values hands over
    return values if there.all() else [cell for cell, kept in zip(values, there.tolist(), strict=True) if kept]


def _share(progress: Progress | None, begin: float, end: float) -> Callable[[float], None] | None:
    """Return what tells the progress of one part of the work, from one share of the whole to another."""
    if progress is None:
        return None
    return lambda share: progress(begin + (end - begin) * share)
