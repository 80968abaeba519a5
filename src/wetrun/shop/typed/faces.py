"""How an entry looks on a sheet: labels, help, order, what stands under More. Data only; words_*.py hold the words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from pydantic import BaseModel

Text = Any
"""A text, or one that is translated when it is shown."""
_NOTHING: Final[Mapping[Any, Any]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Say:
    """What a sheet says about one key.

    Attributes
    ----------
    label : str
        Name of the field.
    help : str
        One sentence where a specialist would hesitate; empty for none.
    one : str
        What a single row of a list is called, such as "Product".
    units : tuple of str
        Units printed at the field, US and SI, where they are finer than the kind's own.
    offer : str
        Name of a list of suggestions.
    choices : mapping of str
        Words for the values of a choice.
    tick : str
        What a box says that has to be ticked for a table to be there; for tables that say something even if nothing
        stands in them.
    """

    label: Text
    help: Text = ""
    one: Text = ""
    units: tuple[str, str] | None = None
    offer: str = ""
    choices: Mapping[str, Text] = field(default_factory=lambda: _NOTHING)
    tick: Text = ""


@dataclass(frozen=True, slots=True)
class Face:
    """How one class of entries looks.

    Attributes
    ----------
    first : mapping of Say
        Keys that are seen at once, in this order.
    more : mapping of Say
        Keys under More, in this order; keys that are in neither follow them with a label made of the key.
    named_by : str
        The key that tells rows apart.
    left_out : frozenset of str
        Keys that are not on the sheet; what a document holds there stays.
    """

    first: Mapping[str, Say] = field(default_factory=lambda: _NOTHING)
    more: Mapping[str, Say] = field(default_factory=lambda: _NOTHING)
    named_by: str = "name"
    left_out: frozenset[str] = frozenset()

    def say(self, key: str) -> Say | None:
        """Return what is said about a key, if anything is."""
        return self.first.get(key) or self.more.get(key)


BLANK: Final = Face()


@dataclass(frozen=True, slots=True)
class Layout:
    """Faces by class of entry; a class without one looks like the class it was made from."""

    faces: Mapping[type[BaseModel], Face]

    def face(self, entry: type[BaseModel]) -> Face:
        """Return the face of a class of entries."""
        return next((self.faces[each] for each in entry.__mro__ if each in self.faces), BLANK)

    def without(self, entry: type[BaseModel], *keys: str) -> Layout:
        """Return the same layout with some keys of a class left out."""
        face = self.face(entry)
        return Layout({**self.faces, entry: replace(face, left_out=face.left_out.union(keys))})

    def label(self, key: str) -> Text:
        """Return what some entry calls a key, for words that name it from elsewhere."""
        found = (said for face in self.faces.values() if (said := face.say(key)) is not None)
        return next(found, say_by_itself(key)).label

    def joined(self, other: Layout) -> Layout:
        """Return this layout with another's faces in place of its own."""
        return Layout({**self.faces, **other.faces})


@lru_cache(maxsize=512)
def say_by_itself(key: str) -> Say:
    """Return the words a key makes by itself.

    Example
    -------
    >>> say_by_itself("label_max").label
    'Label max'
    """
    return Say(key.replace("_", " ").strip().capitalize())
