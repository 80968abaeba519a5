"""The forms a monitor keeps a number in: pulses per amount, amount per pulse, plain, specific gravity, its root.

Two monitors that hold the same truth may show numbers that are each other's inverse. A form says which, so that a new
number is never worked out the wrong way round: `NumberForm.inverts` is the one place that knows.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from math import inf

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.definitions import INCH_M, LITRE_M3
from wetrun.spray.orifice import size_number
from wetrun.units import M3, RATIO, Kgpm3, M, Ratio

IMPERIAL_GALLON_M3: M3 = 4.54609 * LITRE_M3
FOOT_M: M = 12.0 * INCH_M


class Convention(StrEnum):
    """Which way round a number is kept."""

    PULSES_PER_AMOUNT = "pulses per amount"
    AMOUNT_PER_PULSE = "amount per pulse"
    PLAIN = "the quantity itself"
    ROOT = "square root of the quantity"
    SIZE = "size as stamped on a tip"


_POWERS = {
    Convention.PULSES_PER_AMOUNT: 1.0,
    Convention.PLAIN: 1.0,
    Convention.AMOUNT_PER_PULSE: -1.0,
    Convention.ROOT: 0.5,
    Convention.SIZE: 1.0,
}


@dataclass(frozen=True, slots=True)
class NumberForm:
    """How a monitor writes a quantity.

    Attributes
    ----------
    words : str
        Its unit as the monitor prints it, such as "pulses per 10 gal".
    convention : Convention
        Which way round.
    one : float
        The quantity, in SI, that the monitor writes as 1.
    """

    words: str
    convention: Convention
    one: float

    @property
    def inverts(self) -> bool:
        """True if the number falls where the quantity (pulses for the same amount) rises."""
        return _POWERS[self.convention] < 0.0

    def typed(self, quantity: float) -> float:
        """Return what the monitor would show for a quantity in SI, unrounded.

        Example
        -------
        >>> from wetrun.spray.definitions import US_GALLON_M3
        >>> per_gal = pulses_per("pulses per US gal", US_GALLON_M3)
        >>> round(per_gal.typed(per_gal.quantity(642.0)), 9)
        642.0
        """
        return float((self._positive(quantity) / self.one) ** _POWERS[self.convention])

    def quantity(self, typed: float) -> float:
        """Return the quantity in SI that a typed number means."""
        return float(self._positive(typed) ** (1.0 / _POWERS[self.convention])) * self.one

    def rescaled(self, typed: float, quantity_ratio: Ratio) -> float:
        """Return the number for a quantity that is larger by a ratio [ratio]; an inverse form goes down.

        Example
        -------
        >>> amount_per_pulse("mL per pulse", 1e-6).rescaled(5.0, 1.25)
        4.0
        """
        if not quantity_ratio > 0.0:
            raise OutOfRange("ratio of new to old", quantity_ratio, RATIO, low=0.0, remedy="Check both readings.")
        return float(typed * quantity_ratio ** _POWERS[self.convention])

    def _positive(self, number: float) -> float:
        if not 0.0 < number < inf:
            raise NotDefined(
                f"a number of {number:g} {self.words}",
                reason="it must be above zero and finite",
                remedy="Read the monitor again",
            )
        return number


def pulses_per(words: str, amount: float) -> NumberForm:
    """Return the form of pulses counted over an amount in SI (metres or cubic metres).

    Example
    -------
    >>> from wetrun.spray.definitions import US_GALLON_M3
    >>> ten = pulses_per("pulses per 10 US gal", 10.0 * US_GALLON_M3)
    >>> one = pulses_per("pulses per US gal", US_GALLON_M3)
    >>> round(ten.quantity(6420.0) / one.quantity(642.0), 12)
    1.0
    """
    return NumberForm(words, Convention.PULSES_PER_AMOUNT, 1.0 / amount)


def amount_per_pulse(words: str, amount: float, *, pulses: float = 1.0) -> NumberForm:
    """Return the form of an amount in SI for one pulse, or for several as some monitors count.

    Example
    -------
    >>> amount_per_pulse("mL per pulse", 1e-6).quantity(2.0)
    500000.0
    """
    return NumberForm(words, Convention.AMOUNT_PER_PULSE, pulses / amount)


def plain(words: str, unit: float) -> NumberForm:
    """Return the form of a quantity typed as itself; `unit` is one of the monitor's units in SI.

    Example
    -------
    >>> from wetrun.spray.definitions import pounds_per_gallon_kgpm3
    >>> round(plain("lb/US gal", pounds_per_gallon_kgpm3(1.0)).typed(998.2), 2)
    8.33
    """
    return NumberForm(words, Convention.PLAIN, unit)


def gravity(words: str = "specific gravity", reference_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3) -> NumberForm:
    """Return the form of density over that of water [kg/m3], which some monitors take for 8.34 lb/gal.

    Example
    -------
    >>> round(gravity().typed(1278.0), 3)
    1.28
    """
    return NumberForm(words, Convention.PLAIN, reference_kgpm3)


def density_factor(words: str = "density factor", reference_kgpm3: Kgpm3 = REFERENCE_WATER_KGPM3) -> NumberForm:
    """Return the form of the root of specific gravity, with the density of water [kg/m3] it refers to.

    Example
    -------
    >>> round(density_factor().typed(1278.0), 2)
    1.13
    """
    return NumberForm(words, Convention.ROOT, reference_kgpm3)


@dataclass(frozen=True, slots=True)
class TypedNumber:
    """A number exactly as it was typed or read off, with the form it was typed in.

    Attributes
    ----------
    text : str
        As typed; kept to the last zero.
    form : NumberForm
        What it means.
    """

    text: str
    form: NumberForm

    @property
    def number(self) -> float:
        """The typed number, in the monitor's own unit; a comma is read as the decimal point."""
        if self.form.convention is Convention.SIZE:
            return size_number(self.text)
        try:
            return float(Decimal(self.text.strip().replace(",", ".")))
        except ArithmeticError as error:
            raise NotDefined(
                f"“{self.text}” for {self.form.words}",
                reason="it is not a number",
                remedy="Type digits as the monitor shows them",
            ) from error

    @property
    def quantity(self) -> float:
        """What it means, in SI."""
        return self.form.quantity(self.number)

    @property
    def half_digit_ratio(self) -> Ratio:
        """What half of the last digit typed is worth of the quantity, at most [ratio]; a stamped size is exact."""
        if self.form.convention is Convention.SIZE:
            return 0.0
        exponent = Decimal(self.text.strip().replace(",", ".")).as_tuple().exponent
        half = 0.5 * 10.0 ** (exponent if isinstance(exponent, int) else 0)
        ends = (self.form.quantity(self.number + end) for end in (half, -half) if self.number + end > 0.0)
        return max(abs(end / self.quantity - 1.0) for end in ends)
