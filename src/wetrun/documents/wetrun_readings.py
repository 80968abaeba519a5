"""Readings tip by tip: a list in one unit or a table by position, with gaps; volume, weight or flow by the unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from wetrun.documents.refusing import refuse
from wetrun.errors import QuantityRefused
from wetrun.quantity import Kind, Typed, read

_KINDS: Final = (Kind.VOLUME, Kind.MASS, Kind.TIP_FLOW)
NO_FLOW: Final = "no flow"
"""Written at a tip that was caught and gave nothing."""
_REMEDY: Final = 'Write unit = "fl oz" once and readings = [51.2, 50.9, "", 51.0], or each with its own unit'


def kind_of_unit_text(unit: str) -> Kind:
    """Return what a unit measures at a tip: volume, weight or flow.

    Parameters
    ----------
    unit : str
        As typed.

    Returns
    -------
    Kind
        One of the three.

    Raises
    ------
    PydanticCustomError
        If it is none of them.

    Example
    -------
    >>> kind_of_unit_text("fl oz").name, kind_of_unit_text("L/min").name
    ('VOLUME', 'TIP_FLOW')
    """
    for kind in _KINDS:
        try:
            read(f"1 {unit}", kind)
        except QuantityRefused:
            continue
        return kind
    raise refuse(
        "the unit of a volume, a weight or a flow belongs here", 'Write unit = "fl oz", "g" or "gal/min"', at="unit"
    )


def tip_readings(value: object, unit: str, *, at: str = "readings") -> dict[int, Typed | None]:
    """Return readings by position.

    Parameters
    ----------
    value : object
        A list along the boom, or a table whose keys are positions; ``""`` is a gap.
    unit : str
        Unit of bare numbers; empty if each reading has its own.
    at : str
        Key of the readings, for what is refused.

    Returns
    -------
    dict of int to Typed or None
        By position, 1 at the left end; None where the row is there and blank.

    Raises
    ------
    PydanticCustomError
        A reading that is no number, has no unit or another kind of unit than the rest.
    """
    usual = kind_of_unit_text(unit) if unit else None
    found = {position: _reading(each, f"{at}[{position}]", unit, usual) for position, each in _rows(value, at)}
    kinds = {typed.kind for typed in found.values() if typed is not None}
    if len(kinds) > 1:
        words = " and ".join(sorted(kind.value.words for kind in kinds))
        raise refuse(f"these readings mix {words}", "Type all tips in one kind of unit", at=at)
    return found


def dry_tips(value: object, *, at: str = "readings") -> frozenset[int]:
    """Return the positions whose reading is written as no flow: caught, and nothing came.

    Parameters
    ----------
    value : object
        As `tip_readings` takes it.
    at : str
        Key of the readings, for what is refused.

    Returns
    -------
    frozenset of int
        A bare zero is not among them: it may be a tip that nobody caught.

    Example
    -------
    >>> sorted(dry_tips([51.2, "no flow", 0, ""]))
    [2]
    """
    return frozenset(position for position, each in _rows(value, at) if each == NO_FLOW)


def _rows(value: object, at: str) -> Iterator[tuple[int, object]]:
    if isinstance(value, list):
        yield from enumerate(value, start=1)
        return
    if not isinstance(value, Mapping):
        raise refuse("a list of readings, or a table by position, belongs here", _REMEDY, at=at)
    for key, each in value.items():
        if not (str(key).isascii() and str(key).isdigit() and 0 < int(key) < 1000):
            raise refuse(f"“{key}” is no position", "Positions count from 1 at the left end", at=at)
        yield int(key), each


def _reading(value: object, at: str, unit: str, usual: Kind | None) -> Typed | None:
    if value == "":
        return None
    if value == NO_FLOW:
        if usual is None:
            remedy = 'Write unit = "fl oz" once, or the reading as "0 fl oz" with its answer under [[stands]]'
            raise refuse("without a unit for the sheet it is nothing of nothing", remedy, at=at)
        return read("0", usual, default_unit=unit)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise refuse("a reading belongs here", _REMEDY, at=at)
    if isinstance(value, int | float) and not unit:
        raise refuse("it has no unit", _REMEDY, at=at)
    refusals = []
    for kind in (usual,) if usual is not None else _KINDS:
        try:
            return read(str(value), kind, default_unit=unit or None)
        except QuantityRefused as refused:
            refusals.append(refused)
    raise refuse(f"it {refusals[0].reason}", _REMEDY, at=at)


def schema_of_readings() -> dict[str, Any]:
    """Return the JSON Schema of readings tip by tip."""
    one = {"anyOf": [{"type": "number"}, {"type": "string"}]}
    return {
        "anyOf": [
            {"type": "array", "items": one, "minItems": 1, "maxItems": 999},
            {"type": "object", "additionalProperties": one, "minProperties": 1},
        ],
        "description": 'readings along the boom, or by position; "" is a gap, "no flow" a tip that gave nothing',
        "examples": [[51.2, 50.9, "", 51.0]],
    }
