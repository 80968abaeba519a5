"""What a place of a document takes where little is open: one of some words, yes or no, several of some words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from wetrun.shop.typed.takes import Leaf


@dataclass(frozen=True, slots=True)
class Choice(Leaf):
    """One of some words."""

    options: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class YesNo(Leaf):
    """Yes or no; where it has to be said, or may be left open, `usual` is blank."""

    def shown(self, raw: object) -> str | None:
        """Return yes or no."""
        return ("yes" if raw else "no") if isinstance(raw, bool) else None

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return true or false."""
        del raw, unit
        return text == "yes"


@dataclass(frozen=True, slots=True)
class Several(Leaf):
    """Some of some words, each at most once; in its text they are parted by lines."""

    options: tuple[str, ...] = ()
    has_lines: ClassVar[bool] = True

    def shown(self, raw: object) -> str | None:
        """Return the chosen words in the order of the options."""
        if not isinstance(raw, list) or not all(isinstance(each, str) and each in self.options for each in raw):
            return None
        return "\n".join(option for option in self.options if option in raw)

    def blank(self, raw: object) -> object:
        """Return an empty list, which the entry refuses if it has to hold something."""
        del raw
        return []

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return the chosen words as a list."""
        del raw, unit
        return [option for option in self.options if option in text.split("\n")]
