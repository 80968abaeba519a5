"""What is lost between cab sensor and tips, as it is written in a season file: two gauges, and the boom's plumbing."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, ValidationInfo, model_validator
from pydantic_core import CoreSchema

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Ask, BoomFlow, Pressure, Quantity, TipFlow
from wetrun.documents.refusing import refuse
from wetrun.quantity import Kind, Typed
from wetrun.spray.plumbing import Feed


class OneOrEach:
    """Makes a list of one of a bare value: the same for every section, or one for each."""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        listed = handler(schema)
        return {"anyOf": [listed["items"], listed]}


class FeedPlace(Quantity):
    """Makes a field read where a hose meets its line: in words, or by tape from the section's first tip."""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        words = ", ".join(feed.value for feed in Feed)
        return {"type": "string", "description": f"{words}, or a length from the section's first tip, with its unit"}

    def _read(self, value: object, info: ValidationInfo) -> Feed | Typed:  # type: ignore[override]
        if isinstance(value, str) and value.strip() in {feed.value for feed in Feed}:
            return Feed(value.strip())
        if isinstance(value, str) and not any(sign.isdigit() for sign in value):
            words = ", ".join(feed.value for feed in Feed)
            raise refuse(f"a feed is {words}, or a length from the section's first tip", 'Write "middle", or "4 ft"')
        return super()._read(value, info)


def _listed(value: object) -> object:
    return value if isinstance(value, list) else [value]


_EACH = (BeforeValidator(_listed), OneOrEach(), Field(min_length=1, max_length=200))
Bore = Annotated[Typed, Quantity(Ask(Kind.BORE, "4 mm", "200 mm"))]
HoseLength = Annotated[Typed, Quantity(Ask(Kind.LENGTH, "0 ft", "300 ft"))]
FeedWords = Annotated[Feed | Typed, FeedPlace(Ask(Kind.LENGTH, "0 ft", "300 ft"), example="4 ft")]
Drop = Annotated[Typed, Quantity(Ask(Kind.PRESSURE, "0 psi", "100 psi"), example="2 psi")]


class BodyLossEntry(Entry):
    """What one nozzle body (strainer, check valve, solenoid) loses at a flow, on water."""

    drop: Pressure
    flow: TipFlow


class LossEntry(Entry):
    """A pair of gauges read at one boom flow, on water."""

    cab: Pressure
    tip: Pressure
    boom_flow: BoomFlow
    body: BodyLossEntry | None = None
    return_passes: bool = False

    @model_validator(mode="after")
    def _falls(self) -> Self:
        if self.tip.si_value > self.cab.si_value:
            limit = f"{self.tip.text} at the tip is above {self.cab.text} at the cab sensor"
            raise refuse(limit, "Read both gauges again with water running; one of them is off", at="tip")
        return self


class ValveEntry(Entry):
    """What a valve with its strainer loses at the flow through it, on water."""

    drop: Drop
    flow: BoomFlow


class HoseEntry(Entry):
    """A hose from the cab's sensor to where the sections part."""

    bore: Bore
    length: HoseLength


class PlumbingEntry(Entry):
    """How the boom is plumbed, by tape and by the size printed on hose and pipe."""

    line: Annotated[list[Bore], *_EACH]
    wall: Literal["smooth", "steel"] = "smooth"
    feed: Annotated[list[FeedWords], *_EACH] = Field(default=[Feed.MIDDLE])
    hose: Annotated[list[Bore], *_EACH] | None = None
    hose_length: Annotated[list[HoseLength], *_EACH] | None = None
    valve: Annotated[list[ValveEntry], *_EACH] | None = None
    main: HoseEntry | None = None
    boom_valve: ValveEntry | None = None
    body: BodyLossEntry | None = None

    @model_validator(mode="after")
    def _hoses_are_whole(self) -> Self:
        if (self.hose is None) != (self.hose_length is None):
            missing = "hose" if self.hose is None else "hose_length"
            remedy = 'Write both, such as hose = "1 in" and hose_length = "12 ft", or neither'
            raise refuse("a hose has an inner diameter and a length", remedy, at=missing)
        return self
