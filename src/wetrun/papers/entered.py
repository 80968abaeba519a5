"""Numbers that somebody types into a monitor: as the user wrote them, else exact enough to be typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wetrun.papers.reader import Reader
from wetrun.quantity import Kind


@dataclass(frozen=True, slots=True)
class Entered:
    """Texts as typed, beside a reader.

    Attributes
    ----------
    texts : mapping of str to str
        What the user typed, by key of the season file.
    reader : Reader
        Whose units.
    """

    texts: Mapping[str, str]
    reader: Reader

    def said(self, key: str) -> bool:
        """Return whether the user typed this number."""
        return key in self.texts

    def text(self, key: str, value: float, kind: Kind) -> str:
        """Return a number as it was typed; in the reader's unit too if it was typed in another.

        Parameters
        ----------
        key : str
            Key of the season file.
        value : float
            The same in the kind's unit inside.
        kind : Kind
            What it is.

        Returns
        -------
        str
            Never rounded to fewer digits than it needs to be typed again.

        Example
        -------
        >>> from wetrun.quantity import System
        >>> Entered({"rate": "150,5 L/ha"}, Reader(System.US)).text("rate", 150.5e-7, Kind.RATE)
        '150,5 L/ha (16.09 gal/ac)'
        """
        exact, typed = self.reader.exact(value, kind), self.texts.get(key)
        if typed is None:
            return exact
        return typed if _plain(self.reader.unit(kind)) in _plain(typed) else f"{typed} ({exact})"


def _plain(text: str) -> str:
    return "".join(text.casefold().split())
