"""Lists in one box: names, numbers, quantities, and the readings of a boom tip by tip."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import ClassVar, Final

from wetrun.shop.typed.list_text import parts_of_text, text_of_parts
from wetrun.shop.typed.takes import ABSENT, Amount, Leaf, Real, number_of

NONE: Final = "none"
"""Typed where a list is known to be empty, which is not the same as a list nobody filled in."""
_PAIR: Final = re.compile(r"\s*([0-9]{1,3})\s*[=:]\s*(.*)")


@dataclass(frozen=True, slots=True)
class Listed(Leaf):
    """Several values.

    Attributes
    ----------
    item : Leaf
        What each is.
    bare : bool
        Whether a single value may stand without its list.
    says_none : bool
        Whether an empty list says something.
    """

    item: Leaf = field(default_factory=Leaf)
    bare: bool = False
    says_none: bool = False
    has_lines: ClassVar[bool] = True

    def shown(self, raw: object) -> str | None:
        """Return the values in one text."""
        if self.bare and not isinstance(raw, list):
            return None if (text := self.item.shown(raw)) is None else text_of_parts([text])
        if not isinstance(raw, list):
            return None
        texts = [self.item.shown(each) for each in raw]
        if any(text is None for text in texts):
            return None
        return text_of_parts(text for text in texts if text is not None) or (NONE if self.says_none else "")

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return the list; a single value stands as it stood before."""
        if self.says_none and text.casefold() == NONE:
            return []
        whole = not isinstance(self.item, Amount | Real)
        old = raw if isinstance(raw, list) else [raw]
        parts = [part for part in parts_of_text(text, whole=whole) if part]
        found = [self._one(part, old, unit) for part in parts]
        return found[0] if self.bare and len(found) == 1 and not isinstance(raw, list) else found

    def _one(self, part: str, old: list[object], unit: str) -> object:
        """A value that stood there before keeps its type."""
        return next((each for each in old if self.item.shown(each) == part), self.item.value(part, ABSENT, unit))


@dataclass(frozen=True, slots=True)
class TipReadings(Leaf):
    """Readings along the boom, a gap where nothing stands between two commas; or position = reading, by lines."""

    is_long: ClassVar[bool] = True
    has_lines: ClassVar[bool] = True

    def shown(self, raw: object) -> str | None:
        """Return the readings in one text."""
        if isinstance(raw, dict):
            texts = {key: _text(each) for key, each in raw.items()}
            return None if None in texts.values() else "\n".join(f"{key} = {text}" for key, text in texts.items())
        if not isinstance(raw, list):
            return None
        listed = [text for each in raw if (text := _text(each)) is not None]
        return text_of_parts(listed) if len(listed) == len(raw) else None

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return a list, or a table if positions were typed."""
        del raw, unit
        pieces = [piece for piece in re.split(r"[\n;]", text) if piece.strip()]
        pairs = [_PAIR.fullmatch(piece) for piece in pieces]
        if all(pairs):
            return {pair[1]: _reading(pair[2].strip()) for pair in pairs if pair is not None}
        return [_reading(part) for part in parts_of_text(text)]


def _text(each: object) -> str | None:
    return each if isinstance(each, str) else repr(each) if isinstance(each, int | float) else None


def _reading(text: str) -> int | float | str:
    return number_of(text)
