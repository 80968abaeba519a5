"""What is another in a document than in the one before, key by key, as a person would say it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from wetrun.documents.refusals import Place, key_of_place, shown_value


@dataclass(frozen=True, slots=True)
class Difference:
    """One key that is another; ``before`` or ``after`` is empty where nothing stood or stands."""

    key: str
    before: str
    after: str

    def __str__(self) -> str:
        if not self.before:
            return f"{self.key} = {self.after} is new"
        return f"{self.key} was {self.before}" + (f", becomes {self.after}" if self.after else ", is left out")


def differences(before: object, after: object) -> tuple[Difference, ...]:
    """Return what is another in a document.

    Parameters
    ----------
    before, after : document
        As typed.

    Returns
    -------
    tuple of Difference
        In the order of the keys, those that are new last.
    """
    return tuple(_differences(before, after, ()))


def _differences(before: object, after: object, place: Place) -> Iterator[Difference]:
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for key in dict.fromkeys((*before, *after)):
            yield from _differences(before.get(key), after.get(key), (*place, key))
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for at, (one, other) in enumerate(zip(before, after, strict=True)):
            yield from _differences(one, other, (*place, at))
    elif before != after:
        was, now = ("" if value is None else shown_value(value) for value in (before, after))
        yield Difference(key_of_place({}, place), was, now)
