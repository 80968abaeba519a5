"""What the fields of a changeover file take: small volumes, times of standing, moments, shares of carry-over."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import PlainValidator, WithJsonSchema

from wetrun.documents.fields import Ask, Quantity
from wetrun.documents.refusing import refuse
from wetrun.quantity import Kind, Typed


def _moment(value: object) -> datetime:
    remedy = "Write day, time and zone without quotes: 2027-07-08T14:30:00-05:00"
    if not isinstance(value, datetime):
        raise refuse("a day with its time belongs here", remedy)
    if not 1990 <= value.year <= 2100:
        raise refuse("a day from 1990 to 2100 belongs here", remedy)
    return value


Moment = Annotated[
    datetime,
    PlainValidator(_moment),
    WithJsonSchema({"type": "string", "description": "day, time and zone", "examples": ["2027-07-08T14:30:00-05:00"]}),
]
Held = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0 gal", "500 gal"), example="3.2 gal")]
"""Held in a circuit; zero is refused later, with the circuit's name and what to do about it."""
RinseTank = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0 gal", "5000 gal"), example="100 gal")]
RinseWater = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0 gal", "5000 gal"), example="60 gal")]
WaterStep = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0.1 gal", "500 gal"), example="5 gal")]
Standing = Annotated[Typed, Quantity(Ask(Kind.TIME, "1 s", "72 h"), example="15 min")]
Tolerable = Annotated[Typed, Quantity(Ask(Kind.SHARE, "0 %", "99 %"), example="0.5 %")]
