"""Droplet classes as a label words them: letters, names, "or coarser", "to"."""

from __future__ import annotations

import re
from typing import Final

from wetrun.spray.droplets import DropletClass

_BY_NAME: Final[dict[str, DropletClass]] = {
    name: found for found in DropletClass for name in (found.letters.casefold(), found.words.casefold())
}


def droplet_classes(value: object) -> frozenset[DropletClass]:
    """Return the classes a label's wording allows.

    Parameters
    ----------
    value : object
        A list of classes, one class, ``C or coarser``, ``M or finer`` or ``M to VC``.

    Returns
    -------
    frozenset of DropletClass
        At least one.

    Raises
    ------
    ValueError
        With the part that is not understood.

    Example
    -------
    >>> sorted(found.letters for found in droplet_classes("very coarse or coarser"))
    ['UC', 'VC', 'XC']
    """
    parts = value if isinstance(value, list) else [value]
    if not parts:
        raise ValueError("the list of classes is empty")
    return frozenset().union(*(_of_phrase(part) for part in parts))


def _of_phrase(part: object) -> frozenset[DropletClass]:
    if not isinstance(part, str):
        raise ValueError("droplet classes are text in quotes")  # noqa: TRY004 - one refusal, whatever is wrong
    phrase = " ".join(part.casefold().split())
    if match := re.fullmatch(r"(.+?) (?:or|and) (coarser|finer)", phrase):
        edge = _class(match[1])
        return frozenset(c for c in DropletClass if (c >= edge if match[2] == "coarser" else c <= edge))
    if match := re.fullmatch(r"(.+?) ?(?:to|-|–) ?(.+)", phrase):
        low, high = sorted((_class(match[1]), _class(match[2])))
        return frozenset(found for found in DropletClass if low <= found <= high)
    return frozenset({_class(phrase)})


def _class(name: str) -> DropletClass:
    found = _BY_NAME.get(name)
    if found is None:
        known = ", ".join(f"{each.letters} ({each.words.casefold()})" for each in DropletClass)
        raise ValueError(f"“{name}” is no droplet class; the classes are {known}")
    return found
