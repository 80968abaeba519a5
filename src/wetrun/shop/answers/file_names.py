"""Names of files inside a document: only such as stay in one folder are ever laid out, everything else is refused."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final

from wetrun.documents.refusals import Place, key_of_place, shown_value, typed_at
from wetrun.errors import Problem

MOST_PARTS: Final = 5
LONGEST: Final = 120
OWN: Final = frozenset({"season.toml", "wetrun.toml", "changeover.toml"})
"""What the records themselves are laid out as."""
_ODD: Final = frozenset('\\:*?"<>|')


def wrong_with(name: str) -> str:
    """Return what is wrong with the name of a file; empty if it stays in its folder.

    Parameters
    ----------
    name : str
        As typed, parts by ``/``.

    Returns
    -------
    str
        The limit it breaks, as in a sentence.

    Example
    -------
    >>> wrong_with("logs/spring.csv"), wrong_with("../../etc/passwd")
    ('', 'it leads out of the folder')
    """
    parts = name.split("/")
    if not name.isprintable() or _ODD & set(name):
        return "it holds a character that no file name has everywhere"
    if ".." in parts:
        return "it leads out of the folder"
    if name.startswith(("/", "~")):
        return "it is a place on one computer"
    if any(part in {"", "."} or part.startswith(".") or part != part.strip() for part in parts):
        return "a part of it is empty, begins with a dot, or has spaces at its ends"
    if len(parts) > MOST_PARTS or any(len(part.encode(errors="replace")) > LONGEST for part in parts):
        return f"it has more than {MOST_PARTS} parts, or one of more than {LONGEST} letters"
    return "it is the name of the file itself" if name.casefold() in OWN else ""


def name_at(raw: dict[str, Any], place: Place) -> str:
    """Return the name of a file typed at a place, stripped; empty if no text stands there."""
    typed = typed_at(raw, place)
    return typed.strip() if isinstance(typed, str) else ""


def problems_of_names(file: str, raw: dict[str, Any], places: Iterable[Place]) -> Iterator[Problem]:
    """Yield a problem for each name that does not stay in the folder.

    Parameters
    ----------
    file : str
        The document, as told to people.
    raw : dict
        What was typed.
    places : iterable of Place
        Where names stand.

    Yields
    ------
    Problem
        With its key.
    """
    for place in places:
        name = name_at(raw, place)
        limit = wrong_with(name) if name else ""
        if limit:
            remedy = "Write a plain name such as tips.csv or logs/spring.csv, and hand the file in under it."
            yield Problem(file, key_of_place(raw, place), shown_value(name), limit, remedy)


def problems_together(file: str, names: Iterable[str]) -> Iterator[Problem]:
    """Yield a problem for each name that another one uses as a folder: no disk can hold both."""
    known = set(names)
    for name in sorted(known):
        folders = {name[:at] for at, letter in enumerate(name) if letter == "/"}
        for folder in sorted(folders & known):
            limit = f"“{folder}” is a file here, so it cannot be the folder of “{name}”"
            yield Problem(file, "", "", limit, "Rename one of the two.")
