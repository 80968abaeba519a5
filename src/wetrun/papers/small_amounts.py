"""Shares, areas and water of a clean-out as text: small numbers keep their digits."""

from __future__ import annotations

import math
from typing import Final

from wetrun.papers.reader import THOUSANDS, Reader
from wetrun.percent import little_per_cent
from wetrun.quantity import Kind
from wetrun.units import M2, M3, Frac

_NICE: Final = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)


def nice_above(shown: float) -> float:
    """Return a plain number at or above another.

    Example
    -------
    >>> nice_above(17.2), nice_above(0.31), nice_above(20.0)
    (20.0, 0.4, 20.0)
    """
    power = 10.0 ** math.floor(math.log10(shown))
    step = next((nice for nice in _NICE if nice * power >= shown * (1.0 - 1e-9)), 10.0)
    return round(step * power, 9)


def small_area(area_m2: M2, reader: Reader) -> str:
    """Return an area [m2] with its unit, with two decimals where it is small: a boom's length counts.

    Example
    -------
    >>> from wetrun.quantity import System
    >>> (
    ...     small_area(1000.0, Reader(System.US)),
    ...     small_area(40468.6, Reader(System.US)),
    ...     small_area(0.0, Reader(System.SI)),
    ... )
    ('0.25 ac', '10 ac', 'none')
    """
    shown = reader.number(area_m2, Kind.AREA)
    places = 2 if shown < 1.0 else 1 if shown < 10.0 else 0
    digits = f"{shown:,.{places}f}".replace(",", THOUSANDS[reader.system])
    return f"{digits} {reader.unit(Kind.AREA)}" if area_m2 > 0.0 else "none"


def water_text(volume_m3: M3, reader: Reader) -> str:
    """Return water to be measured out [m3], without zeros behind the point.

    Example
    -------
    >>> from wetrun.quantity import System
    >>> water_text(0.3, Reader(System.SI)), water_text(0.302832942, Reader(System.US))
    ('300 L', '80 gal')
    """
    return reader.exact(volume_m3, Kind.VOLUME)


def share_text(share_frac: Frac) -> str:
    """Return a share [frac] in per cent, two digits.

    Example
    -------
    >>> share_text(0.0758), share_text(0.00138), share_text(5e-5)
    ('7.6 %', '0.14 %', '0.005 %')
    """
    return little_per_cent(share_frac)


def one_in(share_frac: Frac, reader: Reader) -> str:
    """Return a share [frac] as one part in so many, two digits.

    Example
    -------
    >>> from wetrun.quantity import System
    >>> one_in(0.00138, Reader(System.US)), one_in(5e-5, Reader(System.US)), one_in(0.0, Reader(System.US))
    ('1 in 720', '1 in 20,000', 'none')
    """
    if share_frac <= 0.0:
        return "none"
    parts = 1.0 / share_frac
    places = 1 - math.floor(math.log10(parts))
    shown = f"{round(parts, places):,.{max(places, 0)}f}".removesuffix(".0").replace(",", THOUSANDS[reader.system])
    return f"1 in {shown}"
