"""What changed between two states of a record, as a reader sees it: where, what was there, what is there now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, Final

from django.db import models

LONGEST_SHOWN: Final = 400
NOT_TOLD: Final = frozenset(
    {"id", "branch", "made_at", "made_by", "changed_at", "version", "in_us", "in_si", "map", "received", "password"}
)
"""Columns the trail does not repeat: keys and clocks, what is computed from the rest, and what nobody may read."""
_PLAIN: Final = (bool, int, float, str, date, datetime, time, list, dict, tuple)


@dataclass(frozen=True, slots=True)
class Difference:
    """One place that changed.

    Attributes
    ----------
    place : str
        Its keys, outermost first.
    was, now : str
        What stood and stands there; empty for nothing.
    """

    place: str
    was: str
    now: str


def columns_of(record: models.Model) -> dict[str, Any]:
    """Return the columns of a record that the trail tells of, as a document.

    Parameters
    ----------
    record : Model
        Any.

    Returns
    -------
    dict
        Records it names stand there by their key.
    """
    told = (field for field in record._meta.concrete_fields if field.name not in NOT_TOLD)
    return {field.name: _plain(getattr(record, field.attname)) for field in told}


def moved(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return only what differs between two documents, on both sides.

    Parameters
    ----------
    before, after : mapping
        Documents.

    Returns
    -------
    tuple of dict
        What was, and what is.

    Example
    -------
    >>> moved({"name": "North", "paper": "a4"}, {"name": "South", "paper": "a4"})
    ({'name': 'North'}, {'name': 'South'})
    """
    keys = [key for key in {**before, **after} if before.get(key) != after.get(key)]
    return {key: before[key] for key in keys if key in before}, {key: after[key] for key in keys if key in after}


def differences(before: Any, after: Any) -> tuple[Difference, ...]:  # noqa: ANN401 - documents
    """Return every place in which two documents differ, in the order of the documents.

    Parameters
    ----------
    before, after : document
        None counts as an empty one.

    Returns
    -------
    tuple of Difference
        Rows of a list are told apart by their ``name`` if each has its own, else by their number.

    Example
    -------
    >>> differences({"rate": "10 gal/ac", "crop": "corn"}, {"rate": "12 gal/ac", "crop": "corn"})
    (Difference(place='rate', was='10 gal/ac', now='12 gal/ac'),)
    """
    return tuple(_walk((), {} if before is None else before, {} if after is None else after))


def _walk(place: tuple[str, ...], was: Any, now: Any) -> Iterator[Difference]:  # noqa: ANN401
    was_rows, now_rows = _rows(was), _rows(now)
    if was_rows is None or now_rows is None:
        if was != now:
            yield Difference(" › ".join(place), _shown(was), _shown(now))
        return
    for key in {**was_rows, **now_rows}:
        yield from _walk((*place, key), was_rows.get(key, _nothing(now_rows, key)), now_rows.get(key, ""))


def _nothing(rows: Mapping[str, Any], key: str) -> Any:  # noqa: ANN401
    """Return what stands for a missing part, so that a new table is told key by key."""
    return {} if isinstance(rows.get(key), dict) else ""


def _rows(document: Any) -> Mapping[str, Any] | None:  # noqa: ANN401
    if isinstance(document, dict):
        return {str(key): value for key, value in document.items()}
    if not isinstance(document, list) or not any(isinstance(row, (dict, list)) for row in document):
        return None
    names = [str(row.get("name", "")) if isinstance(row, dict) else "" for row in document]
    if all(names) and len(set(names)) == len(names):
        return dict(zip(names, document, strict=True))
    return {str(number): row for number, row in enumerate(document, start=1)}


def _shown(value: Any) -> str:  # noqa: ANN401
    if isinstance(value, dict):
        text = ", ".join(f"{key}: {_shown(part)}" for key, part in value.items())
    elif isinstance(value, list):
        text = ", ".join(map(_shown, value))
    else:
        text = "" if value is None else str(value)
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}…"


def _plain(value: Any) -> Any:  # noqa: ANN401
    return value if value is None or isinstance(value, _PLAIN) else str(value)
