"""What one place of a document takes, and how its value becomes text in a box and text becomes a value again.

`shown` gives None for a value its box cannot hold: that is kept as it is. `value` never converts what it cannot read:
the typed text goes into the document, and the entry refuses it with its own sentence.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum
from typing import ClassVar, Final

from django.utils import timezone

from wetrun.documents.fields import Quantity
from wetrun.shop.typed.printed_units import with_unit

_INT: Final = re.compile(r"[+\-\u2212]?[0-9]{1,15}")
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class Absent(Enum):
    """Nothing stands at a place of a document."""

    ABSENT = "absent"


ABSENT: Final = Absent.ABSENT


@dataclass(frozen=True, slots=True)
class Leaf:
    """One box of text.

    Attributes
    ----------
    usual : str
        What the box shows where the document says nothing: what then holds.
    offer : str
        Name of the suggestions that go with it; empty for none.
    keeps_blank : bool
        Whether a value that was taken out again is written as a blank.
    """

    usual: str = ""
    offer: str = ""
    keeps_blank: bool = False
    is_long: ClassVar[bool] = False
    has_lines: ClassVar[bool] = False
    inputmode: ClassVar[str] = ""

    def shown(self, raw: object) -> str | None:
        """Return the text of a value."""
        return raw if isinstance(raw, str) else _plain(raw)

    def blank(self, raw: object) -> object:
        """Return what goes into the document for a box that was emptied."""
        return "" if self.keeps_blank and raw is not ABSENT else ABSENT

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return what goes into the document for a text that is not blank."""
        del raw, unit
        return text


def _plain(raw: object) -> str | None:
    """A number where text belongs is shown, so that it can be put right; a table or list is not."""
    return repr(raw) if isinstance(raw, int | float) and not isinstance(raw, bool) else None


@dataclass(frozen=True, slots=True)
class LongText(Leaf):
    """A sentence or two."""

    is_long: ClassVar[bool] = True
    has_lines: ClassVar[bool] = True


@dataclass(frozen=True, slots=True)
class PlainNumber(Leaf):
    """A number that stays text, to its last zero: money, what a monitor shows."""

    inputmode: ClassVar[str] = "decimal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount(Leaf):
    """A quantity with its unit; a bare number takes the printed one."""

    quantity: Quantity

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return the text, with the printed unit behind a bare number."""
        del raw
        return with_unit(text, unit)


@dataclass(frozen=True, slots=True)
class Whole(Leaf):
    """A whole number."""

    inputmode: ClassVar[str] = "numeric"

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return the number, or the text if it is none."""
        del raw, unit
        return int(text.replace("\u2212", "-")) if _INT.fullmatch(text) else text


@dataclass(frozen=True, slots=True)
class Real(Leaf):
    """A number."""

    inputmode: ClassVar[str] = "decimal"

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return the number, whole if it was typed whole, or the text if it is none."""
        del raw, unit
        return number_of(text)


def number_of(text: str) -> int | float | str:
    """Return the number of a text, or the text if it is none; a comma that could part thousands makes it none.

    Example
    -------
    >>> number_of("12"), number_of("12,5"), number_of("1,500"), number_of("no flow")
    (12, 12.5, '1,500', 'no flow')
    """
    plain = text.replace("\u2212", "-")
    if _INT.fullmatch(plain):
        return int(plain)
    if not re.fullmatch(r"[+-]?[0-9]{0,15}[.,]?[0-9]{0,15}", plain) or re.fullmatch(
        r"[+-]?[1-9][0-9]{0,2},[0-9]{3}", plain
    ):
        return text
    try:
        value = float(plain.replace(",", "."))
    except ValueError:
        return text
    return value if math.isfinite(value) else text


@dataclass(frozen=True, slots=True)
class DayText(Leaf):
    """A day."""

    def shown(self, raw: object) -> str | None:
        """Return the day as year-month-day."""
        if isinstance(raw, datetime):
            return None
        return raw.isoformat() if isinstance(raw, date) else super(DayText, self).shown(raw)

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return the day, or the text if it is none."""
        del raw, unit
        try:
            return date.fromisoformat(text) if _DAY.fullmatch(text) else text
        except ValueError:
            return text


@dataclass(frozen=True, slots=True)
class MomentText(Leaf):
    """A day with its time and zone; a time without a zone is one of the branch's clock."""

    def shown(self, raw: object) -> str | None:
        """Return the moment as typed in a document."""
        return raw.isoformat() if isinstance(raw, datetime) else super(MomentText, self).shown(raw)

    def value(self, text: str, raw: object, unit: str) -> object:
        """Return the moment, or the text if it is none."""
        del raw, unit
        try:
            moment = datetime.fromisoformat(text)
            return moment if moment.tzinfo else moment.replace(tzinfo=timezone.get_current_timezone())
        except (ValueError, OverflowError):
            return text
