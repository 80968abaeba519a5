"""Shows SI numbers in the reader's unit system, with as many digits as the trade reads."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

from wetrun.quantity.kinds import Kind, System
from wetrun.quantity.reading import SI_EXPRESSIONS
from wetrun.quantity.registry import registry, unit_of_expression
from wetrun.quantity.spellings import unit_words

if TYPE_CHECKING:
    import numpy as np
    import pint
    from numpy.typing import NDArray


def unit_text(kind: Kind, system: System) -> str:
    """Return the unit a kind is shown in.

    Parameters
    ----------
    kind : Kind
        What is shown.
    system : System
        The reader's unit system.

    Returns
    -------
    str
        Unit, empty for a plain number.

    Example
    -------
    >>> unit_text(Kind.SPACING, System.US)
    'in'
    """
    return kind.shown_in(system)


def to_display(si_value: float, kind: Kind, system: System) -> float:
    """Return the number to show for an SI value.

    Parameters
    ----------
    si_value : float
        Value in the kind's unit inside.
    kind : Kind
        What it is.
    system : System
        The reader's unit system.

    Returns
    -------
    float
        Number in `unit_text(kind, system)`, unrounded.

    Example
    -------
    >>> to_display(250000.0, Kind.PRESSURE, System.SI)
    2.5
    """
    inside, shown = _inside(kind), _shown(kind, system)
    return float(registry().Quantity(si_value, inside).m_as(shown))


def to_display_array(si_values: NDArray[np.float64], kind: Kind, system: System) -> NDArray[np.float64]:
    """Return the numbers to show for an array of SI values, for charts and tables.

    Parameters
    ----------
    si_values : ndarray of float, any shape
        Values in the kind's unit inside.
    kind : Kind
        What they are.
    system : System
        The reader's unit system.

    Returns
    -------
    ndarray of float, same shape
        Numbers in `unit_text(kind, system)`.
    """
    units = registry()
    return units.convert(si_values, _inside(kind), _shown(kind, system))


def from_display(shown_value: float, kind: Kind, system: System) -> float:
    """Return the SI value of a shown number; the inverse of `to_display`.

    Parameters
    ----------
    shown_value : float
        Number in `unit_text(kind, system)`.
    kind : Kind
        What it is.
    system : System
        The reader's unit system.

    Returns
    -------
    float
        Value in the kind's unit inside.

    Example
    -------
    >>> from_display(2.5, Kind.PRESSURE, System.SI)
    250000.0
    """
    return float(registry().Quantity(shown_value, _shown(kind, system)).m_as(_inside(kind)))


def decimals_to_show(shown_value: float, digits: int) -> int:
    """Return how many decimals give a number its significant digits, never fewer than none.

    Parameters
    ----------
    shown_value : float
        Number as shown.
    digits : int
        Significant digits wanted.

    Returns
    -------
    int
        Decimals; 0 for numbers that have their digits before the point.

    Example
    -------
    >>> decimals_to_show(12.34, 3), decimals_to_show(1234.5, 3), decimals_to_show(0.01234, 3)
    (1, 0, 4)
    """
    if shown_value == 0 or not math.isfinite(shown_value):
        return 0
    return max(digits - 1 - math.floor(math.log10(abs(shown_value))), 0)


def show(si_value: float, kind: Kind, system: System, *, digits: int | None = None) -> str:
    """Return a value as a reader reads it: number, space, unit.

    Parameters
    ----------
    si_value : float
        Value in the kind's unit inside.
    kind : Kind
        What it is.
    system : System
        The reader's unit system.
    digits : int or None
        Significant digits; None takes the kind's own.

    Returns
    -------
    str
        Such as "15.0 gal/ac". No thousands are parted, so that `read` takes it back.

    Example
    -------
    >>> show(300000.0, Kind.PRESSURE, System.US)
    '43.5 psi'
    """
    shown_value = to_display(si_value, kind, system)
    unit = unit_text(kind, system)
    if math.isnan(shown_value):
        return "not a number"
    if math.isinf(shown_value):
        return "no upper limit" if shown_value > 0 else "no lower limit"
    number = f"{shown_value:.{decimals_to_show(shown_value, digits or kind.value.digits)}f}"
    return f"{number} {unit}".rstrip()


@cache
def _inside(kind: Kind) -> pint.Unit:
    return unit_of_expression(SI_EXPRESSIONS[kind.value.shape])


@cache
def _shown(kind: Kind, system: System) -> pint.Unit:
    words = unit_words(unit_text(kind, system))
    if words is None:
        raise LookupError(f"{kind.name} is shown in a unit nobody can type")
    return unit_of_expression(words.expression)
