"""Crops by name: whether two names that somebody typed mean one crop, another, or may mean either."""

from __future__ import annotations

from difflib import SequenceMatcher
from enum import StrEnum
from typing import Final

from wetrun.units import Ratio

_SPELLING_RATIO: Final[Ratio] = 0.87
"""Names nearer than this may be one name misspelt: “soyabeans” is, “pears” beside “peas” is not."""


class CropMatch(StrEnum):
    """What two names of crops are to each other."""

    SAME = "same"
    DOUBTFUL = "doubtful"
    OTHER = "other"


def crop_match(one: str, other: str) -> CropMatch:
    """Return whether two names mean one crop.

    Parameters
    ----------
    one, other : str
        As typed.

    Returns
    -------
    CropMatch
        DOUBTFUL if they look alike, or if one says more than the other (“conventional soybeans”): nobody but the
        person who typed them knows.

    Notes
    -----
    Case, spaces, hyphens and a plural “s” make no difference. Varieties, tolerant traits and growth stages are only
    what the names say of them.

    Example
    -------
    >>> crop_match("Soybeans", "soybean").value, crop_match("soyabeans", "soybeans").value
    ('same', 'doubtful')
    >>> crop_match("conventional soybeans", "soybeans").value, crop_match("corn", "soybeans").value
    ('doubtful', 'other')
    """
    left, right = _words(one), _words(other)
    if "".join(left) == "".join(right):
        return CropMatch.SAME
    looks = SequenceMatcher(None, "".join(left), "".join(right), autojunk=False).ratio()
    if looks >= _SPELLING_RATIO or set(left) <= set(right) or set(right) <= set(left):
        return CropMatch.DOUBTFUL
    return CropMatch.OTHER


def _words(name: str) -> tuple[str, ...]:
    """Take a name apart; a plural is its singular, but “grass” keeps its ending."""
    parts = name.casefold().replace("-", " ").split()
    return tuple(
        part[:-1] if len(part) > 2 and part.endswith("s") and not part.endswith("ss") else part for part in parts
    )
