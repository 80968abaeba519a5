"""A quantity typed after an option, refused in a sentence that names the option."""

from __future__ import annotations

from wetrun.errors import InputProblems, Problem, QuantityRefused
from wetrun.quantity import Kind, Typed, read


def typed_option(option: str, text: str, kind: Kind, *, positive: bool = True) -> float:
    """Return the SI value of what was typed after an option.

    Parameters
    ----------
    option : str
        Such as "--radius".
    text : str
        What was typed.
    kind : Kind
        What it is.
    positive : bool
        Refuse zero as well as what is below it.

    Returns
    -------
    float
        In the kind's unit inside.

    Raises
    ------
    InputProblems
        What cannot be read, or must not be that small.
    """
    value = read_option(option, text, kind).si_value
    if value < 0.0 or (positive and value == 0.0):
        limit = "it must be above zero" if positive else "it must not be negative"
        raise InputProblems([Problem(option, text, "", limit, _like(kind))])
    return value


def read_option(option: str, text: str, kind: Kind) -> Typed:
    """Return what was typed after an option, with its unit and whatever its size.

    Parameters
    ----------
    option : str
        Such as "--radius".
    text : str
        What was typed.
    kind : Kind
        What it is.

    Returns
    -------
    Typed
        The value, and the unit it was typed in.

    Raises
    ------
    InputProblems
        What cannot be read.
    """
    try:
        return read(text, kind)
    except QuantityRefused as refusal:
        raise InputProblems([Problem(option, text, "", refusal.reason, _like(kind))]) from None


def _like(kind: Kind) -> str:
    return f"Write it like {kind.value.example!r}"
