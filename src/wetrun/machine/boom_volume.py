"""Liquid a boom holds, by its width, from the three published figures."""

from __future__ import annotations

from typing import Final

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.units import M3, METRE, M

_WIDTHS_M: Final = (24.384, 27.432, 36.576)
_HELD_M3: Final = (0.0681374, 0.0946353, 0.1324894)


def boom_volume_m3(width_m: M) -> M3:
    """Return the liquid a wet boom of a width typically holds [m3].

    Parameters
    ----------
    width_m
        Working width [m].

    Returns
    -------
    M3
        Volume of all its pipes and hoses [m3].

    Raises
    ------
    OutOfRange
        A width that is not positive.

    Notes
    -----
    Linear between the widths that were published (24 to 37 m), in proportion to width outside them, where nothing was
    published: small booms have thinner pipes and hold less. Measure it where it matters.

    References
    ----------
    purdue-boom-volumes

    Example
    -------
    >>> round(boom_volume_m3(27.432), 4)
    0.0946
    """
    if not 0.0 < width_m < float("inf"):
        raise OutOfRange("boom width", width_m, METRE, low=0.0, remedy="Enter the working width.")
    nearest_m = min(max(width_m, _WIDTHS_M[0]), _WIDTHS_M[-1])
    return float(np.interp(nearest_m, _WIDTHS_M, _HELD_M3)) * width_m / nearest_m
