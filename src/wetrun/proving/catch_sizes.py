"""Which other tip sizes a reading looks like."""

from __future__ import annotations

from math import hypot, log
from typing import Final

from wetrun.spray.orifice import ISO_SIZES, size_number
from wetrun.units import Frac, Ratio

NEW_TIP_FRAC: Final[Frac] = 0.05
"""How far a new tip may be off its size."""


def sizes_like(read_ratio: Ratio, scatter: float, size: str) -> tuple[str, ...]:
    """Return the other sizes whose new tips would read like this among tips of the size fitted.

    Parameters
    ----------
    read_ratio : float
        Flow of the tip over that of its boom [ratio].
    scatter : float
        Standard deviation of ordinary tips, as a share.
    size : str
        Size stamped on the set; empty or outside the ISO sizes gives none.

    Returns
    -------
    tuple of str
        Nearest first, each nearer than the size fitted; a tip may be off its size by the tolerance of a new one and by
        three scatters, taken together.

    Notes
    -----
    Held against the boom, so a set worn throughout still finds the size of one new tip among it only to within that
    wear.

    References
    ----------
    iso-10625

    Example
    -------
    >>> sizes_like(0.75, 0.015, "04"), sizes_like(1.02, 0.015, "04")
    (('03',), ())
    """
    if size not in ISO_SIZES or read_ratio <= 0.0:
        return ()
    near = hypot(log(1.0 + NEW_TIP_FRAC), 3.0 * scatter)
    own = size_number(size)
    away = {other: abs(log(read_ratio * own / size_number(other))) for other in ISO_SIZES if other != size}
    fitting = sorted((distance, other) for other, distance in away.items() if distance <= near)
    return tuple(other for distance, other in fitting if distance < abs(log(read_ratio)))
