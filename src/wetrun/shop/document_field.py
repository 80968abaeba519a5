"""A column that holds a document as it was typed: order of keys, days and moments come back as they were put in.

A text column on every database: PostgreSQL's own JSON type would put the keys in another order. A day stands in the
text as a table with one key that begins with ~; a key that somebody typed so himself gets one ~ more, so that it comes
back as it was typed too.
"""

from __future__ import annotations

import json
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any, Final

from django.db import models

_MARKS: Final = {"~day": date.fromisoformat, "~moment": datetime.fromisoformat, "~time": time.fromisoformat}


def document_text(document: object) -> str:
    """Return a document as text; the inverse of `document_of`.

    Example
    -------
    >>> document_text({"first": date(2027, 4, 15)})
    '{"first": {"~day": "2027-04-15"}}'
    """
    return json.dumps(_escaped(document), default=_marked, ensure_ascii=False, allow_nan=False)


def document_of(text: str) -> Any:  # noqa: ANN401 - whatever a document holds
    """Return the document of a text.

    Example
    -------
    >>> document_of('{"first": {"~day": "2027-04-15"}}')
    {'first': datetime.date(2027, 4, 15)}
    """
    return json.loads(text, object_hook=_unmarked)


def _escaped(value: object) -> object:
    """The same with keys that begin like one of our marks told apart from them: somebody may have typed such a key."""
    if isinstance(value, dict):
        return {f"~{key}" if str(key).startswith("~") else key: _escaped(each) for key, each in value.items()}
    return [_escaped(each) for each in value] if isinstance(value, list | tuple) else value


def _marked(value: object) -> dict[str, str]:
    # A moment is a day too, so it is asked for first.
    for mark, kind in (("~moment", datetime), ("~day", date), ("~time", time)):
        if isinstance(value, kind):
            return {mark: value.isoformat()}
    raise TypeError(f"{type(value).__name__} cannot stand in a document")


def _unmarked(table: dict[str, Any]) -> Any:  # noqa: ANN401
    if len(table) == 1:
        ((mark, text),) = table.items()
        if mark in _MARKS and isinstance(text, str):
            return _MARKS[mark](text)
    return {key.removeprefix("~") if key.startswith("~~") else key: each for key, each in table.items()}


if TYPE_CHECKING:
    _Text = models.TextField[Any, Any]
else:
    _Text = models.TextField


class DocumentField(_Text):
    """A document in a text column."""

    if TYPE_CHECKING:
        _pyi_private_set_type: Any
        _pyi_private_get_type: Any

    def from_db_value(self, value: str | None, *_: object) -> Any:  # noqa: ANN401
        """Return the document of what the database holds."""
        return None if value is None else document_of(value)

    def to_python(self, value: Any) -> Any:  # noqa: ANN401
        """Return a document, from text if it is still text."""
        return document_of(value) if isinstance(value, str) else value

    def get_prep_value(self, value: Any) -> str | None:  # noqa: ANN401
        """Return what the database holds of a document."""
        return None if value is None else document_text(value)

    def value_to_string(self, obj: models.Model) -> str:
        """Return a document as text, for dumps."""
        return document_text(self.value_from_object(obj))
