"""Lays what was typed, place by place, over a document: each text becomes what its place in the file takes.

A place is a way through the tables with positions from 1, such as ``course.run.2.time`` or ``catch.readings.23``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from copy import deepcopy
from datetime import date, datetime
from typing import Any, Final, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from wetrun.documents.shorthand import Shorthand
from wetrun.documents.wetrun_fields import Reading as ReadingMark

MOST_ROWS: Final = 5000
_POSITION: Final = re.compile(r"[1-9][0-9]{0,3}")
_WHOLE: Final = re.compile(r"[+-]?[0-9]{1,15}")
_NUMBER: Final = re.compile(r"[+-]?[0-9]{1,15}(?:[.,][0-9]{1,15})?")
_YES: Final = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}
_BLANK: Final = object()


class NoSuchPlace(Exception):  # noqa: N818 - named as a reader would say it
    """A place that is none of the document's."""


def laid_over(
    document: Mapping[str, Any], typed: Iterable[tuple[str, str]], model: type[BaseModel]
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return a document with what was typed laid over it, and the places that are none of its.

    Parameters
    ----------
    document : mapping
        As it was typed before.
    typed : iterable of (str, str)
        Place and text; a later one stands over an earlier one at the same place. An empty text takes back what stands
        there: a reading is blank then, anything else is left out.
    model : type of BaseModel
        What the document should be.

    Returns
    -------
    tuple of dict and tuple of str
        The document given is left as it was.
    """
    whole: dict[str, Any] = deepcopy(dict(document))
    strange = []
    for place, text in dict(typed).items():
        steps, typed_text = place.split("."), text.strip()
        try:
            # Tried on nothing first: a way that turns out to lead nowhere has left no empty tables behind.
            _lay({}, steps, typed_text, _Kind(model))
            _lay(whole, steps, typed_text, _Kind(model))
        except NoSuchPlace:
            strange.append(place)
    return _without_blanks(whole), tuple(strange)


def is_place(place: str, model: type[BaseModel]) -> bool:
    """Return whether a place is one of a document's."""
    return not laid_over({}, [(place, "1")], model)[1]


class _Kind:
    """What stands at a place, as its field says it."""

    def __init__(self, annotation: object, metadata: tuple[object, ...] = (), *, raw: bool = False) -> None:
        self.parts = [part for part in _alternatives(annotation) if part is not type(None)]
        self.metadata = metadata
        self.raw = raw

    @property
    def model(self) -> type[BaseModel] | None:
        return next((one for one in self.parts if isinstance(one, type) and issubclass(one, BaseModel)), None)

    @property
    def listed(self) -> object | None:
        """What a list here holds; a row of positions or names is typed as one text and is none."""
        return next((get_args(one)[0] for one in self.parts if get_origin(one) is list), None)

    @property
    def named(self) -> object | None:
        """What a table by name here holds."""
        return next((get_args(one)[1] for one in self.parts if get_origin(one) is dict), None)

    @property
    def takes_text(self) -> bool:
        """Whether one text can stand here: of tables only for those that a bare value stands for."""
        if self.model is not None:
            return issubclass(self.model, Shorthand)
        return not self.raw and self.listed is None and self.named is None

    @property
    def may_be_blank(self) -> bool:
        return self.raw or any(isinstance(mark, ReadingMark) for mark in self.metadata)


def _alternatives(annotation: object) -> tuple[object, ...]:
    """``X | None`` and ``Annotated[X, …]`` taken apart."""
    if hasattr(annotation, "__metadata__"):
        return _alternatives(get_args(annotation)[0])
    inside = get_args(annotation)
    if inside and get_origin(annotation) not in {list, dict, tuple} and type(None) in inside:
        return tuple(part for each in inside for part in _alternatives(each))
    return (annotation,)


def _lay(holder: Any, steps: list[str], text: str, kind: _Kind) -> None:  # noqa: ANN401 - a table or a list
    if isinstance(holder, list):
        _lay_in_list(holder, steps, text, kind)
        return
    key, below = _key_of(steps, kind)
    if not steps[1:] or kind.named is not None:
        holder[key] = _value(text, below)
        return
    inner = holder.get(key)
    if not isinstance(inner, dict | list):
        inner = _as_table(inner, below)
        holder[key] = inner
    _lay(inner, steps[1:], text, below)


def _lay_in_list(holder: list[Any], steps: list[str], text: str, kind: _Kind) -> None:
    at = _position(steps[0])
    if kind.raw and steps[1:]:
        raise NoSuchPlace
    below = kind if kind.raw else _Kind(kind.listed, _marks(kind.listed))
    if not kind.raw and kind.listed is None:
        raise NoSuchPlace
    holder.extend(_BLANK if below.model is None else {} for _ in range(at - len(holder)))
    if not steps[1:]:
        holder[at - 1] = _value(text, below)
        return
    if not isinstance(holder[at - 1], dict | list):
        holder[at - 1] = _as_table(holder[at - 1], below)
    _lay(holder[at - 1], steps[1:], text, below)


def _key_of(steps: list[str], kind: _Kind) -> tuple[str, _Kind]:
    """The key a way goes on at, and what stands there."""
    if kind.raw:  # readings by position
        _position(steps[0])
        if steps[1:]:
            raise NoSuchPlace
        return steps[0], kind
    if kind.named is not None:  # a name may hold a point
        return ".".join(steps), _Kind(kind.named, _marks(kind.named))
    field = None if kind.model is None else _field(kind.model, steps[0])
    if field is None:
        raise NoSuchPlace
    below = _Kind(field.annotation, tuple(field.metadata) + _marks(field.annotation), raw=field.annotation is Any)
    if not steps[1:] and not below.takes_text:
        raise NoSuchPlace
    return steps[0], below


def _as_table(before: object, kind: _Kind) -> Any:  # noqa: ANN401
    """What a way goes on through: a table, or a list; a bare value that stood for a table keeps its key."""
    if kind.raw or kind.named is not None:
        return {}
    if kind.model is None:
        if kind.listed is None:
            raise NoSuchPlace
        return []
    if isinstance(before, str) and issubclass(kind.model, Shorthand):
        return {kind.model.shorthand_key(): before}
    return {}


def _value(text: str, kind: _Kind) -> Any:  # noqa: ANN401 - whatever a document holds
    if not text:
        return "" if kind.may_be_blank else _BLANK
    if kind.model is not None:
        return _YES.get(text.casefold(), text)
    return next((_READ[part](text) for part in kind.parts if part in _READ), text)


def _number(text: str) -> int | float | str:
    plain = text.replace(",", ".")
    if not _NUMBER.fullmatch(text):
        return text
    return float(plain) if "." in plain else int(plain)


def _moment(text: str, read: Callable[[str], date]) -> date | str:
    try:
        return read(text)
    except ValueError:
        return text


# What is no whole number, number, yes or day stays the text it is: the loader says what is wrong with it.
_READ: Final[Mapping[Any, Callable[[str], Any]]] = {
    bool: lambda text: _YES.get(text.casefold(), text),
    int: lambda text: int(text) if _WHOLE.fullmatch(text) else text,
    float: _number,
    date: lambda text: _moment(text, date.fromisoformat),
    datetime: lambda text: _moment(text, datetime.fromisoformat),
}


def _position(step: str) -> int:
    if not _POSITION.fullmatch(step) or int(step) > MOST_ROWS:
        raise NoSuchPlace
    return int(step)


def _field(model: type[BaseModel], key: str) -> FieldInfo | None:
    return next((field for name, field in model.model_fields.items() if (field.alias or name) == key), None)


def _marks(annotation: object) -> tuple[object, ...]:
    found = tuple(getattr(annotation, "__metadata__", ()))
    return found + tuple(mark for part in get_args(annotation) for mark in getattr(part, "__metadata__", ()))


def _without_blanks(value: Any) -> Any:  # noqa: ANN401
    if isinstance(value, dict):
        return {key: _without_blanks(each) for key, each in value.items() if each is not _BLANK}
    return [_without_blanks(each) for each in value if each is not _BLANK] if isinstance(value, list) else value
