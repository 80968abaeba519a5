"""Columns of any Parquet file as named columns: numbers, texts and clocks; only those that can mean something here.

Columns nobody asked for – names, addresses, serial numbers – are never decoded. Nested columns are left alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from pyarrow import types

from wetrun.fieldlog.readers.column_table import ColumnTable, NamedColumn
from wetrun.fieldlog.readers.columns import roles_in
from wetrun.fieldlog.readers.geo_metadata import PAIRS, WKB, GeoColumn, degrees_of, geo_column_in
from wetrun.fieldlog.readers.log_units import known_unit
from wetrun.fieldlog.readers.mapping import ColumnMapping, check_columns_exist
from wetrun.fieldlog.readers.parquet_checks import Source, decoder, refusing
from wetrun.fieldlog.readers.wkb_points import points_of
from wetrun.fieldlog.trace import Doubt, FloatArray, Repair

FORMAT: Final = "Parquet"
GEO_FORMAT: Final = "GeoParquet"
BATCH: Final = 1 << 16
UNIT: Final = b"unit"
TICKS: Final = {"s": 1.0, "ms": 1e3, "us": 1e6, "ns": 1e9}


def table_in(source: Source, footer: pq.FileMetaData, file: str, mapping: ColumnMapping | None) -> ColumnTable:
    """Return the columns of a Parquet file that mean something, with the places of its geometry column.

    Raises
    ------
    LogRefused
        When the file is damaged.
    InputProblems
        When the mapping names columns the file does not have.
    """
    with refusing(file):
        schema = decoder(source, footer).schema_arrow
        geo = _geometry(schema)
        usable = [field for field in schema if _is_usable(field.type)]
    header = tuple(field.name for field in usable)
    if mapping:
        check_columns_exist(mapping, header, log=file)
    wanted = sorted((role.index, meaning) for meaning, role in roles_in(header, mapping).items())
    if geo:
        wanted = [one for one in wanted if one[1] not in ("longitude", "latitude")]
    with refusing(file):
        names = [*(header[index] for index, _ in wanted), *([geo.name] if geo else [])]
        parts = _read(decoder(source, footer, [name for name in names if _may_be_long(schema.field(name).type)]), names)
        columns = [_named(usable[index], parts[header[index]], meaning) for index, meaning in wanted]
    rows = footer.num_rows
    if not geo:
        return ColumnTable(file, FORMAT, rows, tuple(columns))
    places, repairs, doubts = _places(parts[geo.name], geo)
    return ColumnTable(file, GEO_FORMAT, rows, (*columns, *places), repairs, doubts)


def _is_usable(kind: pa.DataType) -> bool:
    return bool(
        types.is_integer(kind) or types.is_floating(kind) or types.is_decimal(kind) or types.is_temporal(kind)
    ) or _is_text(kind)


def _is_text(kind: pa.DataType) -> bool:
    kind = kind.value_type if types.is_dictionary(kind) else kind
    return bool(types.is_string(kind) or types.is_large_string(kind))


def _may_be_long(kind: pa.DataType) -> bool:
    return bool(types.is_string(kind) or types.is_binary(kind))


def _geometry(schema: pa.Schema) -> GeoColumn | None:
    """Return the geometry column if it is there once and of the type its encoding needs."""
    geo = geo_column_in(schema.metadata)
    if geo is None or len(schema.get_all_field_indices(geo.name)) != 1:
        return None
    kind = schema.field(geo.name).type
    if geo.encoding == WKB:
        return geo if types.is_binary(kind) or types.is_large_binary(kind) else None
    pairs = geo.encoding == PAIRS and types.is_struct(kind) and {"x", "y"} <= {field.name for field in kind}
    good = pairs and types.is_float64(kind.field("x").type) and types.is_float64(kind.field("y").type)
    return geo if good else None


def _read(parquet: pq.ParquetFile, names: Sequence[str]) -> dict[str, list[pa.Array]]:
    """Return the batches of some columns."""
    found: dict[str, list[pa.Array]] = {name: [] for name in names}
    rows = 0
    for batch in parquet.iter_batches(BATCH, columns=list(names), use_threads=False) if names else ():
        rows += batch.num_rows
        for name in names:
            found[name].append(batch.column(name))
    if names and rows != parquet.metadata.num_rows:
        raise ValueError(f"{rows} rows of {parquet.metadata.num_rows}")
    return found


def _named(field: pa.Field, parts: list[pa.Array], meaning: str) -> NamedColumn:
    """Return a column of numbers or texts, its unit where the field's metadata state one that is known."""
    stated = (field.metadata or {}).get(UNIT, b"").decode("utf-8", "replace")
    unit = known_unit(meaning, stated) or ""
    if _is_text(field.type):
        return NamedColumn(field.name, [text for part in parts for text in _texts(part)], unit)
    if types.is_temporal(field.type):
        seconds = np.concatenate([np.empty(0), *(_seconds(part) for part in parts)])
        return NamedColumn(field.name, seconds, "s", meaning if meaning == "time" else "")
    return NamedColumn(field.name, np.concatenate([np.empty(0), *(_numbers(part) for part in parts)]), unit)


