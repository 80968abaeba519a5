"""Longitude and latitude as metres from the first fix."""

from __future__ import annotations

from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.record_facts import Positions
from wetrun.fieldlog.trace import FloatArray, Origin
from wetrun.units import METRE, RADIAN, M, Rad

# Mean radius of the Earth (IUGG R1); only short differences of position are taken, so the sphere is near enough.
EARTH_RADIUS_M: Final[M] = 6_371_008.8
FARTHEST_RAD: Final[Rad] = 0.01  # some 60 km in one step


def positions_on_earth(
    east_rad: Annotated[FloatArray, RADIAN], north_rad: Annotated[FloatArray, RADIAN], known: npt.NDArray[np.bool_]
) -> Positions:
    """Return positions from the first known one, each on the parallel of the first one before a jump beyond any field.

    Parameters
    ----------
    east_rad, north_rad
        Longitude and latitude [records] [rad].
    known
        Which of them are positions at all [records].
    """
    none = np.full(known.size, np.nan)
    if not known.any():
        return Positions(none, none, known)
    first = int(np.argmax(known))
    parallel_rad = _parallels(north_rad, east_rad, known)
    east_m = (east_rad - east_rad[first]) * np.cos(parallel_rad) * EARTH_RADIUS_M
    north_m = (north_rad - north_rad[first]) * EARTH_RADIUS_M
    origin = Origin(float(east_rad[first]), float(north_rad[first]))
    return Positions(np.where(known, east_m, np.nan), np.where(known, north_m, np.nan), known, origin)


def positions_in_metres(
    east_m: Annotated[FloatArray, METRE], north_m: Annotated[FloatArray, METRE], known: npt.NDArray[np.bool_]
) -> Positions:
    """Return positions of a flat grid [records] [m] from the first known one; where on Earth that is stays unknown."""
    if not known.any():
        none = np.full(known.size, np.nan)
        return Positions(none, none, known)
    first = int(np.argmax(known))
    return Positions(
        np.where(known, east_m - east_m[first], np.nan), np.where(known, north_m - north_m[first], np.nan), known
    )


def _parallels(north_rad: FloatArray, east_rad: FloatArray, known: npt.NDArray[np.bool_]) -> FloatArray:
    places = np.flatnonzero(known)
    far = np.maximum(np.abs(np.diff(north_rad[places])), np.abs(np.diff(east_rad[places]))) > FARTHEST_RAD
    begins = places[np.concatenate([[True], far])]
    stretch = np.searchsorted(begins, np.arange(north_rad.size), side="right") - 1
    parallel_rad: FloatArray = north_rad[begins[np.maximum(stretch, 0)]]
    return parallel_rad
