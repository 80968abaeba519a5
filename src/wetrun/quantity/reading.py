"""Reads what people type: a number, a unit, in either decimal notation; or says what is accepted instead."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from wetrun.errors import QuantityRefused
from wetrun.quantity.kinds import Kind
from wetrun.quantity.registry import registry, unit_of_expression
from wetrun.quantity.spellings import UnitWords, spellings_of_shape, unit_words

SI_EXPRESSIONS: Final[dict[str, str]] = {
    "pressure": "pascal",
    "length per time": "meter/second",
    "volume per area": "meter**3/meter**2",
    "mass per area": "kilogram/meter**2",
    "volume per time": "meter**3/second",
    "volume per time per length": "meter**2/second",
    "area": "meter**2",
    "length": "meter",
    "volume": "meter**3",
    "mass": "kilogram",
    "mass per volume": "kilogram/meter**3",
    "temperature": "kelvin",
    "time": "second",
    "frequency": "hertz",
    "angle": "radian",
    "share": "",
    "volume per volume": "",
    "volume share": "",
    "": "",
}

_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")
_LONGEST: Final = 80


@dataclass(frozen=True, slots=True)
class Typed:
    """A quantity beside the text it was typed as.

    Attributes
    ----------
    si_value : float
        The value in the kind's unit inside.
    text : str
        What was typed.
    unit_text : str
        The unit it was read in, as typed or as printed at the field.
    kind : Kind
        What it is.
    """

    si_value: float
    text: str
    unit_text: str
    kind: Kind


def read(text: str, kind: Kind, *, default_unit: str | None = None) -> Typed:
    """Return the quantity a person typed.

    Parameters
    ----------
    text : str
        Such as ``15 gal/ac`` or ``3,5 bar``.
    kind : Kind
        What the field asks for.
    default_unit : str or None
        The unit printed at the field, taken by a bare number; None if the field prints none.

    Returns
    -------
    Typed
        SI value and text.

    Raises
    ------
    QuantityRefused
        If it is not one finite number with a unit of this kind. The refusal says what is accepted.

    Notes
    -----
    A decimal comma is read as one; a comma before exactly three digits could also part thousands, so it is asked back.
    Fractions, ranges and sums are not read.

    Example
    -------
    >>> read("3,5 bar", Kind.PRESSURE).si_value
    350000.0
    """
    typed = text.replace("\u2212", "-").replace("\u00a0", " ").strip()
    number_text, unit_text = _parts(typed, kind)
    value = _number(number_text, typed, kind)
    if not unit_text and default_unit is not None:
        unit_text = default_unit
    words = _words(unit_text, typed, kind, number_text)
    return Typed(_to_si(value, words, typed, kind), text.strip(), unit_text, kind)


def refusal(text: str, kind: Kind, reason: str) -> QuantityRefused:
    """Return the refusal of a text, with what is accepted for its kind.

    Parameters
    ----------
    text : str
        What was typed.
    kind : Kind
        What was asked for.
    reason : str
        What is wrong, following the text in a sentence.

    Returns
    -------
    QuantityRefused
        Ready to raise.
    """
    shown = text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"
    offered = spellings_of_shape(kind.value.shape)
    own = tuple(unit for unit in dict.fromkeys((kind.value.us, kind.value.si)) if offered and unit not in offered)
    accepted = (*own, *offered) or (f"a plain number such as {kind.value.example}",)
    return QuantityRefused(shown, reason=reason, accepted=accepted)


def _parts(typed: str, kind: Kind) -> tuple[str, str]:
    if not typed:
        raise refusal(typed, kind, f"is empty; write {kind.value.words}, for example {kind.value.example}")
    match = _NUMBER.match(typed) if len(typed) <= _LONGEST else None
    if match is None:
        raise refusal(typed, kind, f"does not begin with a number; write it like {kind.value.example}")
    unit_text = typed[match.end() :].strip()
    if re.match(r"(?:[-–+/]|to\b|\.\.)?\s*[0-9]", unit_text):
        raise refusal(typed, kind, f"holds more than one number; write one, like {kind.value.example}")
    return match.group(), unit_text


def _number(number_text: str, typed: str, kind: Kind) -> float:
    digits, _, power = number_text.casefold().partition("e")
    commas, dots = digits.count(","), digits.count(".")
    if commas == 1 and dots == 0 and re.fullmatch(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}", digits):
        plain, decimal = digits.replace(",", ""), digits.replace(",", ".")
        raise refusal(typed, kind, f"could mean {plain} or {decimal}; write the one that is meant, without a comma")
    if commas + dots > 1:
        raise refusal(typed, kind, "parts thousands; write the number without them, for example 1500 or 1500.5")
    value = float(digits.replace(",", ".") + (f"e{power}" if power else ""))
    if not math.isfinite(value):
        raise refusal(typed, kind, "is too large to be a number")
    return value


def _words(unit_text: str, typed: str, kind: Kind, number_text: str) -> UnitWords:
    facts = kind.value
    words = unit_words(unit_text)
    if words is None:
        hint = "; oz is a weight and fl oz a volume" if "oz" in unit_text.casefold() else ""
        raise refusal(typed, kind, f"has a unit not known here, “{unit_text}”{hint}")
    if words.shape == facts.shape:
        return words
    if not words.shape:
        raise refusal(typed, kind, f"has no unit; write for example {number_text} {facts.us}")
    if not facts.shape:
        raise refusal(typed, kind, f"has a unit, “{unit_text}”, where a plain number belongs")
    hint = "; oz is a weight, write fl oz for a liquid" if "oz" in unit_text.casefold() else ""
    raise refusal(typed, kind, f"is {words.shape} where {facts.words} ({facts.shape}) belongs{hint}")


def _to_si(value: float, words: UnitWords, typed: str, kind: Kind) -> float:
    unit = unit_of_expression(words.expression)
    si_value = float(registry().Quantity(value, unit).m_as(unit_of_expression(SI_EXPRESSIONS[kind.value.shape])))
    if not math.isfinite(si_value):
        raise refusal(typed, kind, "is too large to be a number")
    return si_value
