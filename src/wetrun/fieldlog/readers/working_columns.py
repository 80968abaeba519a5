"""The columns of the working format: one per column of a trace, its unit in the field's metadata, none ever null.

How a column is put down is chosen by its first instants: few different values by a dictionary, values that repeat a
little as they are, values that never do with the bytes of equal weight together. All are then packed (docs/adr/0012).
"""

from __future__ import annotations

from dataclasses import fields
from typing import Annotated, Any, Final, get_args, get_origin, get_type_hints

import numpy as np
import pyarrow as pa

from wetrun.fieldlog.trace import Trace
from wetrun.units import Unit

PACKING: Final = "zstd"
PACKING_LEVEL: Final = 1
INSTANTS_PER_GROUP: Final = 1 << 19
SAMPLE: Final = 1 << 16
FEW_DIFFERENT: Final = 1 / 16
HARDLY_REPEATED: Final = 3 / 4
BIT_SET: Final = "bit set"
BYTES_PER_VALUE: Final = 8
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
    return pa.schema(listed, metadata=metadata)


def table_of(trace: Trace) -> pa.Table:
    """Return the columns of a trace as a table that shares their memory."""
    return pa.table([pa.array(getattr(trace, name)) for name in COLUMNS], schema=schema_of())


def writing_options(trace: Trace) -> dict[str, Any]:
    """Return how the columns of a file that begins with this trace are put down."""
    different = {name: _different(getattr(trace, name)[:SAMPLE]) for name in COLUMNS}
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
    return float(np.unique(values.view(np.int64)).size / max(values.size, 1))
