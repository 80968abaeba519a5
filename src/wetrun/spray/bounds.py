"""What a number may be: the array type of the room, and checks that refuse a bad value in a sentence.

A scalar that is not finite is refused. In an array NaN means "not known" and passes through; a negative or infinite
element is refused.
"""

from __future__ import annotations

import math
from typing import Annotated, TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

from wetrun.errors import OutOfRange
from wetrun.units import KILOGRAM_PER_CUBIC_METRE, Unit

FloatArray: TypeAlias = npt.NDArray[np.float64]
Amount = TypeVar("Amount", float, FloatArray)
"""A float in gives a float out, an array in gives an array out."""


def check_positive(thing: str, value: float | FloatArray, unit: Unit, *, remedy: str) -> None:
    """Refuse a value that is zero, negative or infinite (and a scalar that is NaN).

    Raises
    ------
    OutOfRange
        The first offending value, with its unit and the remedy.
    """
    _refuse_where(np.asarray(value) <= 0.0, value, (thing, unit, remedy))


def check_not_negative(thing: str, value: float | FloatArray, unit: Unit, *, remedy: str) -> None:
    """Refuse a value that is negative or infinite (and a scalar that is NaN).

    Raises
    ------
    OutOfRange
        The first offending value, with its unit and the remedy.
    """
    _refuse_where(np.asarray(value) < 0.0, value, (thing, unit, remedy))


def check_density(density_kgpm3: Annotated[float | FloatArray, KILOGRAM_PER_CUBIC_METRE], *, of: str = "") -> None:
    """Refuse a density [kg/m3] that is not positive, and say how it is found; `of` names the liquid.

    Raises
    ------
    OutOfRange
        The first offending value, with its unit and the remedy.

    Example
    -------
    >>> check_density(0.0, of="the rows")
    Traceback (most recent call last):
    wetrun.errors.OutOfRange: density of the rows is 0.0 kg/m3: it must be at least 0.0 kg/m3. Enter the weight of a \
measured volume of the liquid.
    """
    thing = f"density of {of}" if of else "density"
    remedy = "Enter the weight of a measured volume of the liquid."
    check_positive(thing, density_kgpm3, KILOGRAM_PER_CUBIC_METRE, remedy=remedy)


def square_root(value: Amount) -> Amount:
    """Return the square root, a plain float for a float."""
    if isinstance(value, np.ndarray):
        return np.sqrt(value)
    return math.sqrt(value)


def _refuse_where(bad: npt.NDArray[np.bool_], value: float | FloatArray, words: tuple[str, Unit, str]) -> None:
    values = np.asarray(value, dtype=np.float64)
    offending = bad | np.isinf(values)
    if values.ndim == 0:
        offending |= np.isnan(values)
    if np.any(offending):
        thing, unit, remedy = words
        first = float(values[offending][0]) if values.ndim else float(values)
        raise OutOfRange(thing, first, unit, low=0.0, remedy=remedy)
