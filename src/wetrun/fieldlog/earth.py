"""Metres from a first fix as longitude and latitude, the way back from what the readers do."""

from __future__ import annotations

from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.trace import FloatArray, Origin
from wetrun.units import METRE, M

# Mean radius of the Earth (IUGG R1); only short differences of position are taken, so the sphere is near enough.
EARTH_RADIUS_M: Final[M] = 6_371_008.8
HALF_TURN_DEG: Final = 180.0


def longitudes_latitudes(
    east_m: Annotated[FloatArray, METRE], north_m: Annotated[FloatArray, METRE], origin: Origin
) -> tuple[FloatArray, FloatArray]:
    """Return longitude and latitude in degrees (WGS 84, as the log's receiver gave them), any shape.

    Parameters
    ----------
    east_m, north_m
        Metres from the first fix [m], [m], same shape.
    origin
        Where on Earth that fix is.

    Notes
    -----
    On a sphere, with the parallel of the first fix: good to a metre within 20 km. Longitude stays within ±180 degrees.

    Example
    -------
    >>> longitude, latitude = longitudes_latitudes(np.array([0.0]), np.array([1111.95]), Origin(0.0, 0.0))
    >>> float(longitude[0]), round(float(latitude[0]), 4)
    (0.0, 0.01)
    """
    latitude = np.degrees(origin.latitude_rad + north_m / EARTH_RADIUS_M)
    longitude = np.degrees(origin.longitude_rad + east_m / (EARTH_RADIUS_M * np.cos(origin.latitude_rad)))
    return (longitude + HALF_TURN_DEG) % (2 * HALF_TURN_DEG) - HALF_TURN_DEG, latitude
