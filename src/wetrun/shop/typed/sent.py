"""What a browser sent back: texts by name, rows by key, and the button that was pressed. Nothing in it is trusted."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from django.utils.datastructures import MultiValueDict

DO: Final = "__do"
MOST_NEW_ROWS: Final = 3000
"""Rows a sheet takes beyond those its document has: enough for every wet run, too few to keep a server busy."""
_ACTION: Final = re.compile(r"(add|drop|up|down):([\w.\-]{1,300})")
_OLD_ROW: Final = re.compile(r"0|[1-9][0-9]{0,4}")
_NEW_ROW: Final = re.compile(r"n(?:0|[1-9][0-9]{0,4})")
_UNSEEN: Final = dict.fromkeys((*range(9), *range(11, 13), *range(14, 32), 127))


@dataclass(frozen=True, slots=True)
class Action:
    """A button that changes rows.

    Attributes
    ----------
    what : str
        add, drop, up or down.
    target : str
        Name of the list for add, else of the row.
    """

    what: str
    target: str


class Sent:
    """What was sent, or nothing.

    Attributes
    ----------
    action : Action or None
        The button that was pressed, if it changes rows.
    """

    __slots__ = ("_posted", "_rows_left", "action")

    def __init__(self, posted: MultiValueDict[str, str] | None) -> None:
        self._posted = posted
        self._rows_left = MOST_NEW_ROWS
        match = _ACTION.fullmatch(self.text(DO) or "")
        self.action = Action(match[1], match[2]) if match else None

    def __bool__(self) -> bool:
        return self._posted is not None

    def text(self, name: str) -> str | None:
        """Return the text of a box, the last one if its name came twice; None if the box was not there."""
        if self._posted is None or name not in self._posted:
            return None
        return seen(str(self._posted[name]))

    def several(self, name: str) -> list[str] | None:
        """Return every text of a name that is not blank, None if the name did not come at all."""
        if self._posted is None or name not in self._posted:
            return None
        return [seen(str(each)) for each in self._posted.getlist(name) if each]

    def row_keys(self, name: str, old: int, most: int) -> tuple[list[str], bool]:
        """Return the keys of the rows of a list in the order they were sent, and whether some were too many.

        Parameters
        ----------
        name : str
            Name of the list.
        old : int
            How many rows its document has; their keys count from 0.
        most : int
            How many the list may hold. One more is taken, so that the entry itself refuses it.

        Returns
        -------
        tuple of list of str and bool
            The document's own rows if the list was not sent.
        """
        sent = self.several(name)
        if sent is None:
            return [str(at) for at in range(old)], False
        keys = list(dict.fromkeys(key for key in sent if _OLD_ROW.fullmatch(key) or _NEW_ROW.fullmatch(key)))
        room = min(max(most + 1, old), old + self._rows_left)
        self._rows_left -= max(len(keys[:room]) - old, 0)
        return keys[:room], len(keys) > room

    def acted_on(self, name: str, keys: list[str]) -> list[str]:
        """Return the keys of a list's rows after the button that was pressed."""
        action = self.action
        if action is None:
            return keys
        if action.what == "add":
            return [*keys, new_key(keys)] if action.target == name else keys
        owner, _, key = action.target.rpartition(".")
        return _moved(keys, key, action.what) if owner == name and key in keys else keys


def _moved(keys: list[str], key: str, what: str) -> list[str]:
    rest = [each for each in keys if each != key]
    if what == "drop":
        return rest
    at = keys.index(key) + (-1 if what == "up" else 1)
    rest.insert(max(at, 0), key)
    return rest


def new_key(keys: Iterable[str]) -> str:
    """Return a key no row has yet.

    Example
    -------
    >>> new_key(["0", "1", "n4"])
    'n5'
    """
    taken = (int(key[1:]) for key in keys if _NEW_ROW.fullmatch(key))
    return f"n{max(taken, default=-1) + 1}"


def seen(text: str) -> str:
    """Return a text without what cannot be seen, lines ended as in a document."""
    return text.replace("\r\n", "\n").translate(_UNSEEN)
