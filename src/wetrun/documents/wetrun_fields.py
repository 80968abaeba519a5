"""What the fields of a wet-run file take: raw readings, which may be blank, and numbers as a monitor shows them.

Bounds are wide on purpose: a point in the wrong place or a wrong unit is a question about the reading, not a refusal.
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, Final

from pydantic import GetJsonSchemaHandler, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import CoreSchema

from wetrun.documents.fields import Ask, Quantity
from wetrun.documents.refusing import refuse
from wetrun.quantity import Kind, Typed

BELOW_RANGE: Final = "below range"
_DIGITS: Final = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,6})?")


class Reading(Quantity):
    """Makes a field read a quantity, or nothing: ``""`` is a reading that was left blank."""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        found = super().__get_pydantic_json_schema__(schema, handler)
        return {**found, "description": f"{found['description']}; empty if it was left blank"}

    def _read(self, value: object, info: ValidationInfo) -> Typed | None:  # type: ignore[override]
        return None if value == "" else super()._read(value, info)


class MeterFlow(Quantity):
    """Makes a field read a flow, or the words for one that the meter is too large to show."""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        found = super().__get_pydantic_json_schema__(schema, handler)
        return {**found, "description": f"{found['description']}; or “{BELOW_RANGE}” of the meter"}

    def _read(self, value: object, info: ValidationInfo) -> Typed | None:  # type: ignore[override]
        return None if value == BELOW_RANGE else super()._read(value, info)


def _number(value: object) -> str:
    remedy = 'Write it in quotes exactly as the monitor shows it, to the last zero: "64.0"'
    if not isinstance(value, str):
        raise refuse("a number in quotes belongs here, so that its last zero is kept", remedy)
    text = value.strip()
    if not _DIGITS.fullmatch(text):
        raise refuse("a number above zero belongs here", remedy)
    try:
        positive = Decimal(text.replace(",", ".")) > 0
    except InvalidOperation:
        positive = False
    if not positive:
        raise refuse("a number above zero belongs here", remedy)
    return text


Number = Annotated[str, PlainValidator(_number), WithJsonSchema({"type": "string", "examples": ["64.0", "720"]})]

Time = Annotated[Typed | None, Reading(Ask(Kind.TIME, "0 s", "10 h"), example="20.4 s")]
ShownSpeed = Annotated[Typed | None, Reading(Ask(Kind.SPEED, "0 km/h", "1000 km/h"), example="12.0 mph")]
Caught = Annotated[Typed | None, Reading(Ask(Kind.VOLUME, "0 gal", "5000 gal"), example="51.2 fl oz")]
Weighed = Annotated[Typed | None, Reading(Ask(Kind.MASS, "0 lb", "50000 lb"), example="41.3 lb")]
ShownFlow = Annotated[Typed, Quantity(Ask(Kind.BOOM_FLOW, "0 gal/min", "1000 gal/min"), example="28.8 gal/min")]
RampFlow = Annotated[Typed | None, MeterFlow(Ask(Kind.BOOM_FLOW, "0 gal/min", "1000 gal/min"), example="28.8 gal/min")]
ShownRate = Annotated[Typed, Quantity(Ask(Kind.RATE, "0 gal/ac", "1000 gal/ac"), example="15.0 gal/ac")]
ShownPressure = Annotated[Typed, Quantity(Ask(Kind.PRESSURE, "0 psi", "400 psi"), example="40 psi")]
Delayed = Annotated[Typed, Quantity(Ask(Kind.TIME, "0 s", "60 s"), example="0.8 s")]
Length = Annotated[Typed, Quantity(Ask(Kind.WIDTH, "1 m", "2000 m"), example="300 ft")]
Width = Annotated[Typed, Quantity(Ask(Kind.WIDTH, "0.1 m", "100 m"), example="13.33 ft")]
Offset = Annotated[Typed, Quantity(Ask(Kind.WIDTH, "-30 m", "30 m"), example="6 ft")]
Within = Annotated[Typed, Quantity(Ask(Kind.WIDTH, "0 m", "20 m"), example="4 in")]
WithinPressure = Annotated[Typed, Quantity(Ask(Kind.PRESSURE, "0 psi", "50 psi"), example="0.5 psi")]
WithinTime = Annotated[Typed, Quantity(Ask(Kind.TIME, "0 s", "5 s"), example="0.1 s")]
WithinVolume = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0 gal", "50 gal"), example="0.5 fl oz")]
WithinMass = Annotated[Typed, Quantity(Ask(Kind.MASS, "0 lb", "500 lb"), example="0.1 lb")]
WithinFlow = Annotated[Typed, Quantity(Ask(Kind.BOOM_FLOW, "0 gal/min", "50 gal/min"), example="0.1 gal/min")]
WithinRate = Annotated[Typed, Quantity(Ask(Kind.RATE, "0 gal/ac", "50 gal/ac"), example="0.1 gal/ac")]
WithinSpeed = Annotated[Typed, Quantity(Ask(Kind.SPEED, "0 km/h", "10 km/h"), example="0.1 mph")]
Within100 = Annotated[Typed, Quantity(Ask(Kind.SHARE, "0 %", "100 %"), example="0.5 %")]
Fill = Annotated[Typed, Quantity(Ask(Kind.SHARE, "0 %", "100 %"), example="50 %")]
Hours = Annotated[Typed, Quantity(Ask(Kind.TIME, "1 min", "20000 h"), example="180 h")]
"""Spraying time."""
