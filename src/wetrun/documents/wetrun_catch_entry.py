"""The catch of a boom as it is written in a wet-run file: the sheet, its record, swap tests, and low duty."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field, PlainValidator, WithJsonSchema, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Duty, Pressure, Temperature
from wetrun.documents.plain_fields import Positions, Words
from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_fields import (
    Time,
    Within100,
    WithinMass,
    WithinPressure,
    WithinTime,
    WithinVolume,
)
from wetrun.documents.wetrun_readings import schema_of_readings, tip_readings
from wetrun.proving.catch_rules import RULES
from wetrun.quantity import Kind

Raw = Annotated[Any, PlainValidator(lambda value: value), WithJsonSchema(schema_of_readings())]
Position = Annotated[int, Field(ge=1, le=999)]


class Readings(Entry):
    """Readings along the boom in one kind of unit, with their times and pressures."""

    unit: Words | None = None
    readings: Raw
    time: Time = None
    times: dict[str, Time] = Field(default={}, max_length=999)
    section_pressures: list[Pressure] = Field(default=[], max_length=200)
    before: Pressure | None = None
    after: Pressure | None = None

    @model_validator(mode="after")
    def _can_be_read(self) -> Self:
        tip_readings(self.readings, self.unit or "")
        return self


class SwapEntry(Entry):
    """An odd tip that changed places with a good one; what is not told here is as in the catch."""

    odd: Position
    good: Position = Field(alias="with")
    unit: Words | None = None
    readings: Raw
    home: Raw = None
    time: Time = None
    pressure: Pressure | None = None

    @model_validator(mode="after")
    def _is_two_places(self) -> Self:
        if self.odd == self.good:
            remedy = "Write the position of the good tip it changed places with"
            raise refuse(f"tip {self.odd} cannot change places with itself", remedy, at="with")
        if self.time is not None and self.time.si_value <= 0.0:
            raise refuse("a catch of 0 s is none", "Write the seconds both were caught for, or leave it out", at="time")
        return self


class LowDutyEntry(Readings):
    """The boom caught again at low duty, with the same jug or scale; its swap tests are of solenoids."""

    duty: Duty
    pressure: Pressure | None = None
    swap: list[SwapEntry] = Field(default=[], max_length=200)


class CatchEntry(Readings):
    """A catch of the boom."""

    rule: Literal[*RULES] = "boom-10"  # type: ignore[valid-type]
    pressure: Pressure
    temperature: Temperature | None = None
    jug: WithinVolume | None = None
    jugs: int = Field(default=1, ge=1, le=200)
    scale: WithinMass | None = None
    watch: WithinTime | None = None
    measure: Within100 | None = None
    gauge: WithinPressure | None = None
    wander: WithinPressure | None = None
    instrument: Within100 | None = None
    mode: Literal["manual", "automatic"] | None = None
    agitation: bool | None = None
    duty: Duty | None = None
    conditions: Words | None = None
    new_tips: Positions | None = None
    swap: list[SwapEntry] = Field(default=[], max_length=200)
    low: LowDutyEntry | None = None

    @model_validator(mode="after")
    def _instrument_has_a_doubt(self) -> Self:
        read = tip_readings(self.readings, self.unit or "").values()
        shows_flow = any(typed is not None and typed.kind is Kind.TIP_FLOW for typed in read)
        if shows_flow and self.instrument is None:
            remedy = (
                'Write instrument = "2 %", from one holding to the next; measure = "…" for what it is off throughout'
            )
            raise refuse(
                "these readings are flows, and how well the instrument shows one is missing", remedy, at="instrument"
            )
        return self

    @model_validator(mode="after")
    def _low_is_lower(self) -> Self:
        full_frac = 1.0 if self.duty is None else self.duty.si_value
        if self.low is not None and self.low.duty.si_value >= full_frac:
            limit = f"{self.low.duty.text} is no lower than the duty of the catch above it"
            raise refuse(limit, 'Catch at full duty first, then at duty = "35 %"', at="low.duty")
        return self
