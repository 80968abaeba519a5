"""Turns what a model refused into problems: the key as it was typed, its value, the limit and the remedy."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from wetrun.documents.fields import Quantity
from wetrun.documents.refusing import REFUSED
from wetrun.errors import Problem, ended

Place = tuple[int | str, ...]

_LONGEST: Final = 60
_SENTENCES: Final[dict[str, tuple[str, str]]] = {
    "literal_error": ("it must be one of {expected}", "Write one of these, in quotes if it is text"),
    "int_type": ("a whole number belongs here", "Write it without quotes and without a point"),
    "bool_type": ("true or false belongs here", "Write true or false without quotes"),
    "list_type": ("a list belongs here", "Put it in square brackets, or repeat the table with [[…]]"),
    "model_type": ("a table belongs here", "Write it as a [table] or as { key = value }"),
    "greater_than_equal": ("it must be at least {ge}", "Correct the number"),
    "less_than_equal": ("it must be at most {le}", "Correct the number"),
    "too_short": ("it must hold at least {min_length}", "Add what is missing"),
    "too_long": ("it may hold at most {max_length}", "Split the season, or leave out what is not needed"),
}


@dataclass(frozen=True, slots=True)
class Document:
    """A document being read.

    Attributes
    ----------
    file : str
        Its name in sentences.
    raw : dict
        What was typed, as parsed.
    model : type of BaseModel
        What it should be.
    """

    file: str
    raw: dict[str, Any]
    model: type[BaseModel]


def problems_of(refused: ValidationError, document: Document) -> tuple[Problem, ...]:
    """Return every refusal as a problem of the document.

    Parameters
    ----------
    refused : ValidationError
        What the model said.
    document : Document
        What was read.

    Returns
    -------
    tuple of Problem
        In the order of the document's model.
    """
    return tuple(_problem(detail, document) for detail in refused.errors(include_url=False))


def typed_at(raw: object, place: Iterable[int | str]) -> object:
    """Return what was typed at a place, or None.

    Parameters
    ----------
    raw : object
        What was typed, as parsed.
    place : iterable of int or str
        Keys and positions (from 0).

    Returns
    -------
    object
        The value, None if there is nothing.
    """
    for step in place:
        if isinstance(raw, dict) and isinstance(step, str):
            raw = raw.get(step)
        elif isinstance(raw, list) and isinstance(step, int) and step < len(raw):
            raw = raw[step]
        else:
            return None
    return raw


def key_of_place(raw: object, place: Sequence[int | str]) -> str:
    """Return a place as a person finds it: positions count from 1, and a pass is named.

    Parameters
    ----------
    raw : object
        What was typed, as parsed.
    place : sequence of int or str
        Keys and positions (from 0).

    Returns
    -------
    str
        Such as ``pass[2].rate (“Post corn”)``.

    Example
    -------
    >>> key_of_place({"pass": [{"name": "Burndown"}]}, ("pass", 0, "rate"))
    'pass[1].rate (“Burndown”)'
    """
    key = "".join(f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in place).lstrip(".")
    name = typed_at(raw, (*place[:2], "name")) if place[:1] == ("pass",) else None
    return f"{key} (“{shortened(name.strip())}”)" if isinstance(name, str) and name.strip() else key


def shortened(text: str) -> str:
    """Return a text no longer than fits in a sentence.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        Its beginning, on one line.
    """
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST else f"{line[:_LONGEST]}…"


def shown_value(value: object) -> str:
    """Return a typed value as it stands in the file.

    Parameters
    ----------
    value : object
        As parsed.

    Returns
    -------
    str
        Short enough for a sentence.
    """
    if isinstance(value, dict):
        return f"a table with {', '.join(map(shortened, value)) or 'nothing in it'}"
    if isinstance(value, bool):
        return str(value).lower()
    return shortened(f'"{value}"' if isinstance(value, str) else str(value))


def _problem(detail: ErrorDetails, document: Document) -> Problem:
    context = detail.get("ctx", {})
    place = _as_typed((*detail["loc"], *_inside(context.get("at", ""))), document.raw)
    value = "" if detail["type"] == "missing" else _value_at(document.raw, place)
    limit, remedy = _said(detail, context, document)
    return Problem(document.file, key_of_place(document.raw, place), value, limit, ended(remedy))


def _inside(at: str) -> Place:
    """Read a key inside a table, such as ``odd[2].positions``, into steps."""
    return tuple(int(step) - 1 if step.isdigit() else step for step in re.findall(r"\w+", at))


def _value_at(raw: object, place: Place) -> str:
    typed = typed_at(raw, place)
    return "" if typed is None else shown_value(typed)


def _said(detail: ErrorDetails, context: dict[str, Any], document: Document) -> tuple[str, str]:
    kind, place = detail["type"], detail["loc"]
    if kind == REFUSED:
        return str(context["limit"]), str(context["remedy"])
    if kind == "missing":
        return "this is missing", f"Add {_line_to_write(document.model, place)}"
    if kind == "extra_forbidden":
        return "no such key is known here", _meant(str(place[-1]), _model_at(document.model, place[:-1]))
    if kind in _SENTENCES:
        limit, remedy = _SENTENCES[kind]
        return limit.format_map(context), remedy
    return detail["msg"][:1].lower() + detail["msg"][1:], "Correct the value"


def _as_typed(place: Place, raw: object) -> Place:
    """Cut a place to what was typed: a bare value that stands for a table has no keys of its own."""
    for end in range(1, len(place)):
        if not isinstance(typed_at(raw, place[:end]), dict | list):
            return place[:end] if typed_at(raw, place[:end]) is not None else place
    return place


def _meant(key: str, model: type[BaseModel] | None) -> str:
    known = [] if model is None else [field.alias or name for name, field in model.model_fields.items()]
    near = get_close_matches(key, known, n=1)
    return f"Did you mean “{near[0]}”?" if near else f"Known here: {', '.join(known)}"


def _line_to_write(model: type[BaseModel], place: Place) -> str:
    field = _field_at(model, place)
    example = next((note.example for note in (field.metadata if field else ()) if isinstance(note, Quantity)), None)
    key = place[-1]
    if example is not None:
        return f'{key} = "{example}"'
    inner = None if field is None else _model_in(field.annotation)
    if inner is None:
        return f"{key} = …"
    return f"a table {key} with {', '.join(f.alias or n for n, f in inner.model_fields.items() if f.is_required())}"


def _model_at(model: type[BaseModel], place: Place) -> type[BaseModel] | None:
    found: type[BaseModel] | None = model
    for step in place:
        if isinstance(step, str):
            field = None if found is None else _field_of(found, step)
            found = None if field is None else _model_in(field.annotation)
    return found


def _field_at(model: type[BaseModel], place: Place) -> FieldInfo | None:
    owner = _model_at(model, place[:-1])
    return None if owner is None else _field_of(owner, str(place[-1]))


def _field_of(model: type[BaseModel], key: str) -> FieldInfo | None:
    return next((field for name, field in model.model_fields.items() if (field.alias or name) == key), None)


def _model_in(annotation: object) -> type[BaseModel] | None:
    """Find the model in ``X``, ``X | None`` or ``list[X]``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for part in get_args(annotation) if (found := _model_in(part)) is not None), None)
