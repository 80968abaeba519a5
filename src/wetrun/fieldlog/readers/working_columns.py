"""The columns of the working format: one per column of a trace, its unit in the field's metadata, none ever null.

The swing ratio is a list for each instant, one number for each bit that was known when it was written; an empty list
where a trace has none, which takes no room.

How a column is put down is chosen by its first instants: few different values by a dictionary, values that repeat a
little as they are, values that never do with the bytes of equal weight together. All are then packed (docs/adr/0012).
"""

from __future__ import annotations

from dataclasses import fields
from typing import Annotated, Any, Final, get_args, get_origin, get_type_hints

import numpy as np
import pyarrow as pa

from wetrun.fieldlog.trace import SwingArray, Trace
from wetrun.units import RATIO, Unit

PACKING: Final = "zstd"
PACKING_LEVEL: Final = 1
INSTANTS_PER_GROUP: Final = 1 << 19
SAMPLE: Final = 1 << 16
FEW_DIFFERENT: Final = 1 / 16
HARDLY_REPEATED: Final = 3 / 4
BIT_SET: Final = "bit set"
BYTES_PER_VALUE: Final = 8
SWING: Final = "swing_ratio"
SWING_VALUES: Final = "swing_ratio.list.element"
WITH_ENDS: Final = ("time_s", "speed_mps", "width_m")


def _columns() -> dict[str, str]:
    """Return the array fields of a trace with the symbol of their unit."""
    found = {}
    hints = get_type_hints(Trace, include_extras=True)
    for part in fields(Trace):
        kind = hints[part.name]
        if get_origin(kind) is Annotated and isinstance(get_args(kind)[1], Unit):
            if get_args(kind)[0] is not float:
                found[part.name] = get_args(kind)[1].symbol
        elif get_origin(kind) is np.ndarray:
            found[part.name] = BIT_SET
    return found


COLUMNS: Final[dict[str, str]] = _columns()


def schema_of(metadata: dict[bytes, bytes] | None = None) -> pa.Schema:
    """Return the schema of a working file."""
    listed = [
        pa.field(
            name, pa.int64() if unit == BIT_SET else pa.float64(), nullable=False, metadata={b"unit": unit.encode()}
        )
        for name, unit in COLUMNS.items()
    ]
    ratios = pa.large_list(pa.field("element", pa.float32(), nullable=False))
    listed.append(pa.field(SWING, ratios, nullable=False, metadata={b"unit": RATIO.symbol.encode()}))
    return pa.schema(listed, metadata=metadata)


def table_of(trace: Trace) -> pa.Table:
    """Return the columns of a trace as a table that shares their memory."""
    columns = [pa.array(getattr(trace, name)) for name in COLUMNS]
    return pa.table([*columns, _lists(trace.swing_ratio, trace.time_s.size)], schema=schema_of())


def swing_in(lists: pa.Array, bits: int) -> SwingArray:
    """Return the swing ratios [instants, bits] [ratio] of a column of lists, nan where a list ends early.

    Raises
    ------
    ValueError
        When a list is longer than there are bits.
    """
    lengths = lists.value_lengths().to_numpy(zero_copy_only=False)
    values = lists.flatten().to_numpy(zero_copy_only=False)
    if lengths.size and lengths.max() > bits:
        raise ValueError(f"{lengths.max()} swing ratios at one instant of a boom with {bits} sections")
    swing = np.full((lengths.size, bits), np.nan, dtype=np.float32)
    swing[np.arange(bits) < lengths[:, np.newaxis]] = values
    return swing


def _lists(swing_ratio: SwingArray | None, instants: int) -> pa.Array:
    """Return the swing ratios as a list for each instant, empty ones where there are none."""
    swing = np.empty((instants, 0), dtype=np.float32) if swing_ratio is None else np.ascontiguousarray(swing_ratio)
    begins = np.arange(instants + 1, dtype=np.int64) * swing.shape[1]
    return pa.LargeListArray.from_arrays(begins, pa.array(swing.ravel()), type=schema_of().field(SWING).type)


def writing_options(trace: Trace) -> dict[str, Any]:
    """Return how the columns of a file that begins with this trace are put down."""
    different = {name: _different(getattr(trace, name)[:SAMPLE]) for name in COLUMNS}
    if trace.swing_ratio is not None:
        different[SWING_VALUES] = _different(trace.swing_ratio[:SAMPLE].ravel()[:SAMPLE])
    return {
        "use_dictionary": [name for name, share in different.items() if share <= FEW_DIFFERENT],
        "use_byte_stream_split": [name for name, share in different.items() if share > HARDLY_REPEATED],
        "compression": PACKING,
        "compression_level": PACKING_LEVEL,
        "write_statistics": list(WITH_ENDS),
        "write_page_checksum": True,
        "store_schema": True,
    }


def _different(values: np.ndarray[tuple[int], np.dtype[Any]]) -> float:
    """Return the share of values that differ from all before them, by their bits."""
    return float(np.unique(values.view(f"i{values.itemsize}")).size / max(values.size, 1))
