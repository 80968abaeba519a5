"""A measured value and its ± as text: as many digits as the ± has a meaning for, in the reader's units."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, inf, isfinite, log10

from wetrun.papers.reader import Reader
from wetrun.percent import PER_CENT, signed
from wetrun.quantity import kind_of_unit
from wetrun.units import FRACTION, RATIO, Unit

MOST_DECIMALS = 4
PLUS_DIGITS = 2
"""Digits of a ± on paper; the guide to uncertainty finds two enough."""
HAIR = 1e-9
"""A ± below this is what floating point leaves of nothing."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A number on paper, without its unit."""

    value: str
    plus: str
    unit: str

    @property
    def text(self) -> str:
        """Value, ± and unit in one line."""
        said = f"{self.value} ± {self.plus}" if self.plus else self.value
        return f"{said} {self.unit}".rstrip()


def measured(value: float, expanded: float | None, unit: Unit | None, reader: Reader) -> Shown:
    """Return a value with its ± as text.

    Parameters
    ----------
    value, expanded : float
        In SI; a ratio is less one and is shown in per cent.
    unit : Unit or None
        Unit of both; None for a count or a plain number.
    reader : Reader
        Whose units.

    Returns
    -------
    Shown
        Both with the same decimals.

    Example
    -------
    >>> from wetrun.quantity import System
    >>> measured(0.0512, 0.0131, RATIO, Reader(System.US)).text
    '+5.1 ± 1.3 %'
    """
    number, sign = _number(value, unit, reader), "+" if unit is RATIO else ""
    plus = None if expanded is None else _number(expanded, unit, reader)
    plus = 0.0 if plus is not None and plus < HAIR else plus
    # A ± of nothing says nothing of the digits, and neither does a ± that is not there.
    places = decimals(plus) if plus else min(decimals(number, 3), 2)
    if unit is None and plus is None and number == int(number):
        places = 0
    text = signed(number, places, sign)
    return Shown(text, _plus_text(plus, places), _unit_text(unit, reader))


def limits(low: float | None, high: float | None, unit: Unit | None, reader: Reader) -> str:
    """Return limits as text: a range, one end, or nothing.

    Parameters
    ----------
    low, high : float or None
        In SI.
    unit : Unit or None
        Their unit.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        Such as "–5 to +5 %".

    Example
    -------
    >>> from wetrun.quantity import System
    >>> limits(-0.05, 0.05, RATIO, Reader(System.SI)), limits(None, 0.1, FRACTION, Reader(System.SI))
    ('−5 to +5 %', 'at most 10 %')
    """
    if unit is None and low is None and high == 0.0:
        return "none"
    low, high = (None if end is None or not isfinite(end) else end for end in (low, high))
    if low is None and high is None:
        return ""
    ends = [_limit(end, unit, reader) for end in (low, high) if end is not None]
    said = f"{ends[0]} to {ends[1]}" if len(ends) > 1 and ends[0] != ends[1] else ends[0]
    if low is None or high is None:
        said = f"{'at most' if low is None else 'at least'} {said}"
    return f"{said} {_unit_text(unit, reader)}".rstrip()


def decimals(number: float, digits: int = PLUS_DIGITS) -> int:
    """Return the decimals that show a number with some digits.

    Example
    -------
    >>> decimals(0.013), decimals(1.3), decimals(130.0)
    (3, 1, 0)
    """
    if number == 0.0 or not isfinite(number):
        return 1
    return min(max(digits - 1 - floor(log10(abs(number))), 0), MOST_DECIMALS)


def degrees_of_freedom(freedom: float) -> str:
    """Return degrees of freedom as text; many are as good as without end."""
    return "∞" if freedom == inf or freedom > PER_CENT else f"{freedom:.1f}".removesuffix(".0")


def _plus_text(plus: float | None, places: int) -> str:
    return "" if plus is None else f"{plus:.{places}f}" if plus else "0"


def _limit(end: float, unit: Unit | None, reader: Reader) -> str:
    number, sign = _number(end, unit, reader), "+" if unit is RATIO and end != 0.0 else ""
    text = signed(number, decimals(number, 3), sign)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _number(value: float, unit: Unit | None, reader: Reader) -> float:
    if unit in {RATIO, FRACTION}:
        return PER_CENT * value
    kind = None if unit is None else kind_of_unit(unit)
    return value if kind is None else reader.number(value, kind)


def _unit_text(unit: Unit | None, reader: Reader) -> str:
    if unit in {RATIO, FRACTION}:
        return "%"
    kind = None if unit is None else kind_of_unit(unit)
    return "" if kind is None else reader.unit(kind)
