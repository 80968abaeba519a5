"""Several values in one box of text: parted by commas, by semicolons where a value holds a comma, or by lines.

A comma between two digits is a decimal comma, unless the values use a point or are whole numbers only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

_PARTING_COMMA: Final = re.compile(r"(?<![0-9]),|,(?![0-9])")
_DECIMAL_POINT: Final = re.compile(r"\.[0-9]")
_RUN_OF_COMMAS: Final = re.compile(r"[0-9],[0-9]+,[0-9]")


def parts_of_text(text: str, *, whole: bool = False) -> list[str]:
    """Return the values of a text, blanks among them.

    Parameters
    ----------
    text : str
        As typed.
    whole : bool
        True for whole numbers and words, where no comma can be a decimal comma.

    Returns
    -------
    list of str
        Stripped; a blank at the end of a line is no value.

    Example
    -------
    >>> parts_of_text("0,6 s, 0,7 s"), parts_of_text("8,8,8", whole=True), parts_of_text("39.2,39.5")
    (['0,6 s', '0,7 s'], ['8', '8', '8'], ['39.2', '39.5'])
    """
    parting = re.compile(";") if ";" in text else _comma(text, whole=whole)
    return [part for line in text.split("\n") for part in _without_end([each.strip() for each in parting.split(line)])]


def _comma(text: str, *, whole: bool) -> re.Pattern[str]:
    parts_all = whole or _DECIMAL_POINT.search(text) or _RUN_OF_COMMAS.search(text)
    return re.compile(",") if parts_all else _PARTING_COMMA


def _without_end(parts: list[str]) -> list[str]:
    return parts if parts[-1] else parts[:-1]


def text_of_parts(parts: Iterable[str]) -> str:
    """Return a text that parts into these values again.

    Parameters
    ----------
    parts : iterable of str
        Values.

    Returns
    -------
    str
        Parted by commas, or by semicolons if one of them holds a comma.

    Example
    -------
    >>> text_of_parts(["Burndown", "Post"]), text_of_parts(["Number 7, 120 ft"]), text_of_parts(["39.2", ""])
    ('Burndown, Post', 'Number 7, 120 ft;', '39.2, ,')
    """
    listed = list(parts)
    sign = ";" if any("," in part for part in listed) else ","
    ends = (sign == ";" and len(listed) == 1) or (listed and not listed[-1])
    return f"{sign} ".join(listed) + (sign if ends else "")
