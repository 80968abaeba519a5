"""Small valid shapefiles and GeoJSON files, written by an independent library and by the standard library."""

from __future__ import annotations

import json
import random
import warnings
from collections.abc import Sequence
from pathlib import Path

import shapefile

UTM_12_NORTH = (
    'PROJCS["UTM_Zone_12_Northern_Hemisphere",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",'
    '6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["Degree",0.017453292519943295]],PROJECTION['
    '"Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",-111],PARAMETER['
    '"scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["Meter",1]]'
)
DEGREES = (
    'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137,298.257223563]],PRIMEM["Greenwich",0],'
    'UNIT["Degree",0.0174532925199433]]'
)
NORTH_DEG = 1 / 111_194.93  # one metre northward
FIELDS = (("IsoTime", "C", 24, 0), ("DISTANC_m", "N", 12, 3), ("SWATH_m", "N", 10, 3), ("TargtRt", "F", 14, 5))


def write_shapefile(
    stem: Path,
    shapes: Sequence[object],
    rows: Sequence[Sequence[object]],
    *,
    kind: int = shapefile.POINT,
    fields: Sequence[tuple[str, str, int, int]] = FIELDS,
    prj: str = DEGREES,
) -> list[Path]:
    """Write shapes (points as pairs, polygons as lists of rings, None for no shape) with their rows of values."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with shapefile.Writer(str(stem), shapeType=kind, encoding="utf-8") as writer:
            for name, letter, size, decimal in fields:
                writer.field(name, letter, size=size, decimal=decimal)
            for shape, row in zip(shapes, rows, strict=True):
                _put(writer, kind, shape)
                writer.record(*row)
    if prj:
        stem.with_suffix(".prj").write_text(prj, encoding="ascii")
    return [path for ending in (".shp", ".shx", ".dbf", ".prj") if (path := stem.with_suffix(ending)).exists()]


def _put(writer: shapefile.Writer, kind: int, shape: object) -> None:
    puts = {
        shapefile.POINT: writer.point, shapefile.POINTZ: writer.pointz, shapefile.POINTM: writer.pointm,
        shapefile.POLYGON: writer.poly, shapefile.POLYGONZ: writer.polyz, shapefile.MULTIPOINT: writer.multipoint,
    }  # fmt: skip
    if shape is None:
        writer.null()
    elif kind in (shapefile.POINT, shapefile.POINTZ, shapefile.POINTM):
        puts[kind](*shape)  # type: ignore[misc]
    else:
        puts[kind](shape)


def drive(count: int) -> tuple[list[tuple[float, float]], list[tuple[object, ...]]]:
    """A straight drive northward at 5 m/s, 0.2 s apart, 24 m wide, as points and rows of `FIELDS`."""
    points = [(10.0, 50 + nth * NORTH_DEG) for nth in range(count)]
    rows: list[tuple[object, ...]] = [
        (f"2031-05-01T10:{nth // 300:02}:{0.2 * (nth % 300):06.3f}Z", 1.0, 24.0, 100 + nth % 3) for nth in range(count)
    ]
    return points, rows


def square(east: float, north: float, side: float) -> list[list[tuple[float, float]]]:
    """A polygon of one ring, clockwise as shapefiles have it."""
    corners = [(0, 0), (0, side), (side, side), (side, 0), (0, 0)]
    return [[(east + right, north + up) for right, up in corners]]


def shapefile_set(folder: Path, chance: random.Random) -> list[Path]:
    """Points or polygons, in degrees or in metres of a grid, some without a shape."""
    count = chance.randint(20, 60)
    points, rows = drive(count)
    if chance.random() < 0.3:
        shapes = [square(500_000 + 20 * nth, 5_300_000.0, 20.0) for nth in range(count)]
        return write_shapefile(folder / "log", shapes, rows, kind=shapefile.POLYGON, prj=UTM_12_NORTH)
    kind = chance.choice([shapefile.POINT, shapefile.POINTZ, shapefile.POINTM])
    prj = chance.choice([DEGREES, UTM_12_NORTH, ""])
    if prj == UTM_12_NORTH:
        points = [(500_000.0, 5_300_000.0 + nth) for nth in range(count)]
    places: list[object] = [None if chance.random() < 0.05 else point for point in points]
    return write_shapefile(folder / "log", places, rows, kind=kind, prj=prj)


def geojson_file(folder: Path, chance: random.Random) -> list[Path]:
    """Points or polygons, as a collection or one feature a line."""
    points, rows = drive(chance.randint(20, 60))
    patches = chance.random() < 0.3
    features = [feature(place, row, patch=patches) for place, row in zip(points, rows, strict=True)]
    file = folder / "log.geojson"
    if chance.random() < 0.5:
        whole = {"type": "FeatureCollection", "name": "log", "features": features}
        file.write_text(json.dumps(whole, indent=chance.choice([None, 1])), encoding="utf-8")
    else:
        file.write_text("\n".join(json.dumps(one) for one in features) + "\n", encoding="utf-8")
    return [file]


def feature(place: tuple[float, float], row: Sequence[object], *, patch: bool = False) -> dict[str, object]:
    """A GeoJSON feature of a place and a row of `drive`."""
    geometry: dict[str, object] = {"type": "Point", "coordinates": list(place)}
    if patch:
        geometry = {"type": "Polygon", "coordinates": [[list(one) for one in square(*place, 2e-4)[0]]]}
    names = ("iso time", "distance_m", "width_m", "target rate (L/ha)")
    return {"type": "Feature", "geometry": geometry, "properties": dict(zip(names, row, strict=True))}
