"""The built-in tips: every ISO size in every family, *generic*, for a plan before the maker's rows are at hand.

A generic tip flows what its size says and has the pressure range its family usually has. Neither is anybody's data
sheet: a maker's own rows, imported from a file, always come before it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import Final

from wetrun.errors import NotDefined
from wetrun.machine.tip import Tip
from wetrun.spray.definitions import POUND_PER_SQUARE_INCH_PA
from wetrun.spray.droplets import Family, SprayPattern
from wetrun.spray.orifice import ISO_SIZES, REFERENCE_WATER_KGPM3, FlowRows, law_of_iso_size, size_number
from wetrun.units import Pa


@dataclass(frozen=True, slots=True)
class UsualRange:
    """The pressures a family is usually run at, and on whose word.

    Attributes
    ----------
    low_pa, high_pa : float
        Pressure at the tip [Pa].
    low_source, high_source : str
        Keys of `wetrun.sources`.
    """

    low_pa: Pa
    high_pa: Pa
    low_source: str
    high_source: str


def _range(low_psi: float, high_psi: float, low_source: str, high_source: str) -> UsualRange:
    low_pa, high_pa = (pounds * POUND_PER_SQUARE_INCH_PA for pounds in (low_psi, high_psi))
    return UsualRange(low_pa, high_pa, low_source, high_source)


_MEMORY: Final = "memory-tip-ranges"
USUAL_RANGES: Final[dict[Family, UsualRange]] = {
    Family.FLAT_FAN: _range(15.0, 60.0, "ksu-mf3178", "ksu-mf3178"),
    Family.PRE_ORIFICE: _range(30.0, 90.0, _MEMORY, _MEMORY),
    # Some charts go lower; a source of practice says not to plan below about 30 psi whatever the chart says.
    Family.AIR_INDUCTION: _range(30.0, 100.0, "sprayers101-pressure", _MEMORY),
    Family.STREAMER: _range(20.0, 60.0, _MEMORY, _MEMORY),
}

_FAN_IDENTS: Final = {Family.FLAT_FAN: "ff", Family.PRE_ORIFICE: "pre", Family.AIR_INDUCTION: "ai"}
_FAN_DEGREES: Final = (110, 80)
_FAN_ORIGIN: Final = (
    "generic: nominal flow of its ISO size, usual pressure range of its family; ask for the maker's rows"
)
_STREAM_ORIGIN: Final = (
    "generic: nominal flow of its size at 3 bar; the other rows follow the square root of pressure and were not "
    "measured: ask for the maker's rows or catch them"
)
_STREAM_HEIGHT: Final = (
    "The maker's own rule for boom height applies: streams have no fan whose overlap could be worked out. "
    "High enough that the streams spread evenly, low enough that they do not break up (common practice, no source)."
)


@cache
def catalogue() -> tuple[Tip, ...]:
    """Return every built-in tip, all marked generic, by family, angle and size.

    Returns
    -------
    tuple of Tip
        Idents such as ``iso-11004-ai`` or ``iso-04-stream``; no price, nothing said about pulsing.

    References
    ----------
    iso-10625, ksu-mf3178, sprayers101-pressure, memory-tip-ranges

    Example
    -------
    >>> tip = tip_named(catalogue(), "iso-11004-ff")
    >>> tip.words, tip.generic
    ('generic 110-04 single-orifice flat fan', True)
    """
    return (*_fans(), *(_streamer(size) for size in ISO_SIZES))


def tip_named(tips: Iterable[Tip], ident: str) -> Tip:
    """Return the tip of an ident.

    Parameters
    ----------
    tips : iterable of Tip
        A catalogue.
    ident : str
        As written in a file.

    Returns
    -------
    Tip
        The one with that ident.

    Raises
    ------
    NotDefined
        If there is none; names the nearest idents.

    Example
    -------
    >>> tip_named(catalogue(), "iso-11004-fff")
    Traceback (most recent call last):
        ...
    wetrun.errors.NotDefined: tip “iso-11004-fff”: no tip of that name is in the catalogue. Nearest: iso-11004-ff, ...
    """
    by_ident = {tip.ident: tip for tip in tips}
    if ident not in by_ident:
        near = get_close_matches(ident, by_ident, n=3)
        remedy = f"Nearest: {', '.join(near)}." if near else "List the catalogue to see every name."
        raise NotDefined(f"tip “{ident}”", reason="no tip of that name is in the catalogue", remedy=remedy)
    return by_ident[ident]


def _fans() -> Iterator[Tip]:
    for family in _FAN_IDENTS:
        for degrees in _FAN_DEGREES:
            yield from (_fan(family, degrees, size) for size in ISO_SIZES)


def _fan(family: Family, degrees: int, size: str) -> Tip:
    usual = USUAL_RANGES[family]
    pattern = SprayPattern(size_number(size), math.radians(degrees), family, usual.low_pa, usual.high_pa)
    return Tip(
        ident=f"iso-{degrees}{size}-{_FAN_IDENTS[family]}",
        words=f"generic {degrees}-{size} {family.value}",
        size=size,
        family=family,
        law=law_of_iso_size(size),
        low_pa=usual.low_pa,
        high_pa=usual.high_pa,
        pattern=pattern,
        origin=_FAN_ORIGIN,
    )


def _streamer(size: str) -> Tip:
    usual = USUAL_RANGES[Family.STREAMER]
    nominal = law_of_iso_size(size)
    middle_pa = (usual.low_pa + usual.high_pa) / 2.0
    pressures_pa = (usual.low_pa, middle_pa, usual.high_pa)
    flows_m3s = tuple(nominal.flow_m3s(pressure_pa) for pressure_pa in pressures_pa)
    return Tip(
        ident=f"iso-{size}-stream",
        words=f"generic {size} three-stream fertiliser tip",
        size=size,
        family=Family.STREAMER,
        law=FlowRows(pressures_pa, flows_m3s, REFERENCE_WATER_KGPM3, _STREAM_ORIGIN),
        low_pa=usual.low_pa,
        high_pa=usual.high_pa,
        pattern=None,
        origin=_STREAM_ORIGIN,
        height_note=_STREAM_HEIGHT,
    )
