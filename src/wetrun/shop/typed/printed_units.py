"""The unit printed at a field: what a bare number takes, and what a value of the other system is in it."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from wetrun.documents.fields import Quantity
from wetrun.errors import QuantityRefused
from wetrun.quantity import Kind, System, Typed, read, show
from wetrun.quantity.spellings import unit_words

_BARE: Final = re.compile(r"[+\-\u2212]?(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)")
_US: Final = re.compile(
    r"\b(?:inch|foot|yard|mile|acre|gallon|imperial_gallon|quart|pint|fluid_ounce|teaspoon|hundred_gallon|pound|ounce|psi|degF)\b"
)
_SI: Final = re.compile(
    r"\b(?:(?:centi|milli|kilo)?meter|hectare|(?:milli|hundred_)?liter|(?:kilo|milli)?gram|metric_ton|bar|(?:kilo)?pascal|degC|kelvin)\b"
)


def printed_unit(quantity: Quantity, system: System, finer: tuple[str, str] | None = None) -> str:
    """Return the unit to print at a field.

    Parameters
    ----------
    quantity : Quantity
        What the field takes.
    system : System
        The reader's unit system.
    finer : tuple of str or None
        Units to print instead, US and SI.

    Returns
    -------
    str
        That of the first kind it takes; empty for a plain number.
    """
    if finer is not None:
        return finer[0 if system is System.US else 1]
    return quantity.asks[0].kind.shown_in(system)


def with_unit(text: str, unit: str) -> str:
    """Return what was typed, with the printed unit behind a number that came without one.

    Example
    -------
    >>> with_unit("15", "gal/ac"), with_unit("3,5 bar", "psi"), with_unit("middle", "ft")
    ('15 gal/ac', '3,5 bar', 'middle')
    """
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def in_other_units(text: str, quantity: Quantity, system: System) -> str:
    """Return a typed value in the reader's units, or nothing if it stands in them already.

    Parameters
    ----------
    text : str
        As typed.
    quantity : Quantity
        What its field takes.
    system : System
        The reader's unit system.

    Returns
    -------
    str
        Empty for what is no quantity, too.
    """
    return _in_other_units(text, tuple(ask.kind for ask in quantity.asks), system)


@lru_cache(maxsize=4096)
def _in_other_units(text: str, kinds: tuple[Kind, ...], system: System) -> str:
    typed = _read(text, kinds)
    if typed is None or system in _systems(typed.unit_text, typed.kind):
        return ""
    return show(typed.si_value, typed.kind, system)


def _read(text: str, kinds: tuple[Kind, ...]) -> Typed | None:
    for kind in kinds:
        try:
            return read(text, kind)
        except QuantityRefused:
            continue
    return None


@lru_cache(maxsize=512)
def _systems(unit: str, kind: Kind) -> frozenset[System]:
    """The systems whose readers know a unit: that of its parts, and any whose own unit of this kind it is."""
    words = unit_words(unit)
    own = {system for system in System if words == unit_words(kind.shown_in(system))}
    expression = "" if words is None else words.expression
    is_us, is_si = _US.search(expression) is not None, _SI.search(expression) is not None
    if is_us is is_si:  # of both systems, or of neither: a time, a share
        return frozenset(own) if is_us else frozenset(System)
    return frozenset({*own, System.US if is_us else System.SI})
