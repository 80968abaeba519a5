"""A reading that was asked about, looked at again, and stands as typed: the answer, by name and signed.

Nothing is settled in silence: an answer carries who gave it, and a reading that nothing could be made of – blank, or
zero where zero cannot be – has no such answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Protocol, TypeVar

from wetrun.proving.confirmation import Confirmed


class Answerable(Protocol):
    """A question that a reading may answer by standing as typed."""

    def is_answered(self, rows: AbstractSet[str]) -> bool:
        """Return True if these rows stand, and that settles it."""
        ...


Asked = TypeVar("Asked", bound=Answerable)


@dataclass(frozen=True, slots=True)
class Standing:
    """A reading that stands as typed.

    Attributes
    ----------
    reading : str
        Its sheet and row as the question names them, such as "catch tip 23".
    confirmed : Confirmed
        Who looked again, when, and what was seen.
    """

    reading: str
    confirmed: Confirmed


def plain_name(text: str) -> str:
    """Return a name as it is compared: case, commas and blanks do not count.

    Example
    -------
    >>> plain_name("Ramp usual,  on the way back")
    'ramp usual on the way back'
    """
    return " ".join(text.replace(",", " ").casefold().split())


def rows_of(stands: Iterable[Standing], sheet: str) -> frozenset[str]:
    """Return the rows of one sheet that stand.

    Parameters
    ----------
    stands : iterable of Standing
        All answers.
    sheet : str
        First word or words of its readings' names.

    Returns
    -------
    frozenset of str
        Rows, or row and reading, as `plain_name` writes them.

    Example
    -------
    >>> sorted(rows_of([Standing("catch tip 23", Confirmed("B. Ash"))], "catch"))
    ['tip 23']
    """
    start = f"{plain_name(sheet)} "
    names = (plain_name(each.reading) for each in stands)
    return frozenset(name.removeprefix(start) for name in names if name.startswith(start))


def parted(questions: Sequence[Asked], rows: AbstractSet[str]) -> tuple[tuple[Asked, ...], tuple[Asked, ...]]:
    """Return the questions that are still open, and those that an answer settles.

    Parameters
    ----------
    questions : sequence of question
        As raised.
    rows : set of str
        Rows of their sheet that stand.

    Returns
    -------
    tuple of two tuples of question
        Both in the order they were raised.
    """
    settled = tuple(question for question in questions if question.is_answered(rows))
    return tuple(question for question in questions if question not in settled), settled
