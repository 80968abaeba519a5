"""Gates, ramp, sections and timing as they are written in a wet-run file."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema

from wetrun.documents.entry import Entry
from wetrun.documents.fields import CarrierRate, SideFlow, Speed
from wetrun.documents.plain_fields import Words
from wetrun.documents.refusing import refuse
from wetrun.documents.shorthand import Shorthand
from wetrun.documents.wetrun_fields import (
    BELOW_RANGE,
    Delayed,
    Fill,
    Offset,
    RampFlow,
    ShownPressure,
    ShownRate,
    Width,
    Within,
    Within100,
    WithinFlow,
    WithinPressure,
    WithinRate,
    WithinTime,
)


class GateEntry(Shorthand):
    """A gate: what was found, or a table that says it is not safe or does not apply."""

    remark: str = Field(default="", max_length=300)
    safe: bool = True
    applies: bool = True

    @model_validator(mode="before")
    @classmethod
    def _true_is_confirmed(cls, value: object) -> object:
        return {} if value is True else value

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        found = super().__get_pydantic_json_schema__(schema, handler)
        return {"anyOf": [{"const": True}, *found["anyOf"]]}


Gate = Annotated[GateEntry, Field(examples=["UAN 32; rinsed three times on 3 March"])]


class GatesEntry(Entry):
    """What was looked at before water flows, and by whom."""

    by: Words
    at: str = Field(default="", max_length=60)
    last_product: Gate | None = None
    where_water_lands: Gate | None = None
    backflow: Gate | None = None
    overhead_lines: Gate | None = None
    nobody_under_boom: Gate | None = None
    cautions_read: Gate | None = None


class InstrumentEntry(Entry):
    """How far an instrument of the ramp may be off, as standard uncertainties."""

    of: Literal["shown rate", "meter flow", "cab pressure", "tip pressure", "shown duty"]
    share: Within100 | None = None
    rate: WithinRate | None = None
    flow: WithinFlow | None = None
    pressure: WithinPressure | None = None
    duty: Within100 | None = None
    rate_step: WithinRate | None = None
    flow_step: WithinFlow | None = None
    pressure_step: WithinPressure | None = None
    duty_step: Within100 | None = None


class StepEntry(Entry):
    """One step of the ramp: settled readings, or a log from the change on."""

    name: Words
    speed: Speed
    sections_on: int = Field(ge=1, le=200)
    tips_on: int | None = Field(default=None, ge=1, le=2000)
    agitation: bool = True
    every: Delayed | None = None
    rate: list[ShownRate] = Field(default=[], max_length=5000)
    flow: list[RampFlow] = Field(default=[], max_length=5000)
    cab: list[ShownPressure] = Field(default=[], max_length=5000)
    tip: list[ShownPressure] = Field(default=[], max_length=5000)
    duty: list[Fill] = Field(default=[], max_length=5000)

    @model_validator(mode="after")
    def _flow_is_shown_or_is_not(self) -> Self:
        if None in self.flow and any(self.flow):
            remedy = f'Write flow = ["{BELOW_RANGE}"] alone, or the flows that were read'
            raise refuse(f"some readings are {BELOW_RANGE} of the meter, and some are not", remedy, at="flow")
        return self


class RestoredEntry(Entry):
    """The product's density as the monitor was left with, signed."""

    typed: Words
    by: Words
    at: str = Field(default="", max_length=60)


class RampEntry(Entry):
    """The ramp."""

    rate: CarrierRate | None = None
    simulated_speed_off: bool
    water_density_by: Words | None = None
    density_restored: RestoredEntry | None = None
    passing: SideFlow | None = None
    instrument: list[InstrumentEntry] = Field(default=[], max_length=5)
    step: list[StepEntry] = Field(min_length=1, max_length=100)

    @model_validator(mode="after")
    def _names_each_once(self) -> Self:
        named: dict[str, list[str]] = {
            "instrument": [each.of for each in self.instrument],
            "step": [each.name for each in self.step],
        }
        for key, names in named.items():
            twice = next((name for name in names if names.count(name) > 1), None)
            if twice is not None:
                raise refuse(f"“{twice}” stands there twice", "Name each once", at=key)
        return self


class SectionEntry(Entry):
    """One section on dry ground."""

    opened: list[int] = Field(max_length=200)
    tips: int = Field(ge=1, le=200)
    typed_tips: int = Field(ge=0, le=2000)
    width: Width
    typed_width: Width
    drips_until: Delayed | None = None


class AntennaEntry(Entry):
    """How far the tips are behind the antenna."""

    taped: Offset
    typed: Offset
    within: Within | None = None


class TimingEntry(Entry):
    """On and off delay of a section, and where the antenna is believed to be."""

    speed: Speed
    opening: list[Delayed] = Field(default=[], max_length=50)
    opening_ahead: Delayed | None = None
    shutting: list[Delayed] = Field(default=[], max_length=50)
    shutting_ahead: Delayed | None = None
    reading: WithinTime | None = None
    antenna: AntennaEntry
    allowed: Within | None = None

    @model_validator(mode="after")
    def _looks_ahead(self) -> Self:
        timed: dict[str, tuple[Any, Any]] = {
            "opening_ahead": (self.opening, self.opening_ahead),
            "shutting_ahead": (self.shutting, self.shutting_ahead),
        }
        for key, (tries, ahead) in timed.items():
            if tries and ahead is None:
                raise refuse("the look-ahead of the monitor is missing", f'Write {key} = "0.3 s", or "0 s"', at=key)
        return self
