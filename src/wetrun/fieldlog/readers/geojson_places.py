"""Where a GeoJSON feature is: a point, a line of points in time, or a patch of ground.

References
----------
rfc-7946
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.fieldlog.readers.patch_shapes import middles_and_areas

NOWHERE: Final = (float("nan"), float("nan"))
TIMES: Final = ("coordTimes", "times")
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class FeaturePlaces:
    """The places of one feature, and the area of a patch in square degrees, None for points.

    ``times`` are those of a line's points, none where it has none. ``several`` says that one middle stands for many
    points, ``strange`` that the geometry is none that is read here.
    """

    places: tuple[Place, ...]
    area: float | None = None
    times: tuple[str, ...] = ()
    several: bool = False
    strange: bool = False


NO_PLACE: Final = FeaturePlaces((NOWHERE,))
STRANGE: Final = FeaturePlaces((NOWHERE,), strange=True)


def places_in(geometry: object, properties: dict[str, object]) -> FeaturePlaces:
    """Return where a feature is.

    Example
    -------
    >>> places_in({"type": "Point", "coordinates": [-101.5, 46.0, 12.0]}, {}).places
    ((-101.5, 46.0),)
    """
    if not isinstance(geometry, dict):
        return NO_PLACE
    kind, coordinates = geometry.get("type"), geometry.get("coordinates")
    if kind == "Point":
        return FeaturePlaces((_place(coordinates),))
    if isinstance(coordinates, list) and kind in ("LineString", "MultiPoint"):
        return _several(coordinates, _times(properties, len(coordinates)), line=kind == "LineString")
    if isinstance(coordinates, list) and kind in ("Polygon", "MultiPolygon"):
        return _patch([coordinates] if kind == "Polygon" else coordinates)
    return STRANGE


def _place(position: object) -> Place:
    match position:
        case [float(east), float(north), *_]:
            return east, north
    return NOWHERE


def _times(properties: dict[str, object], count: int) -> tuple[str, ...]:
    """Return the times of a line's points, where the properties hold one for each."""
    inner = properties.get("coordinateProperties")
    for holder in (properties, inner if isinstance(inner, dict) else {}):
        for name in TIMES:
            times = holder.get(name)
            if isinstance(times, list) and len(times) == count:
                return tuple(time if isinstance(time, str) else "" for time in times)
    return ()


def _several(coordinates: list[object], times: tuple[str, ...], *, line: bool) -> FeaturePlaces:
    """Return the points of a line in time, else the middle of several points; a line without times tells no when."""
    places = tuple(_place(one) for one in coordinates)
    if times and places:
        return FeaturePlaces(places, times=times)
    if line or not places:
        return STRANGE
    with np.errstate(all="ignore"):
        middle = np.mean(np.array(places), axis=0).tolist()
    return FeaturePlaces(((middle[0], middle[1]),), several=len(places) > 1)


def _patch(polygons: list[object]) -> FeaturePlaces:
    """Return middle and area of polygons, whichever way round their rings are written: the first is the outside."""
    total, east, north = 0.0, 0.0, 0.0
    for polygon in polygons:
        for nth, ring in enumerate(polygon if isinstance(polygon, list) else []):
            places = [_place(one) for one in ring] if isinstance(ring, list) else []
            if len(places) < 3:
                continue
            x, y, area = middles_and_areas(np.array([places]), np.zeros((1, 1), dtype=np.int64))
            part = float(area[0]) * (-1 if nth else 1)
            total, east, north = total + part, east + part * float(x[0]), north + part * float(y[0])
    if not 0 < total < math.inf:
        return FeaturePlaces((NOWHERE,), area=float("nan"))
    return FeaturePlaces(((east / total, north / total),), area=total)
