"""Whether what a file holds can be kept and given back as it was: told in a sentence before anything is kept."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time
from math import isfinite
from pathlib import Path
from typing import Any, Final

from wetrun.documents.preamble import check_version
from wetrun.documents.refusals import Document, key_of_place, shown_value
from wetrun.documents.text_file import LARGEST_BYTES
from wetrun.documents.toml_text import parsed_toml
from wetrun.errors import InputProblems, Problem

DEEPEST: Final = 30
"""No document has tables so deep; copying and storing one takes a step of the stack for each."""
LARGEST_WHOLE: Final = 2**63
Place = tuple[int | str, ...]


def document_in(text: str, document: Document, newest: int) -> dict[str, Any]:
    """Return the tables of a text that was handed in.

    Parameters
    ----------
    text : str
        As it came.
    document : Document
        The file's name in sentences, and what it should be.
    newest : int
        The newest version of its format that is read here.

    Returns
    -------
    dict
        As parsed; every value can be kept and comes back as it is.

    Raises
    ------
    InputProblems
        If it is too large, no TOML, of a newer version, or holds what cannot be kept.
    """
    file = document.file
    if len(text.encode(errors="replace")) > LARGEST_BYTES:
        limit = f"the file may hold {LARGEST_BYTES // 1_000_000} MB at most"
        raise InputProblems([Problem(file, "", "", limit, "Choose the text file that was meant.")])
    raw = parsed_toml(Path(file), text)
    check_version(Document(file, raw, document.model), newest)
    problems = [
        Problem(file, key_of_place({}, place[:DEEPEST]), shown, limit, "Correct it in the file, and hand it in again.")
        for place, shown, limit in _strange(raw)
    ]
    if problems:
        raise InputProblems(problems)
    return raw


def _strange(raw: dict[str, Any]) -> Iterator[tuple[Place, str, str]]:
    """Walk without recursion: a dotted key may be deeper than the stack."""
    left: list[tuple[Place, object]] = [((), raw)]
    while left:
        place, value = left.pop()
        if len(place) > DEEPEST:
            yield place, "", f"tables stand more than {DEEPEST} deep in each other"
            return
        if isinstance(value, dict):
            left += [((*place, key), each) for key, each in value.items()]
        elif isinstance(value, list):
            left += [((*place, at), each) for at, each in enumerate(value)]
        elif limit := _limit(value):
            yield place, "" if isinstance(value, str | int) else shown_value(value), limit


def _limit(value: object) -> str:
    if isinstance(value, bool | date | datetime | time):
        return ""
    if isinstance(value, str):
        return "it holds a character that no text has (a zero byte)" if "\0" in value else ""
    if isinstance(value, int):
        return "" if abs(value) < LARGEST_WHOLE else "no number of a machine has so many digits"
    return "" if isinstance(value, float) and isfinite(value) else "a number with an end belongs here"
