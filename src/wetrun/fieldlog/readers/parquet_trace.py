"""The working format: a trace as one Parquet file, read back bit for bit, whole or in pieces (docs/adr/0012)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.parquet_checks import Source, damaged, decoder, is_parquet, opened, refusing
from wetrun.fieldlog.readers.working_columns import BIT_SET, COLUMNS, INSTANTS_PER_GROUP, SWING, SWING_VALUES, swing_in
from wetrun.fieldlog.readers.working_header import KEY, HeaderError, WorkingHeader, header_from_json
from wetrun.fieldlog.trace import Trace

FORMAT: Final = "Wetrun working file"
MOST_INSTANTS: Final = 1 << 34
PHYSICAL: Final = {BIT_SET: "INT64"}

Arrays = dict[str, np.ndarray[Any, np.dtype[Any]]]


@dataclass(frozen=True, slots=True)
class WorkingFile:
    """A working file whose footer was checked, and what its header says."""

    name: str
    source: Source
    header: WorkingHeader
    footer: pq.FileMetaData

    @property
    def instants(self) -> int:
        """How many instants it holds."""
        return int(self.footer.num_rows)

    @property
    def groups(self) -> int:
        """How many row groups they are in."""
        return int(self.footer.num_row_groups)

    @property
    def columns(self) -> tuple[str, ...]:
        """The names of the columns its trace is made of."""
        return (*COLUMNS, SWING) if self.header.swing else tuple(COLUMNS)

    def parquet(self) -> pq.ParquetFile:
        """Return the file opened once more, for a thread of its own; its footer is not read again."""
        return decoder(self.source, self.footer)


def sniff(source: Source) -> bool:
    """Return whether a file is a working file, by its content. Never raises."""
    if not is_parquet(source):
        return False
    try:
        return KEY in (opened(source, "", MOST_INSTANTS).metadata.metadata or {})
    except LogRefused:
        return False


def working_file(source: Source, name: str = "") -> WorkingFile:
    """Return a working file, checked but for its values.

    Raises
    ------
    LogRefused
        When it is none, damaged, or written by a later version.
    """
    name = name or (source.name if isinstance(source, Path) else "")
    parquet = opened(source, name, MOST_INSTANTS)
    with refusing(name):
        metadata = parquet.metadata
        text = (metadata.metadata or {}).get(KEY)
        if text is None:
            remedy = "Convert the log it was made from: wetrun log convert"
            raise LogRefused(name, place="", reason="this Parquet file is not a working file", remedy=remedy)
        header = _header(text, name)
        _check_columns(metadata, header, name)
        return WorkingFile(name, source, header, metadata)


def pieces_in(file: WorkingFile, instants: int = INSTANTS_PER_GROUP) -> Iterator[Trace]:
    """Yield the trace in pieces of at most so many instants, in order; each tells of the whole, and says so.

    Raises
    ------
    LogRefused
        When a piece turns out to be damaged.
    """
    for arrays in arrays_in(file, file.columns, instants=instants):
        yield _trace(file, arrays, told_of_whole=True)


def trace_in(source: Source, name: str = "") -> Trace:
    """Return the whole trace of a working file.

    Raises
    ------
    LogRefused
        When it cannot be used.
    """
    file = working_file(source, name)
    parts = list(arrays_in(file, file.columns))
    none = {name: np.empty(0, np.int64 if unit == BIT_SET else np.float64) for name, unit in COLUMNS.items()}
    none[SWING] = np.empty((0, len(file.header.sections)), np.float32)
    return _trace(file, {name: np.concatenate([none[name], *(part[name] for part in parts)]) for name in file.columns})


def arrays_in(
    file: WorkingFile,
    columns: Sequence[str],
    *,
    instants: int = INSTANTS_PER_GROUP,
    groups: Sequence[int] | None = None,
    parquet: pq.ParquetFile | None = None,
) -> Iterator[Arrays]:
    """Yield some columns as arrays, batch by batch, of all row groups or of some.

    Raises
    ------
    LogRefused
        When the file turns out to be damaged.
    """
    with refusing(file.name):
        parquet = parquet or file.parquet()
        chosen = list(range(file.groups)) if groups is None else list(groups)
        expected = sum(parquet.metadata.row_group(number).num_rows for number in chosen)
        batches = parquet.iter_batches(instants, row_groups=chosen, columns=list(columns), use_threads=False)
        for batch in batches if expected else ():
            expected -= batch.num_rows
            yield _arrays(batch, columns, file)
        if expected:
            raise damaged(file.name, f"{abs(expected)} instants are missing or too many")


def _arrays(batch: pa.RecordBatch, columns: Sequence[str], file: WorkingFile) -> Arrays:
    """Return the columns of a batch, all but the swing ratios without copying them."""
    if any(column.null_count for column in batch.columns):
        raise damaged(file.name, "a column has empty places")
    return {
        name: swing_in(batch.column(name), len(file.header.sections))
        if name == SWING
        else batch.column(name).to_numpy(zero_copy_only=True)
        for name in columns
    }


def _trace(file: WorkingFile, arrays: Arrays, *, told_of_whole: bool = False) -> Trace:
    header, columns = file.header, {**arrays}
    swing_ratio = columns.pop(SWING, None)
    return Trace(
        **columns,
        full_width_m=header.full_width_m,
        sections=header.sections,
        facts=header.facts,
        origin=header.origin,
        swing_ratio=swing_ratio,
        told_of_whole=told_of_whole,
    )


def _header(text: bytes, name: str) -> WorkingHeader:
    try:
        return header_from_json(text)
    except HeaderError as wrong:
        remedy = "Use the newer Wetrun that wrote it, or convert the log again"
        raise LogRefused(name, place="", reason=str(wrong), remedy=remedy) from wrong


def _check_columns(metadata: pq.FileMetaData, header: WorkingHeader, name: str) -> None:
    columns = {
        metadata.schema.column(number).path: metadata.schema.column(number) for number in range(metadata.num_columns)
    }
    # Physical type, and how deep its values and lists may nest.
    kinds = {column: (PHYSICAL.get(unit, "DOUBLE"), 0) for column, unit in COLUMNS.items()}
    if header.swing:
        kinds[SWING_VALUES] = ("FLOAT", 1)
    for column, (kind, depth) in kinds.items():
        found = columns.get(column)
        if (
            found is None
            or found.physical_type != kind
            or (found.max_definition_level, found.max_repetition_level) != (depth, depth)
        ):
            raise damaged(name, f"column {column.partition('.')[0]} is missing or not of the kind it must be")
