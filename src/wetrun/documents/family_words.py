"""The families of tips by the words people use for them."""

from __future__ import annotations

from typing import Final

from wetrun.spray.droplets import Family

FAMILY_WORDS: Final[dict[str, Family]] = {
    "flat fan": Family.FLAT_FAN,
    "pre-orifice": Family.PRE_ORIFICE,
    "air induction": Family.AIR_INDUCTION,
    "streamer": Family.STREAMER,
}


def family_named(text: str) -> Family | None:
    """Return the family a word stands for, or None.

    Parameters
    ----------
    text : str
        A word of `FAMILY_WORDS` or a family's full name; hyphens, capitals and a plural do not matter.

    Returns
    -------
    Family or None
        None if no family is called that.

    Example
    -------
    >>> family_named("Air-induction"), family_named("streamers"), family_named("flood")
    (<Family.AIR_INDUCTION: 'air-induction flat fan'>, <Family.STREAMER: 'streamer'>, None)
    """
    return _BY_WORD.get(_plain(text))


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum()).removesuffix("s")


_BY_WORD: Final = {_plain(words): family for words, family in FAMILY_WORDS.items()} | {
    _plain(family.value): family for family in Family
}
