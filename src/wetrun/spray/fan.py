"""Width of a fan at the target by its angle and the height of the boom, and the overlap with its neighbours."""

from __future__ import annotations

import math

from wetrun.errors import OutOfRange
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.units import METRE, RADIAN, RATIO, M, Rad, Ratio


def fan_width_m(angle_rad: Rad, height_m: M) -> M:
    """Return the width of a fan at the target by its angle.

    Parameters
    ----------
    angle_rad : float
        Angle of the fan as stamped [rad].
    height_m : float
        Height of the tip above the target [m].

    Returns
    -------
    float
        Width, edge to edge [m].

    Raises
    ------
    OutOfRange
        An angle or height that is not positive, or an angle of a half turn or more.

    Notes
    -----
    Pure geometry, and the most a fan can be: below the pressure its angle is rated at, and further down as the drops
    slow, a real fan is narrower. Fans turned a few degrees out of the boom's line lose another per cent or two.

    References
    ----------
    fan-geometry, sprayers101-spacing

    Example
    -------
    >>> round(fan_width_m(math.radians(110.0), 0.5), 3)
    1.428
    """
    check_positive("height of the tip", height_m, METRE, remedy="Measure from the tip to the target.")
    return 2.0 * height_m * math.tan(_angle_rad(angle_rad) / 2.0)


def height_for_width_m(angle_rad: Rad, width_m: M) -> M:
    """Return the least height at which a fan can be a width.

    Parameters
    ----------
    angle_rad : float
        Angle of the fan as stamped [rad].
    width_m : float
        Width wanted at the target [m].

    Returns
    -------
    float
        Height of the tip above the target [m].

    Raises
    ------
    OutOfRange
        An angle or width that is not positive, or an angle of a half turn or more.

    Notes
    -----
    Pure geometry: published working heights are larger, because real fans are narrower at low pressure.

    References
    ----------
    fan-geometry, sprayers101-spacing

    Example
    -------
    >>> round(height_for_width_m(math.radians(80.0), 1.0), 3)
    0.596
    """
    check_positive("width of the pattern", width_m, METRE, remedy="Enter the width wanted at the target.")
    return width_m / (2.0 * math.tan(_angle_rad(angle_rad) / 2.0))


def width_for_overlap_m(spacing_m: M, overlap_ratio: Ratio) -> M:
    """Return the width of a fan that overlaps its neighbours' by a share of the spacing.

    Parameters
    ----------
    spacing_m : float
        Distance between tips [m].
    overlap_ratio : float
        Overlap over spacing: 1 for “100 %”, where each edge reaches the middle of the next fan [ratio].

    Returns
    -------
    float
        Width at the target, edge to edge [m].

    Raises
    ------
    OutOfRange
        A spacing that is not positive or an overlap that is negative.

    References
    ----------
    sprayers101-spacing

    Example
    -------
    >>> width_for_overlap_m(0.5, 1.0)
    1.0
    """
    check_positive("spacing", spacing_m, METRE, remedy="Enter the distance between tips.")
    check_not_negative("overlap", overlap_ratio, RATIO, remedy="Fans that do not meet leave a gap: enter 0 at least.")
    return spacing_m * (1.0 + overlap_ratio)


def _angle_rad(angle_rad: Rad) -> Rad:
    if not 0.0 < angle_rad < math.pi:
        remedy = "Enter the angle of the fan, such as 110°."
        raise OutOfRange("spray angle", angle_rad, RADIAN, low=0.0, high=math.pi, remedy=remedy)
    return angle_rad
