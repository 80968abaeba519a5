"""The map of a replay as files other programs open: GeoJSON and GeoParquet, both by their open standards.

Cells are squares, their rings counter-clockwise, longitude before latitude on WGS 84 (OGC:CRS84), the coordinates of
RFC 7946 and the default of GeoParquet 1.1.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wetrun.errors import NotDefined
from wetrun.fieldlog.earth import HALF_TURN_DEG, longitudes_latitudes
from wetrun.fieldlog.map_cells import NO_CLASS, MapCells
from wetrun.fieldlog.trace import CM2_PER_M2, Origin
from wetrun.papers.folder import write_all
from wetrun.spray.pattern import DropletClass

Fact = str | float | None

FORMAT_VERSION: Final = 1
GEOPARQUET_VERSION: Final = "1.1.0"
GEOMETRY: Final = "geometry"
SUFFIXES: Final = (".geojson", ".parquet")
DECIMALS: Final = 8  # a millimetre
RING: Final = ((0, 0), (1, 0), (1, 1), (0, 1), (0, 0))  # counter-clockwise and closed
NOTHING_ELSE: Final = re.compile(r"(?!)")

# Well-known binary of a polygon with one ring: byte order, kind, rings, points, then the points.
_WKB: Final = np.dtype(
    [("order", "u1"), ("kind", "<u4"), ("rings", "<u4"), ("points", "<u4"), ("ring", "<f8", (len(RING), 2))]
)
_LITTLE_ENDIAN, _POLYGON = 1, 3


def write_map(path: Path, cells: MapCells, origin: Origin | None, facts: Mapping[str, Fact]) -> Path:
    """Write a map, as GeoJSON or GeoParquet by the file's ending.

    Parameters
    ----------
    path : Path
        Where to.
    cells : MapCells
        The map.
    origin : Origin or None
        Where on Earth the cells are.
    facts : mapping of str to str or number
        What the map is of: log, pass, tip, rate, lag, method.

    Returns
    -------
    Path
        The same.

    Raises
    ------
    NotDefined
        Another ending, or a log whose place on Earth is not known.
    CannotWrite
        With the reason; nothing half-written is left.
    """
    if path.suffix not in SUFFIXES:
        remedy = f"Let its name end in {' or '.join(SUFFIXES)}."
        raise NotDefined(f"a map written as “{path.name}”", reason="its ending is not known", remedy=remedy)
    if origin is None:
        remedy = "Export longitude and latitude as well, or read the log from before they were shifted."
        raise NotDefined("a map", reason="the log does not say where on Earth it is", remedy=remedy)
    content = geojson(cells, origin, facts) if path.suffix == ".geojson" else geoparquet(cells, origin, facts)
    write_all(path.parent, {path.name: content}, replaces=NOTHING_ELSE)
    return path


def geojson(cells: MapCells, origin: Origin, facts: Mapping[str, Fact]) -> bytes:
    """Return a map as a GeoJSON feature collection (RFC 7946).

    Parameters
    ----------
    cells : MapCells
        The map.
    origin : Origin
        Where on Earth it is.
    facts : mapping of str to str or number
        What the map is of.

    Returns
    -------
    bytes
        UTF-8.
    """
    rings = np.round(_rings(cells, origin), DECIMALS)
    columns = _columns(cells)
    names = list(columns)
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Polygon", "coordinates": [ring]},
            "properties": dict(zip(names, row, strict=True)),
        }
        for ring, *row in zip(rings.tolist(), *columns.values(), strict=True)
    ]
    whole = {
        "type": "FeatureCollection",
        "format_version": FORMAT_VERSION,
        "about": {**facts, "cell_m": cells.cell_m},
        "bbox": _box(rings),
        "features": features,
    }
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def geoparquet(cells: MapCells, origin: Origin, facts: Mapping[str, Fact]) -> bytes:
    """Return a map as GeoParquet 1.1.

    Parameters
    ----------
    cells : MapCells
        The map.
    origin : Origin
        Where on Earth it is.
    facts : mapping of str to str or number
        What the map is of.

    Returns
    -------
    bytes
        The file.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    rings = _rings(cells, origin)
    wkb = np.zeros(len(rings), dtype=_WKB)
    wkb["order"], wkb["kind"], wkb["rings"], wkb["points"] = _LITTLE_ENDIAN, _POLYGON, 1, len(RING)
    wkb["ring"] = rings
    geo = {
        "version": GEOPARQUET_VERSION,
        "primary_column": GEOMETRY,
        "columns": {
            GEOMETRY: {
                "encoding": "WKB",
                "geometry_types": ["Polygon"],
                "orientation": "counterclockwise",
                "edges": "planar",
                "bbox": _box(rings),
            }
        },
    }
    about = {"format_version": FORMAT_VERSION, **facts, "cell_m": cells.cell_m}
    table = pa.table({GEOMETRY: pa.array([one.tobytes() for one in wkb], pa.binary()), **_columns(cells)})
    table = table.replace_schema_metadata({"geo": json.dumps(geo), "wetrun": json.dumps(about)})
    opened = io.BytesIO()
    pq.write_table(table, opened)
    return opened.getvalue()


def _columns(cells: MapCells) -> dict[str, list[Any]]:
    """What is told of each cell, as plain values."""
    letters = {one.value: one.letters for one in DropletClass}
    return {
        "rate_ratio": np.round(cells.rate_ratio, 4).tolist(),
        "area_m2": (cells.area_cm2 / CM2_PER_M2).tolist(),
        "time_s": np.round(cells.time_s, 3).tolist(),
        "finest_class": [None if code == NO_CLASS else letters[code] for code in cells.finest.tolist()],
        "out_of_range": cells.out_of_range.tolist(),
    }


def _rings(cells: MapCells, origin: Origin) -> NDArray[np.float64]:
    """Corners of every cell as longitude and latitude [cells, 5, 2], in degrees."""
    across, along = np.array(RING).T
    east_m = (cells.column[:, np.newaxis] + across) * cells.cell_m
    north_m = (cells.row[:, np.newaxis] + along) * cells.cell_m
    longitude, latitude = longitudes_latitudes(east_m, north_m, origin)
    # A cell on the date line keeps to the side of its west edge, and ends there.
    over = longitude < longitude[:, :1] - HALF_TURN_DEG
    return np.stack([np.where(over, HALF_TURN_DEG, longitude), latitude], axis=-1)


def _box(rings: NDArray[np.float64]) -> list[float]:
    """West, south, east and north end of all cells."""
    low, high = rings.min(axis=(0, 1)), rings.max(axis=(0, 1))
    return [*low.tolist(), *high.tolist()]
