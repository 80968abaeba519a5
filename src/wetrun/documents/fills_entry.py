"""The whole of a fills file as it is written: loads in season, what they were measured with, the monitor's number."""

from __future__ import annotations

from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Area, Ask, CarrierRate, Density, Quantity
from wetrun.documents.plain_fields import Day, Passage, Words
from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_fields import Number, Within100, WithinMass, WithinVolume
from wetrun.documents.wetrun_monitor_entry import form_named
from wetrun.proving.monitor import Setting
from wetrun.quantity import Kind, Typed

FILLS_VERSION: Final = 1

Filled = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0.1 gal", "10000 gal"), example="1000 gal")]
Aboard = Annotated[Typed, Quantity(Ask(Kind.VOLUME, "0 gal", "10000 gal"), example="20 gal")]
Ticket = Annotated[Typed, Quantity(Ask(Kind.MASS, "1 lb", "200000 lb"), example="8340 lb")]
WithinArea = Annotated[Typed, Quantity(Ask(Kind.AREA, "0 ac", "50 ac"), example="0.1 ac")]


class FilledLoadEntry(Entry):
    """One load: filled, counted by the monitor, left."""

    name: Words | None = None
    on: Day
    pass_name: Words | None = Field(default=None, alias="pass")
    filled: Filled | None = None
    weight: Ticket | None = None
    density: Density | None = None
    carried: bool = False
    aboard: Aboard | None = None
    left: Aboard | None = None
    counted: Filled
    area: Area | None = None
    rate: CarrierRate | None = None
    note: Passage | None = None

    @model_validator(mode="after")
    def _is_filled_once(self) -> Self:
        if (self.filled is None) == (self.weight is None):
            remedy = 'Write filled = "1000 gal" off the fill meter, or weight = "8340 lb" off the scale ticket'
            raise refuse("it is filled by meter or by scale, one of the two", remedy, at="filled")
        if self.weight is not None and self.density is None:
            remedy = 'Write density = "8.34 lb/gal": weigh a gallon of it, or read it off its paper'
            raise refuse("a scale ticket says a volume only with the density", remedy, at="density")
        if self.weight is None and self.density is not None:
            raise refuse("a fill meter needs no density", "Leave density out", at="density")
        if self.carried and self.aboard is not None:
            remedy = "Keep carried for what the load before left, or aboard for what was read anew"
            raise refuse("carried and aboard say the same thing", remedy, at="aboard")
        return self


class FillToolsEntry(Entry):
    """How far each tool may be off; what is left out is common practice, no source."""

    fill_meter: Within100 | None = None
    fill_step: WithinVolume | None = None
    scale: Within100 | None = None
    scale_step: WithinMass | None = None
    density: Within100 | None = None
    mark: WithinVolume | None = None
    monitor_step: WithinVolume | None = None
    area_step: WithinArea | None = None


class MeterNumberEntry(Entry):
    """The meter number the loads were counted with."""

    number: Number
    form: Words = "pulses per US gal"

    @model_validator(mode="after")
    def _has_a_known_form(self) -> Self:
        form_named(Setting.METER_NUMBER, self.form)
        return self


class FillsEntry(Entry):
    """The loads of a machine's season."""

    format_version: Literal[1]
    title: Words
    units: Literal["us", "si"] = "us"
    machine: Words | None = None
    meter: MeterNumberEntry | None = None
    tools: FillToolsEntry = FillToolsEntry()
    load: list[FilledLoadEntry] = Field(default=[], max_length=2000)

    @model_validator(mode="after")
    def _carries_only_what_was_left(self) -> Self:
        if self.load and self.load[0].carried:
            remedy = 'Write aboard = "20 gal", or leave carried out'
            raise refuse("no load stands before the first", remedy, at="load")
        return self
