"""Course, meter, pressure and evenness as they are written in a wet-run file."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import BoomFlow, Height, Pressure, Temperature
from wetrun.documents.plain_fields import Words
from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_fields import (
    Caught,
    Fill,
    Length,
    Number,
    ShownSpeed,
    Time,
    Weighed,
    Within,
    Within100,
    WithinMass,
    WithinPressure,
    WithinSpeed,
    WithinTime,
    WithinVolume,
)
from wetrun.documents.wetrun_monitor_entry import form_named
from wetrun.proving.monitor import Setting


class SourceEntry(Entry):
    """A speed source."""

    name: Words
    kind: Literal["GPS", "ground radar", "wheel sensor", "shown speed, source not known"]
    number: Number | None = None
    form: Words | None = None
    step: WithinSpeed | None = None

    @model_validator(mode="after")
    def _number_has_a_form(self) -> Self:
        if (self.number is None) != (self.form is None):
            raise refuse("number and form belong together", 'Write form = "pulses per 300 ft" beside it', at="number")
        if self.form is not None:
            form_named(Setting.SPEED_NUMBER, self.form)
        return self


class RunEntry(Entry):
    """One pass over the course."""

    name: Words | None = None
    way: Literal["out", "back"]
    time: Time = None
    shown: dict[str, ShownSpeed] = Field(default={}, max_length=10)
    pulses: dict[str, float] = Field(default={}, max_length=10)


class CourseEntry(Entry):
    """A measured distance, the speed sources, and the runs."""

    length: Length
    tape: Within | None = None
    reaction: WithinTime | None = None
    watch_step: WithinTime | None = None
    paced: bool = False
    surface: Literal["field", "road or yard", "not told"] = "not told"
    tank: Fill | None = None
    rolling_start: bool = True
    source: list[SourceEntry] = Field(min_length=1, max_length=10)
    run: list[RunEntry] = Field(min_length=1, max_length=50)

    @model_validator(mode="after")
    def _sources_are_known(self) -> Self:
        known = {each.name for each in self.source}
        for place, each in enumerate(self.run, start=1):
            for name in (*each.shown, *each.pulses):
                if name not in known:
                    limit = f"“{name}” is no speed source of this machine"
                    raise refuse(limit, f"It has: {', '.join(sorted(known))}", at=f"run[{place}]")
        return self


class MeterCatchEntry(Entry):
    """One catch of the flow meter."""

    name: Words | None = None
    flow: Words
    time: Time = None
    pulses: float | None = Field(default=None, ge=0.0, le=1e9)
    shown: Caught = None
    volume: Caught = None
    gross: Weighed = None
    tare: Weighed = None
    tank_marks: bool = False


class MeterTestEntry(Entry):
    """A flow meter and its catches."""

    number: Number | None = None
    form: Words | None = None
    tag: Number | None = None
    tag_form: Words | None = None
    least: BoomFlow | None = None
    greatest: BoomFlow | None = None
    vessel: WithinVolume | None = None
    scale: WithinMass | None = None
    measure: Within100 | None = None
    same_measure: bool = False
    temperature: Temperature | None = None
    catch: list[MeterCatchEntry] = Field(min_length=1, max_length=100)

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        for number, form, key in ((self.number, self.form, "number"), (self.tag, self.tag_form, "tag")):
            if (number is None) != (form is None):
                remedy = f'Write both, such as {key} = "720" with its form = "pulses per US gal"'
                raise refuse(f"{key} and its form belong together", remedy, at=key)
            if form is not None:
                form_named(Setting.METER_NUMBER, form, at="form" if key == "number" else "tag_form")
        if (self.least is None) != (self.greatest is None):
            raise refuse("least and greatest belong together", "Copy both from the meter's data sheet", at="least")
        if self.least is not None and self.greatest is not None and self.least.si_value >= self.greatest.si_value:
            limit = f"least ({self.least.text}) must be below greatest ({self.greatest.text})"
            raise refuse(limit, "Copy both from the meter's data sheet", at="least")
        return self


class GaugeEntry(Entry):
    """Cab and a gauge at a tip, read at the same moment."""

    section: int = Field(ge=1, le=200)
    flow: BoomFlow
    cab: Pressure
    tip: Pressure


class PressureEntry(Entry):
    """Cab against gauges."""

    reading: WithinPressure
    gauge_within: WithinPressure | None = None
    gauge: list[GaugeEntry] = Field(min_length=2, max_length=200)


class EvennessEntry(Entry):
    """Evenness across the boom: a tray, or the height at which the tips caught are stacked."""

    rule: Literal["in use", "new at stated height", "new over the range"] = "in use"
    unit: Words | None = None
    grooves: list[float] = Field(default=[], max_length=2000)
    reading: Within100 | None = None
    height: Height | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not self.grooves and self.height is None:
            raise refuse(
                "a tray or a height belongs here", 'Write grooves = [102, 98] or height = "20 in"', at="grooves"
            )
        if self.grooves and (self.unit is None or self.reading is None):
            remedy = 'Write unit = "mL" and reading = "2 %" for how well one groove is read'
            raise refuse("grooves need their unit and how well they are read", remedy, at="grooves")
        return self
