"""Points in well-known binary (OGC 06-103r4, ISO 19125): what a geometry column of a GeoParquet file holds.

References
----------
ogc-06-103r4
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from typing import Final

import numpy as np

from wetrun.fieldlog.trace import FloatArray

POINT: Final = 1
POINT_BYTES: Final = 21  # byte order, kind, x and y
KIND_MASK: Final = 0x0FFFFFFF  # upper bits say that a height, a measure or a reference number goes with it
WITH_REFERENCE: Final = 0x20000000
PER_DIMENSION: Final = 1000
PACKED: Final = np.dtype([("order", "u1"), ("kind", "<u4"), ("x", "<f8"), ("y", "<f8")])


def points_of(cells: Sequence[bytes | None]) -> tuple[FloatArray, FloatArray, int]:
    """Return x and y of each cell, nan where it holds no point, and how many held something else than a point.

    Example
    -------
    >>> x, y, other = points_of([struct.pack("<BIdd", 1, 1, 10.0, 50.0), None, b"no"])
    >>> x.tolist(), y.tolist(), other
    ([10.0, nan, nan], [50.0, nan, nan], 1)
    """
    plain = [cell is not None and len(cell) == POINT_BYTES for cell in cells]
    if cells and all(plain):
        packed = np.frombuffer(b"".join(cell for cell in cells if cell is not None), dtype=PACKED)
        if ((packed["order"] == 1) & (packed["kind"] == POINT)).all():
            return packed["x"].astype(np.float64), packed["y"].astype(np.float64), 0
    found = [_point(cell) for cell in cells]
    other = sum(one is None and cell is not None for one, cell in zip(found, cells, strict=True))
    points = np.array([one or (np.nan, np.nan) for one in found], dtype=np.float64).reshape(-1, 2)
    return points[:, 0], points[:, 1], other


def _point(cell: bytes | None) -> tuple[float, float] | None:
    if cell is None or len(cell) < POINT_BYTES or cell[0] > 1:
        return None
    order = "<" if cell[0] else ">"
    (kind,) = struct.unpack_from(order + "I", cell, 1)
    if (kind & KIND_MASK) % PER_DIMENSION != POINT:
        return None
    start = 9 if kind & WITH_REFERENCE else 5
    if len(cell) < start + 16:
        return None
    x, y = struct.unpack_from(order + "dd", cell, start)
    return x, y
