"""What stands in a wet run's document, whatever state it is in: tables, rows, what was caught, what was begun."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from wetrun.documents.wetrun_build_yard import GATES

Document = Mapping[str, Any]
CAUGHT_AT: Final = ("catch.readings.", "catch.low.readings.")
"""Where what single tips gave is kept reading by reading, never in the document itself."""
_READ_IN: Final = {
    "course": ("run",),
    "meter": ("catch",),
    "catch": ("readings", "swap", "low"),
    "pressure": ("gauge",),
    "ramp": ("step",),
    "monitor": ("as_found", "as_left"),
    "evenness": ("grooves", "height"),
}
"""Where readings stand in the tables that can be made ready before anything is read."""


def rows_of(document: Document, *keys: str) -> list[Any]:
    """Return the rows of a list inside a document; none where it has no such list."""
    found: Any = document
    for key in keys:
        found = found.get(key) if isinstance(found, Mapping) else None
    return list(found) if isinstance(found, list) else []


def table_of(document: Document, *keys: str) -> dict[str, Any]:
    """Return a table inside a document; an empty one where it has none."""
    found: Any = document
    for key in keys:
        found = found.get(key) if isinstance(found, Mapping) else None
    return dict(found) if isinstance(found, Mapping) else {}


def caught(readings: object) -> dict[str, str]:
    """Return readings tip by tip as texts by position, blanks left out.

    Example
    -------
    >>> caught([39.2, "", 39.7]), caught({"7": "no flow"})
    ({'1': '39.2', '3': '39.7'}, {'7': 'no flow'})
    """
    rows: dict[str, Any] = {}
    if isinstance(readings, list):
        rows = {str(at): each for at, each in enumerate(readings, start=1)}
    elif isinstance(readings, Mapping):
        rows = {str(key): each for key, each in readings.items()}
    return {tip: str(each) for tip, each in rows.items() if str(each).strip()}


def begun(document: Document) -> dict[str, Any]:
    """Return a wet run's document without the tables in which nothing was read yet: they are made ready, not tested.

    Example
    -------
    >>> begun({"course": {"length": "300 ft", "run": []}, "screen": {"rate": "15 gal/ac"}})
    {'screen': {'rate': '15 gal/ac'}}
    """
    return {key: value for key, value in document.items() if key not in _READ_IN or _is_read(key, value)}


def _is_read(key: str, table: object) -> bool:
    """Whether something was read; what is no table is left to its loader."""
    if not isinstance(table, Mapping):
        return True
    return any(
        caught(each) if each_key == "readings" else each for each_key in _READ_IN[key] if (each := table.get(each_key))
    )


def has_every_gate(document: Document) -> bool:
    """Return whether every gate is answered, well or not: before that no water flows."""
    return set(GATES) <= set(table_of(document, "gates"))