def _numbers(part: pa.Array) -> FloatArray:
    values: FloatArray = part.cast(pa.float64(), safe=False).to_numpy(zero_copy_only=False)
    return values


def _texts(part: pa.Array) -> list[str]:
    """Return texts; those of a dictionary are made once, however often they stand there."""
    if types.is_dictionary(part.type):
        words = [word or "" for word in part.dictionary.to_pylist()]
        places = part.indices.fill_null(-1).to_numpy(zero_copy_only=False)
        return [words[place] if place >= 0 else "" for place in places]
    return [text or "" for text in part.to_pylist()]


def _seconds(part: pa.Array) -> FloatArray:
    """Return moments, times of day or durations in seconds; days where there is no clock."""
    kind = part.type
    ticks = TICKS[kind.unit] if hasattr(kind, "unit") else (1 / 86400 if types.is_date32(kind) else 1e3)
    whole = part.cast(pa.int32()) if types.is_date32(kind) or types.is_time32(kind) else part
    return _numbers(whole.cast(pa.int64())) / ticks


def _places(parts: list[pa.Array], geo: GeoColumn) -> tuple[list[NamedColumn], tuple[Repair, ...], tuple[Doubt, ...]]:
    """Return longitude and latitude, none where the map grid is not understood, and what was no point."""
    if geo.encoding == WKB:
        x, y, other = _points(parts)
    else:
        x, y = (np.concatenate([np.empty(0), *(_numbers(part.field(axis)) for part in parts)]) for axis in ("x", "y"))
        other = 0
    words = f"geometries in {geo.name} that are no points were left out"
    repairs = (Repair("no point", other, 0.0, words),) if other else ()
    degrees = degrees_of(x, y, geo)
    if degrees is None:
        words = f"The map grid of column {geo.name} is not understood; its places are not used"
        return [], repairs, (Doubt(words, "Export it in longitude and latitude (WGS 84)"),)
    named = zip(("longitude", "latitude"), degrees, strict=True)
    return [NamedColumn(f"{geo.name} {word}", values, "deg", word) for word, values in named], repairs, ()


def _points(parts: list[pa.Array]) -> tuple[FloatArray, FloatArray, int]:
    """Return x and y of geometries, nan where there is no point, and how many are something else."""
    found, other = [np.empty((0, 2))], 0
    for part in parts:
        if not types.is_dictionary(part.type):
            x, y, odd = points_of(part.to_pylist())
            found.append(np.stack([x, y], axis=1))
            other += odd
            continue
        places = part.indices.fill_null(-1).to_numpy(zero_copy_only=False)
        used, of_row = np.unique(places, return_inverse=True)
        cells = [part.dictionary[int(place)].as_py() if place >= 0 else None for place in used]
        x, y, _ = points_of(cells)
        found.append(np.stack([x, y], axis=1)[of_row])
        other += int((np.array([cell is not None for cell in cells])[of_row] & np.isnan(x)[of_row]).sum())
    points = np.concatenate(found)
    return points[:, 0], points[:, 1], other
