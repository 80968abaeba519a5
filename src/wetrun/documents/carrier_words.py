"""The carrier a season file names, with the density that is stated for it."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Final

from wetrun.errors import NotDefined
from wetrun.quantity import Kind, Typed, read
from wetrun.spray.carrier import (
    CARRIER_GRADES,
    REFERENCE_WATER_KGPM3,
    Carrier,
    carrier_of_density,
    fertiliser,
    water,
)

# The weights fertiliser tables print without a temperature are taken at this one.
_USUAL_TEMPERATURE: Final = "60 °F"
_KNOWN: Final = ("water", *CARRIER_GRADES)


def carrier_named(
    name: str, *, density: Typed | None = None, gravity: Typed | None = None, temperature: Typed | None = None
) -> Carrier:
    """Return the carrier of a name; a stated density always wins over a printed one.

    Parameters
    ----------
    name : str
        ``water``, a fertiliser grade, or any name with a density.
    density, gravity : Typed or None
        Density, or specific gravity against water at 20 °C.
    temperature : Typed or None
        Temperature of the liquid; 20 °C for water and 60 °F for fertiliser if not stated.

    Returns
    -------
    Carrier
        With its density and where it comes from.

    Raises
    ------
    NotDefined
        For a name that is not known and has no density.
    OutOfRange
        For a density or temperature nothing is known of.

    Example
    -------
    >>> carrier_named("uan28").name
    'UAN 28'
    """
    temp = None if temperature is None else temperature.si_value
    if density is not None:
        return carrier_of_density(name, density.si_value, temp_k=temp)
    if gravity is not None:
        return carrier_of_density(name, gravity.si_value * REFERENCE_WATER_KGPM3, temp_k=temp)
    known = {_plain(each): each for each in _KNOWN}.get(_plain(name))
    if known is None:
        near = get_close_matches(_plain(name), [_plain(each) for each in _KNOWN], n=1)
        meant = next((f"Did you mean “{each}”? " for each in _KNOWN if _plain(each) in near), "")
        remedy = f'{meant}Use one of {", ".join(_KNOWN)}, or add density = "…" as weighed or stated'
        raise NotDefined(f"carrier “{name}”", reason="nothing is known of this carrier's density", remedy=remedy)
    if known == "water":
        return water() if temp is None else water(temp)
    return fertiliser(known, read(_USUAL_TEMPERATURE, Kind.TEMPERATURE).si_value if temp is None else temp)


def _plain(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())
