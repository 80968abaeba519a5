"""Longitude and latitude as metres from the first fix."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.record_facts import Positions
from wetrun.fieldlog.trace import FloatArray, Origin
from wetrun.units import METRE, RADIAN, M, Rad

# Mean radius of the Earth (IUGG R1); only short differences of position are taken, so the sphere is near enough.
EARTH_RADIUS_M: Final[M] = 6_371_008.8
FARTHEST_RAD: Final[Rad] = 0.01  # some 60 km in one step


@dataclass(frozen=True, slots=True)
class Drawn:
    """Where the positions before a piece of a log left off: its first fix, the parallel in use, and the last fix."""

    first: Origin
    parallel_rad: Rad
    last: Origin


def positions_on_earth(
    east_rad: Annotated[FloatArray, RADIAN],
    north_rad: Annotated[FloatArray, RADIAN],
    known: npt.NDArray[np.bool_],
    before: Drawn | None = None,
) -> Positions:
    """Return positions from the first known one, each on the parallel of the first one before a jump beyond any field.

    Parameters
    ----------
    east_rad, north_rad
        Longitude and latitude [records] [rad].
    known
        Which of them are positions at all [records].
    before
        Where the positions before these left off, for a piece of a log.
    """
    none = np.full(known.size, np.nan)
    origin = _origin(east_rad, north_rad, known, before)
    if origin is None:
        return Positions(none, none, known)
    parallel_rad = _parallels(north_rad, east_rad, known, before)
    east_m = (east_rad - origin.longitude_rad) * np.cos(parallel_rad) * EARTH_RADIUS_M
    north_m = (north_rad - origin.latitude_rad) * EARTH_RADIUS_M
    return Positions(np.where(known, east_m, np.nan), np.where(known, north_m, np.nan), known, origin)


def drawn_after(
    east_rad: Annotated[FloatArray, RADIAN],
    north_rad: Annotated[FloatArray, RADIAN],
    known: npt.NDArray[np.bool_],
    before: Drawn | None,
) -> Drawn | None:
    """Return where these positions [rad] leave off, None where there is none so far."""
    origin = _origin(east_rad, north_rad, known, before)
    if origin is None or not known.any():
        return before
    last = int(np.flatnonzero(known)[-1])
    parallel_rad = _parallels(north_rad, east_rad, known, before)
    return Drawn(origin, float(parallel_rad[last]), Origin(float(east_rad[last]), float(north_rad[last])))


def _origin(
    east_rad: Annotated[FloatArray, RADIAN],
    north_rad: Annotated[FloatArray, RADIAN],
    known: npt.NDArray[np.bool_],
    before: Drawn | None,
) -> Origin | None:
    if before or not known.any():
        return before.first if before else None
    first = int(np.argmax(known))
    return Origin(float(east_rad[first]), float(north_rad[first]))


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


def _parallels(
    north_rad: Annotated[FloatArray, RADIAN],
    east_rad: Annotated[FloatArray, RADIAN],
    known: npt.NDArray[np.bool_],
    before: Drawn | None,
) -> FloatArray:
    places = np.flatnonzero(known)
    last = before.last if before else Origin(float(east_rad[places[0]]), float(north_rad[places[0]]))
    step_north_rad = np.abs(np.diff(north_rad[places], prepend=last.latitude_rad))
    step_east_rad = np.abs(np.diff(east_rad[places], prepend=last.longitude_rad))
    begins = places[np.maximum(step_north_rad, step_east_rad) > FARTHEST_RAD]
    stretch = np.searchsorted(begins, np.arange(north_rad.size), side="right")
    parallel_rad = before.parallel_rad if before else last.latitude_rad
    drawn_on: FloatArray = np.concatenate([[parallel_rad], north_rad[begins]])[stretch]
    return drawn_on
