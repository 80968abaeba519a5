"""Places of a map's grid as longitude and latitude, by the projection stated with them; nothing is ever fetched.

A grid is taken back to degrees of its own datum, never from one datum to another: that needs shift tables, and moves a
trace by metres as a whole, which no speed, width or area here depends on.

References
----------
ogc-wkt-crs, wgs-84
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

import numpy as np

from wetrun.fieldlog.readers.column_table import NamedColumn
from wetrun.fieldlog.trace import Doubt, FloatArray
from wetrun.units import M2, SQUARE_METRE, M

if TYPE_CHECKING:
    from pyproj import CRS

EAST_NAME: Final = "shape x"
NORTH_NAME: Final = "shape y"
MOST_CHARACTERS: Final = 1 << 16
# Texts that would let a projection file name further files.
LEADS_OUT: Final = ("nadgrids", "geoidgrids", "extension", "parameterfile", "http:", "https:")
# Datums whose degrees are those of a satellite receiver to within two metres.
AS_SATELLITES: Final = (
    "wgs", "world geodetic", "north american datum 1983", "nad83", "nad_1983", "nad 1983", "north_american_1983",
    "european terrestrial", "etrs", "gda", "grs", "unknown",
)  # fmt: skip
# Our own choice (no source): 100 km by 100 km is no patch of a field.
LEAST_UNIT: Final = 1e-6  # a second of arc is some 5e-6 rad
GREATEST_UNIT: Final = 1e6
LARGEST_M2: Final[M2] = 1e10
# Our own choice (no source): so many of the places may be nonsense before it is the grid that is wrong.
MOST_FAULTY: Final = 0.01
DEGREE_RAD: Final = np.pi / 180
# WGS 84: half the equator's diameter and the flattening are what defines it.
EQUATOR_M: Final[M] = 6_378_137.0
FLATTENING: Final = 1 / 298.257223563


@dataclass(frozen=True, slots=True)
class GridPlaces:
    """Places as two columns with their meaning, square metres for one square unit of the grid, and what stays open.

    ``on_earth`` is whether the columns are longitude and latitude.
    """

    columns: tuple[NamedColumn, NamedColumn]
    square_m2: Annotated[FloatArray, SQUARE_METRE]
    on_earth: bool
    doubts: tuple[Doubt, ...]


def grid_places(x: FloatArray, y: FloatArray, stated: str | None, *, file: str) -> GridPlaces:
    """Return places of a grid by its projection as text (``.prj``), None where there is none.

    Example
    -------
    >>> found = grid_places(np.array([-101.5]), np.array([46.0]), None, file="a.shp")
    >>> [column.meaning for column in found.columns], found.doubts[0].words
    (['longitude', 'latitude'], 'No projection is stated with a.shp: its numbers were read as degrees')
    """
    x, y = (np.where(np.isfinite(x) & np.isfinite(y), one, np.nan) for one in (x, y))
    grid = _grid(stated) if stated else None
    if grid is None:
        return _without_grid(x, y, f"The projection of {file} cannot be read" if stated else
                             f"No projection is stated with {file}")  # fmt: skip
    doubts = _datum_doubts(grid, file)
    if grid.is_geographic and not _may_be_degrees(x, y):
        return _without_grid(x, y, f"The projection stated with {file} is degrees, which its numbers cannot be")
    if grid.is_geographic and _is_plain_degrees(grid):
        return _degrees(x, y, doubts)
    longitude_deg, latitude_deg = _turned_back(grid, x, y)
    if np.isfinite(x).any() and not np.isfinite(longitude_deg).any():
        return _without_grid(x, y, f"No place of {file} is within the projection stated with it")
    unit_m = grid.axis_info[0].unit_conversion_factor
    return GridPlaces(_columns(longitude_deg, latitude_deg), np.full(x.size, unit_m**2), on_earth=True, doubts=doubts)


def _grid(stated: str) -> CRS | None:
    """Return the grid a text describes, None where it describes none that needs nothing else to be read."""
    plain = stated.strip().strip("\0\ufeff")
    if len(plain) > MOST_CHARACTERS or any(text in plain.lower() for text in LEADS_OUT):
        return None
    from pyproj import CRS
    from pyproj.exceptions import ProjError
    from pyproj.network import set_network_enabled  # type: ignore[attr-defined]  # its module has no list of names

    set_network_enabled(active=False)
    try:
        grid = CRS.from_wkt(plain)
        known = (grid.is_geographic or grid.is_projected) and len(grid.axis_info) >= 2
        known = known and LEAST_UNIT < grid.axis_info[0].unit_conversion_factor < GREATEST_UNIT
    except (ProjError, ValueError, UnicodeError):
        return None
    return grid if known else None


def _turned_back(grid: CRS, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return degrees of the grid's own datum, nan where there are none."""
    from pyproj import Transformer
    from pyproj.exceptions import ProjError

    none = np.full(x.size, np.nan)
    try:
        back = Transformer.from_crs(grid, grid.geodetic_crs, always_xy=True)
        found = back.transform(x, y)
    except (ProjError, ValueError):
        return none, none
    both = np.isfinite(found[0]) & np.isfinite(found[1])
    return np.where(both, found[0], np.nan), np.where(both, found[1], np.nan)


