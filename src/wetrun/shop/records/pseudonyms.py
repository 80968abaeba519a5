"""Puts a pseudonym where a name stood: in a line, in a document, in a picture, in a file as it was handed in."""

from __future__ import annotations

import html
import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

SURE_LETTERS: Final = 6
"""A shorter name is taken for one only where no letter stands beside it; “Al” is not in “alfalfa”."""
BARE_LETTERS: Final = 3
"""And one shorter than this only with its capitals as they are; “Al” is not “al” either."""
NOTHING: Final = r"(?!)"
"""Finds nothing."""
BETWEEN: Final = r"[\s_.\-]*"
"""Between the words of a name: low_fork-farm.csv is named after Low Fork Farm."""


@dataclass(frozen=True, slots=True)
class Pseudonyms:
    """What stands for what.

    Attributes
    ----------
    written : Pattern
        Any of the names, one group for each, the longest first: a name inside a longer one does not spoil it.
    words : tuple of str
        The pseudonym of each group.
    """

    written: re.Pattern[str]
    words: tuple[str, ...]

    def found_in(self, text: str) -> bool:
        """Return whether any of the names stands in a text."""
        return self.written.search(text) is not None

    def line(self, text: str) -> str:
        """Return a text without the names."""
        return self.written.sub(lambda match: self.words[(match.lastindex or 1) - 1], text)

    def document(self, document: Any) -> Any:  # noqa: ANN401 - whatever a document holds
        """Return a document without the names, in keys as in values."""
        if isinstance(document, str):
            return self.line(document)
        if isinstance(document, Mapping):
            return {self.line(str(key)): self.document(value) for key, value in document.items()}
        if isinstance(document, list):
            return [self.document(value) for value in document]
        return document

    def handed_in(self, text: str) -> str:
        """Return a file as it was handed in without the names; nothing if one is hidden in it by escapes."""
        clean = self.line(text)
        try:
            parsed = tomllib.loads(clean)
        except tomllib.TOMLDecodeError:
            return clean
        return "" if self.document(parsed) != parsed else clean


def pseudonyms(named: Iterable[tuple[str, str]]) -> Pseudonyms:
    """Return what puts pseudonyms in the place of names.

    Parameters
    ----------
    named : iterable of (str, str)
        Name and pseudonym; an empty name is left out.

    Returns
    -------
    Pseudonyms
        Capitals, and what stands between words, do not matter.

    Example
    -------
    >>> pseudonyms([("Low Fork Farm", "Customer 17")]).line("log low_fork_farm.csv of LOW FORK  FARM")
    'log Customer 17.csv of Customer 17'
    """
    pairs = {name.strip(): word for name, word in named if _letters(name)}
    names = sorted(pairs, key=lambda name: (-len(name), name))
    written = "|".join(f"({_pattern(name)})" for name in names)
    return Pseudonyms(re.compile(written or NOTHING), tuple(pairs[name] for name in names))


def _pattern(name: str) -> str:
    ways = {name, html.escape(name), html.escape(name, quote=False), json.dumps(name, ensure_ascii=False)[1:-1]}
    written = "|".join(map(_words, sorted(ways, key=len, reverse=True)))
    case = "" if _letters(name) < BARE_LETTERS else "i"
    return f"{_edge(name, name[0], before=True)}(?{case}:{written}){_edge(name, name[-1], before=False)}"


def _edge(name: str, char: str, *, before: bool) -> str:
    """Return what must not stand beside a name: a letter beside a short one, a figure beside a figure."""
    beside = r"\d" if char.isdigit() else ""
    if _letters(name) < SURE_LETTERS:
        beside += r"^\W\d_" if not beside else r"a-zA-Z"
    return f"(?{'<' if before else ''}![{beside}])" if beside else ""


def _words(way: str) -> str:
    return BETWEEN.join(re.escape(word) for word in re.split(r"[\s_.\-]+", way) if word)


def _letters(name: str) -> int:
    return sum(char.isalnum() for char in name)
