"""What the ``geo`` metadata of a GeoParquet file says: which column holds the places, and on which map grid.

References
----------
geoparquet-1.1
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from wetrun.fieldlog.trace import FloatArray

KEY: Final = b"geo"
WKB: Final = "wkb"
PAIRS: Final = "point"
WORLD: Final = ("World Geodetic System 1984", "WGS 84")
LONGEST_TEXT: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class GeoColumn:
    """The geometry column: how its places are put down, and its reference system (None: longitude and latitude)."""

    name: str
    encoding: str
    reference: dict[str, Any] | None


def geo_column_in(metadata: dict[bytes, bytes] | None) -> GeoColumn | None:
    """Return the main geometry column a file states, None where it states none that can be understood."""
    text = (metadata or {}).get(KEY, b"")
    try:
        stated = json.loads(text[:LONGEST_TEXT]) if text else {}
        name = stated["primary_column"]
        column = stated["columns"][name]
        encoding, reference = str(column["encoding"]).lower(), column.get("crs")
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    if not isinstance(name, str) or not isinstance(reference, dict | None):
        return None
    return GeoColumn(name, encoding, reference)


def degrees_of(x: FloatArray, y: FloatArray, column: GeoColumn) -> tuple[FloatArray, FloatArray] | None:
    """Return longitude and latitude in degrees, None where the reference system cannot be understood."""
    if column.reference is None:
        return x, y
    from pyproj import CRS, Transformer
    from pyproj.exceptions import ProjError

    try:
        grid = CRS.from_user_input(column.reference)
        if grid.is_geographic and grid.datum is not None and grid.datum.name.startswith(WORLD):
            return x, y
        to_earth = Transformer.from_crs(grid, CRS.from_epsg(4326), always_xy=True)
        east, north = to_earth.transform(x, y)
    except (ProjError, ValueError, TypeError, AttributeError, KeyError, RecursionError):
        return None
    off = ~(np.isfinite(east) & np.isfinite(north))
    return np.where(off, np.nan, east), np.where(off, np.nan, north)
