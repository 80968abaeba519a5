"""What rinses leave in one mixed volume, in closed form: the rule of thumb the network is held against."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated

from wetrun.errors import OutOfRange
from wetrun.units import CUBIC_METRE, FRACTION, M3, RATIO, Frac, Ratio


def batches_left_frac(
    residue_m3: M3, rinses_m3: Sequence[Annotated[float, CUBIC_METRE]], *, unexchanged_frac: Frac = 0.0
) -> Frac:
    """Return what batch rinses leave of the concentration in one volume [frac].

    Parameters
    ----------
    residue_m3
        Liquid that stays after each emptying [m3].
    rinses_m3
        Clean water of each rinse [m3].
    unexchanged_frac
        Share of the residue that no rinse mixes with: dead legs, low points [frac].

    Returns
    -------
    Frac
        Concentration after the last rinse over that before the first [frac].

    Raises
    ------
    OutOfRange
        A residue that is not positive, a rinse below zero, a share outside 0 to 1.

    Notes
    -----
    Ideal mixing: C/C0 is the product of e + (1 - e) R / (R + V). More rinses cannot beat e to the power of their
    number. What is bound to hoses or dried on is left out.

    References
    ----------
    ideal-mixing-dilution

    Example
    -------
    >>> round(batches_left_frac(20.0, [200.0 / 3] * 3), 6)
    0.012289
    """
    _check_positive("residue", residue_m3)
    if not 0.0 <= unexchanged_frac <= 1.0:
        raise OutOfRange(
            "unexchanged share", unexchanged_frac, FRACTION, low=0.0, high=1.0, remedy="Enter a share of the residue."
        )
    for rinse_m3 in rinses_m3:
        if not 0.0 <= rinse_m3 < math.inf:
            raise OutOfRange(
                "water of a rinse", rinse_m3, CUBIC_METRE, low=0.0, remedy="Enter the water of each rinse."
            )
    e = unexchanged_frac
    return math.prod(e + (1.0 - e) * residue_m3 / (residue_m3 + rinse_m3) for rinse_m3 in rinses_m3)


def continuous_left_frac(residue_m3: M3, water_m3: M3) -> Frac:
    """Return what continuous rinsing leaves of the concentration in one volume [frac].

    Parameters
    ----------
    residue_m3
        Liquid held while water passes [m3].
    water_m3
        Clean water in all [m3].

    Returns
    -------
    Frac
        exp(-V/R) [frac].

    Raises
    ------
    OutOfRange
        A volume that is not positive.

    References
    ----------
    ideal-mixing-dilution

    Example
    -------
    >>> round(continuous_left_frac(20.0, 200.0), 7)
    4.54e-05
    """
    _check_positive("residue", residue_m3)
    _check_positive("rinse water", water_m3)
    return math.exp(-water_m3 / residue_m3)


def water_needed_ratio(left_frac: Frac, *, rinses: int | None) -> Ratio:
    """Return the water needed over the residue, to leave a share in one mixed volume [ratio].

    Parameters
    ----------
    left_frac
        Concentration to reach over that before [frac].
    rinses
        Number of equal rinses; None for continuous rinsing.

    Returns
    -------
    Ratio
        Total clean water over residue [ratio].

    Raises
    ------
    OutOfRange
        A share not between 0 and 1, or fewer rinses than one.

    References
    ----------
    ideal-mixing-dilution

    Example
    -------
    >>> round(water_needed_ratio(0.02, rinses=3), 3), round(water_needed_ratio(0.02, rinses=None), 3)
    (8.052, 3.912)
    """
    if not 0.0 < left_frac <= 1.0:
        raise OutOfRange("share to reach", left_frac, FRACTION, low=0.0, high=1.0, remedy="Enter a share above zero.")
    if rinses is None:
        return -math.log(left_frac)
    if rinses < 1:
        raise OutOfRange("number of rinses", rinses, RATIO, low=1.0, remedy="Enter one or more.")
    return float(rinses * (left_frac ** (-1.0 / rinses) - 1.0))


def _check_positive(thing: str, volume_m3: M3) -> None:
    if not 0.0 < volume_m3 < math.inf:
        raise OutOfRange(thing, volume_m3, CUBIC_METRE, low=0.0, remedy="Measure it: catch what runs out.")
