"""Drift as an order of magnitude: what fell beside published trial fields, how drops fall, how long they last.

Nothing here is a buffer. How far to stay away from what must not be hit is the label's to say, and the law's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import check_positive
from wetrun.units import KELVIN, METRE, METRE_PER_SECOND, Frac, K, Kgpm3, M, Mps, Pas, Ratio, S

NEAREST_M: Final[M] = 1.0
FARTHEST_M: Final[M] = 50.0
"""Distances of the published table; the curve is not read outside them."""


@dataclass(frozen=True, slots=True)
class DriftCurve:
    """A published regression of sediment on distance: share = a * (x / 1 m) ** b.

    Attributes
    ----------
    applications : int
        How often the field was sprayed; the share is of the sum of all rates.
    percentile_frac : float
        Share of the trials at or below the curve [frac], chosen so that all applications together stay at 90 of 100.
    at_one_metre_frac : float
        Share of the rate at 1 m from the last tip [frac].
    slope_ratio : float
        Power of the distance [ratio].
    """

    applications: int
    percentile_frac: Frac
    at_one_metre_frac: Frac
    slope_ratio: Ratio


_ROWS: Final = (
    (1, 0.90, 0.027593, -0.9778),
    (2, 0.82, 0.024376, -1.0100),
    (3, 0.77, 0.020244, -0.9956),
    (4, 0.74, 0.018619, -0.9861),
    (5, 0.72, 0.017942, -0.9943),
    (6, 0.70, 0.016314, -0.9861),
    (7, 0.69, 0.015784, -0.9811),
    (8, 0.67, 0.015119, -0.9832),
)
CURVES: Final = MappingProxyType({row[0]: DriftCurve(*row) for row in _ROWS})


def curve_for(applications: int) -> DriftCurve:
    """Return the published curve of a number of applications.

    Parameters
    ----------
    applications
        How often the field is sprayed with the product in a season.

    Returns
    -------
    DriftCurve
        Arable crops, boom sprayers of the trials.

    Raises
    ------
    NotDefined
        For a number nobody published a curve for.

    References
    ----------
    rautmann-2001
    """
    if applications not in CURVES:
        remedy = f"Published are {min(CURVES)} to {max(CURVES)}"
        raise NotDefined(f"drift of {applications} applications", reason="there is no such curve", remedy=remedy)
    return CURVES[applications]


def sediment_frac(distance_m: M, applications: int = 1) -> Frac:
    """Return the share of the rate that fell at a distance from the last tip in published trials.

    Parameters
    ----------
    distance_m
        From the last tip, downwind [m].
    applications
        How often the field is sprayed; the share is of the sum of all rates.

    Returns
    -------
    Frac
        Share of the rate per area [frac]; the curve of 90 trials in 100.

    Raises
    ------
    OutOfRange
        Nearer than 1 m or farther than 50 m: nothing was measured there.
    NotDefined
        For a number of applications nobody published a curve for.

    Notes
    -----
    Trials in Germany: boom 0.5 m above the crop, up to 8 km/h, wind 1 to 5 m/s, standard tips of their day. Coarser
    drops, a lower boom and less wind give less; finer drops, a higher boom, speed or wind give more, several times as
    much. Left out: vapour, inversions, the crop's edge, slopes. Good to a factor, never a buffer.

    References
    ----------
    rautmann-2001

    Example
    -------
    >>> round(sediment_frac(5.0), 4)
    0.0057
    """
    _check_within("distance from the last tip", distance_m)
    curve = curve_for(applications)
    return curve.at_one_metre_frac * math.pow(distance_m, curve.slope_ratio)


def mean_sediment_frac(near_m: M, far_m: M, applications: int = 1) -> Frac:
    """Return the mean share of the rate that fell over a strip, such as a ditch.

    Parameters
    ----------
    near_m, far_m
        Where the strip begins and ends, from the last tip [m].
    applications
        How often the field is sprayed.

    Returns
    -------
    Frac
        Mean over the strip [frac], the curve integrated.

    Raises
    ------
    OutOfRange
        A strip outside 1 to 50 m, or one that ends before it begins.

    References
    ----------
    rautmann-2001

    Example
    -------
    >>> sediment_frac(6.0) < mean_sediment_frac(5.0, 6.0) < sediment_frac(5.0)
    True
    """
    _check_within("near side of the strip", near_m)
    _check_within("far side of the strip", far_m)
    if not near_m < far_m:
        remedy = "Type the near side first."
        raise OutOfRange("far side of the strip", far_m, METRE, low=near_m, high=FARTHEST_M, remedy=remedy)
    curve = curve_for(applications)
    power = curve.slope_ratio + 1.0
    if math.isclose(power, 0.0, abs_tol=1e-9):
        return curve.at_one_metre_frac * math.log(far_m / near_m) / (far_m - near_m)
    rise = math.pow(far_m, power) - math.pow(near_m, power)
    return curve.at_one_metre_frac * rise / (power * (far_m - near_m))


AIR_KGPM3: Final[Kgpm3] = 1.204
AIR_PAS: Final[Pas] = 18.1e-6
WATER_KGPM3: Final[Kgpm3] = 998.2
GRAVITY_MPS2: Final = 9.80665
SMALLEST_M: Final[M] = 20e-6
LARGEST_M: Final[M] = 1000e-6


def fall_speed_mps(drop_m: M) -> Mps:
    """Return how fast a drop of water falls in still air once it falls evenly.

    Parameters
    ----------
    drop_m
        Diameter of the drop [m].

    Returns
    -------
    Mps
        Speed downward [m/s].

    Raises
    ------
    OutOfRange
        Outside 20 to 1000 µm, where drops are no spheres or drag follows another law.

    Notes
    -----
    A sphere with the drag of Schiller and Naumann, air of 20 °C. Against the measured speeds of Gunn and Kinzer it is
    up to 9 % low, most at 100 µm and at 1000 µm.

    References
    ----------
    schiller-naumann, gunn-kinzer-1949

    Example
    -------
    >>> round(fall_speed_mps(200e-6), 2)
    0.71
    """
    if not SMALLEST_M <= drop_m <= LARGEST_M:
        remedy = "Type the diameter of one drop, not of the spray as a whole."
        raise OutOfRange("diameter of a drop", drop_m, METRE, low=SMALLEST_M, high=LARGEST_M, remedy=remedy)
    low, high = 1e-6, 20.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _drag_ratio(drop_m, middle) < 1.0 else (low, middle)
    return (low + high) / 2


def _drag_ratio(drop_m: M, speed_mps: Mps) -> Ratio:
    """Drag over weight less lift; rises with speed, so that halving finds the one speed where it is 1."""
    reynolds = AIR_KGPM3 * speed_mps * drop_m / AIR_PAS
    drag = 24.0 / reynolds * (1.0 + 0.15 * math.pow(reynolds, 0.687))
    weight = 4.0 / 3.0 * drop_m * GRAVITY_MPS2 * (WATER_KGPM3 - AIR_KGPM3)
    return drag * AIR_KGPM3 * speed_mps * speed_mps / weight


def carried_m(drop_m: M, height_m: M, wind_mps: Mps) -> M:
    """Return how far an even wind carries a drop while it falls by itself from a height.

    Parameters
    ----------
    drop_m
        Diameter [m].
    height_m
        Height it falls from [m].
    wind_mps
        Wind, the same at every height [m/s].

    Returns
    -------
    M
        Distance downwind [m].

    Raises
    ------
    OutOfRange
        A drop outside 20 to 1000 µm, or a height or wind that is not positive.

    Notes
    -----
    Left out: the spray's own speed downward, which carries drops over 150 µm most of the way (a measured 200 µm drop
    from 0.5 m at 15 km/h went 0.25 m where this gives 3 m: it is a worst case near the boom); gusts and eddies; the
    wind's fall near the ground; evaporation, which makes small drops smaller. An order of magnitude.

    References
    ----------
    schiller-naumann, omafra-drift-2013

    Example
    -------
    >>> round(carried_m(100e-6, 0.5, 15 / 3.6), 1)
    8.4
    """
    check_positive("height of the boom", height_m, METRE, remedy="Type the height of the tips above the crop.")
    check_positive("wind", wind_mps, METRE_PER_SECOND, remedy="Type what an instrument shows at boom height.")
    return wind_mps * height_m / fall_speed_mps(drop_m)


def drop_life_s(drop_m: M, depression_k: K) -> S:
    """Return how long a drop of clean water lasts in dry air.

    Parameters
    ----------
    drop_m
        Diameter [m].
    depression_k
        Dry-bulb less wet-bulb temperature [K].

    Returns
    -------
    S
        Seconds until nothing is left [s].

    Raises
    ------
    OutOfRange
        A diameter or difference that is not positive.

    Notes
    -----
    The rule t = d² / (80 dT), d in µm, known from memory. Pure water: what is dissolved stays behind as a small
    drop or a dust that drifts on.

    References
    ----------
    amsden-1962

    Example
    -------
    >>> round(drop_life_s(100e-6, 7.7), 1)
    16.2
    """
    check_positive("diameter of a drop", drop_m, METRE, remedy="Type the diameter of one drop.")
    check_positive("wet-bulb depression", depression_k, KELVIN, remedy="In air that is quite moist no drop dries.")
    micrometres = drop_m * 1e6
    return micrometres * micrometres / (80.0 * depression_k)


def _check_within(thing: str, distance_m: M) -> None:
    if not NEAREST_M <= distance_m <= FARTHEST_M:
        remedy = "Nothing was measured outside these distances; see the label for how far to stay away."
        raise OutOfRange(thing, distance_m, METRE, low=NEAREST_M, high=FARTHEST_M, remedy=remedy)