def _is_plain_degrees(grid: CRS) -> bool:
    meridian = grid.prime_meridian
    greenwich = meridian is None or meridian.longitude == 0
    return greenwich and all(abs(axis.unit_conversion_factor / DEGREE_RAD - 1) < 1e-6 for axis in grid.axis_info[:2])


def _datum_doubts(grid: CRS, file: str) -> tuple[Doubt, ...]:
    name = (grid.datum.name if grid.datum else grid.name) or ""
    if any(known in name.lower() for known in AS_SATELLITES):
        return ()
    words = f"The places of {file} are on {name[:60]}: they may lie up to some 100 m off those of a satellite receiver"
    return (Doubt(words, "Export the log in WGS 84 if it is to be laid over other maps"),)


def _without_grid(x: FloatArray, y: FloatArray, why: str) -> GridPlaces:
    if _may_be_degrees(x, y):
        remedy = "Send the .prj file beside it if they are not"
        return _degrees(x, y, (Doubt(f"{why}: its numbers were read as degrees", remedy),))
    words = f"{why}: its numbers are too great for degrees and were read as metres of an unknown grid"
    doubt = Doubt(words, "Send the .prj file beside it; if they are feet, every speed from positions is wrong")
    columns = NamedColumn(EAST_NAME, x, "m", "east"), NamedColumn(NORTH_NAME, y, "m", "north")
    return GridPlaces(columns, np.ones(x.size), on_earth=False, doubts=(doubt,))


def _may_be_degrees(x: FloatArray, y: FloatArray) -> bool:
    """Return whether nearly all numbers can be degrees; a few faulty fixes do not decide it."""
    known = np.isfinite(x) & np.isfinite(y)
    wrong = (np.abs(x[known]) > 180) | (np.abs(y[known]) > 90)
    return bool(wrong.sum() <= MOST_FAULTY * wrong.size)


def _degrees(x: FloatArray, y: FloatArray, doubts: tuple[Doubt, ...]) -> GridPlaces:
    return GridPlaces(_columns(x, y), square_degrees_m2(y), on_earth=True, doubts=doubts)


def _columns(longitude_deg: FloatArray, latitude_deg: FloatArray) -> tuple[NamedColumn, NamedColumn]:
    return (
        NamedColumn(EAST_NAME, longitude_deg, "deg", "longitude"),
        NamedColumn(NORTH_NAME, latitude_deg, "deg", "latitude"),
    )


def areas_m2(area: FloatArray, places: GridPlaces) -> Annotated[FloatArray, SQUARE_METRE]:
    """Return areas in square units of the grid as square metres [m2]; one larger than any field there is, is nan."""
    with np.errstate(over="ignore", invalid="ignore"):
        found_m2 = area * places.square_m2
    return np.where(found_m2 < LARGEST_M2, found_m2, np.nan)


def square_degrees_m2(latitude_deg: FloatArray) -> Annotated[FloatArray, SQUARE_METRE]:
    """Return the area of one square degree at each latitude [m2], on the ellipsoid of WGS 84.

    Example
    -------
    At the equator a degree is 111.3195 km eastward and 110.5743 km northward:

    >>> round(float(square_degrees_m2(np.zeros(1))[0]) / 1e6, 1)
    12309.1
    """
    north = np.radians(latitude_deg)
    squared = FLATTENING * (2 - FLATTENING)
    shrink = 1 - squared * np.sin(north) ** 2
    # Radius along the meridian times radius of the parallel.
    square: FloatArray = EQUATOR_M**2 * (1 - squared) * np.cos(north) / shrink**2 * DEGREE_RAD**2
    return square
