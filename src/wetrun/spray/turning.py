"""Rate across the boom in a turn: outer tips travel further than inner ones; the controller sees only the middle."""

from __future__ import annotations

from typing import Annotated, overload

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.spray.bounds import FloatArray, check_positive
from wetrun.units import METRE, PER_METRE, RATIO, M, Ratio

_RADIUS_REMEDY = "Enter the radius of the path of the boom's middle; a turn on the spot has no rate."


def turn_speed_ratio(offset_m: M, radius_m: M) -> Ratio:
    """Return a tip's ground speed over that of the boom's middle in a turn.

    Parameters
    ----------
    offset_m
        Distance of the tip from the middle, positive outward [m].
    radius_m
        Radius of the path of the middle [m].

    Returns
    -------
    Ratio
        Speed of the tip over speed of the middle; negative where the tip travels backwards [ratio].

    Raises
    ------
    OutOfRange
        A radius that is not positive.

    References
    ----------
    turn-geometry, isu-turn-compensation-2021

    Example
    -------
    >>> turn_speed_ratio(15.0, 30.0)
    1.5
    """
    check_positive("turn radius", radius_m, METRE, remedy=_RADIUS_REMEDY)
    return 1.0 + offset_m / radius_m


def turn_rate_ratio(offset_m: M, radius_m: M) -> Ratio:
    """Return the rate under a tip over the rate at the middle in a turn, every tip giving the same flow.

    Parameters
    ----------
    offset_m
        Distance of the tip from the middle, positive outward [m].
    radius_m
        Radius of the path of the middle [m].

    Returns
    -------
    Ratio
        Rate at the tip over rate at the middle [ratio]: infinite at the centre of the turn, where the tip stands
        still; inside the centre the tip travels backwards over ground that the boom covers again.

    Raises
    ------
    OutOfRange
        A radius that is not positive.

    Notes
    -----
    Steady turn on a circle; sway, slip and turn compensation are left out.

    References
    ----------
    turn-geometry, isu-turn-compensation-2021, fabula-2022

    Example
    -------
    >>> turn_rate_ratio(-15.0, 30.0)
    2.0
    """
    check_positive("turn radius", radius_m, METRE, remedy=_RADIUS_REMEDY)
    return rate_ratio_at(offset_m, 1.0 / radius_m)


def turn_radius_m(offset_m: M, rate_ratio: Ratio) -> M:
    """Return the turn radius at which a tip's rate is a given ratio of the rate at the middle.

    Parameters
    ----------
    offset_m
        Distance of the tip from the middle, positive outward [m].
    rate_ratio
        Rate at the tip over rate at the middle [ratio].

    Returns
    -------
    M
        Radius of the path of the middle [m].

    Raises
    ------
    OutOfRange
        A ratio no forward turn can give at that offset: above 1 outside, below 1 inside, or exactly 1.

    References
    ----------
    turn-geometry

    Example
    -------
    >>> turn_radius_m(-15.0, 2.0)
    30.0
    """
    check_positive("rate ratio", rate_ratio, RATIO, remedy="Divide the rate at the tip by the rate at the middle.")
    slower = 1.0 / rate_ratio - 1.0
    if slower * offset_m <= 0.0:
        outside = offset_m > 0.0
        raise OutOfRange(
            f"rate ratio {'outside' if outside else 'inside'} the middle of the boom",
            rate_ratio,
            RATIO,
            low=None if outside else 1.0,
            high=1.0 if outside else None,
            remedy="The outer end gets less than the middle, the inner end more: check the sign of the offset.",
        )
    return offset_m / slower


@overload
def rate_ratio_at(
    offset_m: Annotated[FloatArray, METRE], curvature_radpm: Annotated[float | FloatArray, PER_METRE]
) -> Annotated[FloatArray, RATIO]: ...
@overload
def rate_ratio_at(offset_m: M, curvature_radpm: Annotated[FloatArray, PER_METRE]) -> Annotated[FloatArray, RATIO]: ...
@overload
def rate_ratio_at(offset_m: M, curvature_radpm: Annotated[float, PER_METRE]) -> Ratio: ...
def rate_ratio_at(
    offset_m: Annotated[float | FloatArray, METRE], curvature_radpm: Annotated[float | FloatArray, PER_METRE]
) -> Annotated[float | FloatArray, RATIO]:
    """Return the rate under a tip over the rate at the middle, for any curvature of the path.

    Parameters
    ----------
    offset_m
        Distance of the tip from the middle, positive outward (away from the centre of the turn), any shape [m].
    curvature_radpm
        Curvature of the path of the middle, 0 when straight, any shape that broadcasts [rad/m].

    Returns
    -------
    float or array
        Rate at the tip over rate at the middle [ratio]; infinite where the tip stands still.

    Notes
    -----
    A negative curvature turns the other way: the offset then counts positive inward.

    References
    ----------
    turn-geometry

    Example
    -------
    >>> rate_ratio_at(15.0, 0.0)
    1.0
    """
    speed = np.abs(1.0 + np.asarray(offset_m, dtype=np.float64) * curvature_radpm)
    with np.errstate(divide="ignore"):
        ratio: FloatArray = np.divide(1.0, speed)
    return ratio if ratio.ndim else float(ratio)
