"""What one field of a document takes besides quantities: names, days, money, positions, droplet classes."""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Annotated, Final

from pydantic import PlainValidator, WithJsonSchema

from wetrun.documents.droplet_words import droplet_classes
from wetrun.documents.family_words import FAMILY_WORDS
from wetrun.documents.refusing import refuse
from wetrun.spray.droplets import DropletClass

_MONEY: Final = re.compile(r"([0-9]{1,7})(?:[.,]([0-9]{1,2}))?")


def _words(value: object) -> str:
    if not isinstance(value, str):
        raise refuse("text in quotes belongs here", 'Write it in quotes, for example "North farm"')
    words = " ".join(value.split())
    if not 0 < len(words) <= 200:
        raise refuse("it must be 1 to 200 characters long", "Write a short name")
    if not words.isprintable():
        raise refuse("it holds characters that cannot be printed", "Type it again with letters, digits and signs")
    return words


def _passage(value: object) -> str:
    if not isinstance(value, str):
        raise refuse("text in quotes belongs here", "Copy the sentence from the label, in quotes")
    words = " ".join(value.split())
    if not 0 < len(words) <= 600:
        raise refuse("it must be 1 to 600 characters long", "Copy the sentence that matters")
    if not words.isprintable():
        raise refuse("it holds characters that cannot be printed", "Type it again with letters, digits and signs")
    return words


def _pass_names(value: object) -> tuple[str, ...]:
    parts = value if isinstance(value, list) else [value]
    if not parts or not all(isinstance(part, str) for part in parts):
        remedy = 'Write "Burndown" or ["Burndown", "Post"], or leave after out'
        raise refuse("names of passes in quotes belong here", remedy)
    return tuple(dict.fromkeys(_words(part) for part in parts))


def _file_name(value: object) -> str:
    if not isinstance(value, str) or not 0 < len(value.strip()) <= 1000 or not value.isprintable():
        raise refuse("the name of a file belongs here", 'Write it in quotes, for example "logs/spring.csv"')
    return value.strip()


def _day(value: object) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        day = value
    else:
        try:
            day = date.fromisoformat(str(value)) if isinstance(value, str) else date.min
        except ValueError:
            day = date.min
    if not 1990 <= day.year <= 2100:
        raise refuse("a day from 1990 to 2100 belongs here", "Write it as year-month-day without quotes: 2026-05-01")
    return day


def cents_of(value: object) -> int:
    """Return an amount of money in hundredths, exactly.

    Parameters
    ----------
    value : object
        A number, or a text of one.

    Returns
    -------
    int
        Hundredths of the shop's currency.

    Raises
    ------
    PydanticCustomError
        If it is no amount from 0 to 9999999.99, or could mean thousands.

    Example
    -------
    >>> cents_of("1200,50")
    120050
    """
    text = str(value).strip() if isinstance(value, str | int | float) and not isinstance(value, bool) else ""
    match = _MONEY.fullmatch(text)
    if match is None:
        raise refuse(
            "an amount of money from 0 to 9999999.99 belongs here, with two decimals at most and no thousands parted",
            'Write it as a number in quotes, without a currency, for example "1200" or "1200.50"',
        )
    return int(match[1]) * 100 + int((match[2] or "").ljust(2, "0"))


def positions_of(value: object) -> tuple[int, ...]:
    """Return the positions that are typed as numbers and ranges, counted from 1.

    Example
    -------
    >>> positions_of("1-3,9")
    (1, 2, 3, 9)
    """
    remedy = 'Write positions counted from the left, for example "1-2,71-72"'
    if not isinstance(value, str):
        raise refuse("positions in quotes belong here", remedy)
    found: list[int] = []
    for part in value.split(","):
        first, dash, last = (piece.strip() for piece in part.partition("-"))
        ends = (first, last if dash else first)
        if not all(end.isascii() and end.isdigit() and len(end) < 5 for end in ends) or int(ends[0]) > int(ends[1]):
            raise refuse(f"“{part.strip()}” is no position and no rising range", remedy)
        found.extend(range(int(ends[0]), int(ends[1]) + 1))
    if 0 in found or len(set(found)) < len(found):
        raise refuse("positions count from 1, each once", remedy)
    return tuple(found)


def _droplets(value: object) -> frozenset[DropletClass]:
    try:
        return droplet_classes(value)
    except ValueError as trouble:
        remedy = 'Write ["M", "C"] or "C or coarser", as the label says it'
        raise refuse(str(trouble), remedy) from None


def _fit(value: object) -> tuple[str, ...]:
    parts = value if isinstance(value, list) else [value]
    if not parts or not all(isinstance(part, str) for part in parts):
        remedy = 'Write ["streamer"] or ["iso-11006-ai", "pre-orifice"], or leave fit out'
        raise refuse("families of tips or idents of tips in quotes belong here", remedy)
    return tuple(dict.fromkeys(_words(part) for part in parts))


Words = Annotated[str, PlainValidator(_words), WithJsonSchema({"type": "string", "minLength": 1, "maxLength": 200})]
Passage = Annotated[str, PlainValidator(_passage), WithJsonSchema({"type": "string", "minLength": 1, "maxLength": 600})]
PassNames = Annotated[
    tuple[str, ...],
    PlainValidator(_pass_names),
    WithJsonSchema(
        {
            "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}],
            "description": "names of passes that have to be done before this one",
            "examples": ["Burndown"],
        }
    ),
]
FileName = Annotated[
    str, PlainValidator(_file_name), WithJsonSchema({"type": "string", "minLength": 1, "maxLength": 1000})
]
Day = Annotated[date, PlainValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
Money = Annotated[
    int, PlainValidator(cents_of), WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "number", "minimum": 0}]})
]
Positions = Annotated[
    tuple[int, ...], PlainValidator(positions_of), WithJsonSchema({"type": "string", "examples": ["1-2,71-72"]})
]
Fit = Annotated[
    tuple[str, ...],
    PlainValidator(_fit),
    WithJsonSchema(
        {
            "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}],
            "description": f"families of tips ({', '.join(FAMILY_WORDS)}) or idents of tips",
            "examples": [["streamer"], ["iso-11006-ai", "pre-orifice"]],
        }
    ),
]
Droplets = Annotated[
    frozenset[DropletClass],
    PlainValidator(_droplets),
    WithJsonSchema(
        {
            "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}],
            "examples": [["M", "C"], "C or coarser"],
        }
    ),
]
