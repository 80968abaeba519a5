"""A chunk of regular text turned into columns by a compiled parser; anything irregular is left to the slow way."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import pyarrow as pa
import pyarrow.csv as pa_csv

from wetrun.fieldlog.readers.clock import Clock
from wetrun.fieldlog.readers.column_table import MISSING, NOT_NUMBERS
from wetrun.fieldlog.readers.columns import ColumnRole
from wetrun.fieldlog.readers.text_table import LONGEST_LINE, TextTable
from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.units import SECOND

MICROSECONDS: Final = pa.timestamp("us")
NAMES: Final = pa.dictionary(pa.int32(), pa.string())
NULLS: Final = tuple({spelt for word in MISSING for spelt in (word, word.upper(), word.capitalize(), "NaN", "N/A")})
NEWLINE: Final = ord("\n")


@dataclass(frozen=True, slots=True)
class NamedRows:
    """Names, each once, and the place of each row's name among them [rows]."""

    names: tuple[str, ...]
    of_row: IntArray


@dataclass(frozen=True, slots=True)
class QuickBlock:
    """Columns of a chunk by meaning [rows], clock [s], names, and how many cells were infinite and count as missing."""

    rows: int
    numbers: dict[str, FloatArray]
    infinite: dict[str, int]
    time_s: Annotated[FloatArray, SECOND]
    named: dict[str, NamedRows]


def quick_block(
    chunk: bytes, table: TextTable, roles: Mapping[str, ColumnRole], clock: Clock | None
) -> QuickBlock | None:
    """Return the columns of whole lines of text, None where they are not regular enough to be sure of the same result.

    Parameters
    ----------
    chunk
        Whole lines, without the header.
    table
        Delimiter, decimal sign and number of columns.
    roles
        Which columns are wanted.
    clock
        How the time is read, None where it is not.
    """
    if table.delimiter == " " or not _regular(chunk):
        return None
    wanted = {role.index: meaning for meaning, role in roles.items() if clock or meaning != "time"}
    types = {str(index): _type_of(meaning, clock) for index, meaning in wanted.items()}
    if not types:
        return None
    try:
        read = pa_csv.read_csv(
            io.BytesIO(chunk),
            read_options=pa_csv.ReadOptions(column_names=[str(place) for place in range(len(table.header))]),
            parse_options=pa_csv.ParseOptions(delimiter=table.delimiter, quote_char=False),
            convert_options=pa_csv.ConvertOptions(
                column_types=types,
                include_columns=list(types),
                null_values=NULLS,
                decimal_point="," if table.decimal_comma else ".",
                timestamp_parsers=[pa_csv.ISO8601],
            ),
        )
    except (pa.ArrowInvalid, pa.ArrowKeyError):
        return None
    return _block_of(read, {meaning: str(index) for index, meaning in wanted.items()}, clock)


def _regular(chunk: bytes) -> bool:
    """Return whether lines end as usual, none is endless, and all is UTF-8."""
    if b"\0" in chunk or chunk.count(b"\r") != chunk.count(b"\r\n"):
        return False
    ends = np.flatnonzero(np.frombuffer(chunk, dtype=np.uint8) == NEWLINE)
    if np.diff(ends, prepend=-1, append=len(chunk)).max() >= LONGEST_LINE:
        return False
    if chunk.isascii():
        return True
    try:
        chunk.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _type_of(meaning: str, clock: Clock | None) -> pa.DataType:
    if meaning not in NOT_NUMBERS:
        return pa.float64()
    if meaning != "time" or clock is None:
        return NAMES
    if clock.of_numbers:
        return pa.float64()
    return pa.timestamp("us", tz="UTC") if clock.is_iso else NAMES


def _block_of(read: pa.Table, names: Mapping[str, str], clock: Clock | None) -> QuickBlock:
    numbers, infinite, named = {}, {}, {}
    for meaning, name in names.items():
        if meaning not in NOT_NUMBERS:
            values = _floats(read.column(name))
            beyond = np.isinf(values)
            numbers[meaning], infinite[meaning] = np.where(beyond, np.nan, values), int(beyond.sum())
        elif meaning != "time":
            named[meaning] = _names(read.column(name))
    time_s = np.full(read.num_rows, np.nan)
    if clock is not None and "time" in names:
        time_s = _seconds(read.column(names["time"]), clock)
    return QuickBlock(read.num_rows, numbers, infinite, time_s, named)


def _floats(column: pa.ChunkedArray) -> FloatArray:
    return np.asarray(column.to_numpy(), dtype=np.float64)


def _names(column: pa.ChunkedArray) -> NamedRows:
    whole = column.unify_dictionaries().combine_chunks()
    if isinstance(whole, pa.ChunkedArray):
        whole = whole.chunk(0)
    names = tuple(name or "" for name in whole.dictionary.to_pylist())
    return NamedRows(names, whole.indices.to_numpy(zero_copy_only=False).astype(np.int64))


def _seconds(column: pa.ChunkedArray, clock: Clock) -> FloatArray:
    if clock.of_numbers is not None:
        return clock.of_numbers(_floats(column))
    if clock.is_iso:
        moments = column.to_numpy()
        return np.where(np.isnat(moments), np.nan, moments.astype("datetime64[us]").astype(np.int64) / 1e6)
    texts = _names(column)
    return clock.seconds(texts.names)[texts.of_row]
