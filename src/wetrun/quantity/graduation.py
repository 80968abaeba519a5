"""The least a gauge, jug or scale shows, and counts of it as people read them: 18 gal 96 fl oz, 70.52 L."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from wetrun.quantity.kinds import Kind, System
from wetrun.quantity.reading import Typed, read
from wetrun.quantity.registry import registry, unit_of_expression
from wetrun.quantity.spellings import unit_words

# Units of each system that a measure may be graduated in, each with the larger unit its counts are gathered in.
_GATHERED: Final = {
    System.US: {"fl oz": "gal", "pt": "gal", "qt": "gal", "gal": "", "oz": "lb", "lb": ""},
    System.SI: {"mL": "L", "L": "", "g": "kg", "kg": ""},
}


@dataclass(frozen=True, slots=True)
class Graduation:
    """The step of a measure in the unit it is marked in.

    Attributes
    ----------
    kind : Kind
        `Kind.VOLUME` or `Kind.MASS`.
    size : Decimal
        Size of the step, in `unit`.
    unit : str
        The unit it is marked in.
    larger : str
        The unit counts are gathered in; empty for none.
    """

    kind: Kind
    size: Decimal
    unit: str
    larger: str = ""

    @property
    def text(self) -> str:
        """The step as a person writes it."""
        return f"{self.size:f} {self.unit}"

    def si_value(self) -> float:
        """Return the step in the kind's unit inside."""
        return read(self.text, self.kind).si_value

    def parts(self, count: int) -> tuple[tuple[Decimal, str], ...]:
        """Return a count of steps as amounts with their units, the larger unit first.

        Parameters
        ----------
        count : int
            Steps, not negative.

        Returns
        -------
        tuple of (Decimal, str)
            Exact; parts that are nothing are left out, but one always stands.

        Example
        -------
        >>> Graduation(Kind.VOLUME, Decimal(1), "fl oz", "gal").parts(2400)
        ((Decimal('18'), 'gal'), (Decimal('96'), 'fl oz'))
        """
        amount = count * self.size
        if not self.larger:
            return ((amount, self.unit),)
        if self.larger in _DECIMAL:
            step = (self.size / _in_larger(self.larger, self.unit)).normalize()
            return (((amount / _in_larger(self.larger, self.unit)).quantize(step), self.larger),)
        whole, rest = divmod(amount, _in_larger(self.larger, self.unit))
        shown = [(whole, self.larger), (rest, self.unit)]
        return tuple(part for part in shown if part[0]) or ((rest, self.unit),)


_DECIMAL: Final = frozenset({"L", "kg"})
USUAL_GAUGE: Final = {
    System.US: Graduation(Kind.VOLUME, Decimal(1), "gal"),
    System.SI: Graduation(Kind.VOLUME, Decimal(1), "L"),
}
USUAL_JUG: Final = {
    System.US: Graduation(Kind.VOLUME, Decimal(1), "fl oz", "gal"),
    System.SI: Graduation(Kind.VOLUME, Decimal(10), "mL", "L"),
}
USUAL_SCALE: Final = {
    System.US: Graduation(Kind.MASS, Decimal(1), "oz", "lb"),
    System.SI: Graduation(Kind.MASS, Decimal(10), "g", "kg"),
}


def graduation_of_text(text: str, kind: Kind, system: System) -> Graduation | None:
    """Return the graduation somebody typed, if a reader of this unit system can use it.

    Parameters
    ----------
    text : str
        Such as ``2 fl oz``.
    kind : Kind
        `Kind.VOLUME` or `Kind.MASS`.
    system : System
        The reader's unit system.

    Returns
    -------
    Graduation or None
        None for a measure marked in units of the other system.

    Raises
    ------
    QuantityRefused
        If it is no quantity of this kind.

    Example
    -------
    >>> graduation_of_text("2 fl oz", Kind.VOLUME, System.US).text
    '2 fl oz'
    >>> graduation_of_text("2 fl oz", Kind.VOLUME, System.SI) is None
    True
    """
    typed = read(text, kind)
    meant = unit_words(typed.unit_text)
    for unit, larger in _GATHERED[system].items():
        if unit_words(unit) == meant:
            return Graduation(kind, _number_of(typed), unit, larger)
    return None


def _number_of(typed: Typed) -> Decimal:
    digits = typed.text.removesuffix(typed.unit_text).strip().replace(",", ".")
    return Decimal(digits).normalize() + 0


def _in_larger(larger: str, unit: str) -> Decimal:
    """How many of a unit make the larger one; a whole number in both systems."""
    one, other = unit_words(larger), unit_words(unit)
    if one is None or other is None:
        raise LookupError(f"{larger} or {unit} is a unit nobody can type")
    ratio = registry().Quantity(1, unit_of_expression(one.expression)).m_as(unit_of_expression(other.expression))
    return Decimal(round(float(ratio)))
