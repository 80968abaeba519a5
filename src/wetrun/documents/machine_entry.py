"""The machine as it is written in a season file, table by table, each checked as a whole."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal, Self

from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import (
    BoomFlow,
    Density,
    Duty,
    Frequency,
    Pressure,
    Reserve,
    SideFlow,
    Spacing,
    Speed,
    Volume,
    Wear,
)
from wetrun.documents.plain_fields import Positions, Words
from wetrun.documents.plumbing_build import check_plumbing
from wetrun.documents.plumbing_entry import LossEntry, PlumbingEntry
from wetrun.documents.refusing import refuse
from wetrun.documents.response_entry import ResponseEntry
from wetrun.machine.boom import Boom
from wetrun.quantity import Typed


class OddEntry(Entry):
    """Positions that carry a tip of their own."""

    kind: Literal["boom end", "wheel track", "centre rack", "drop", "other"]
    positions: Positions
    tip: Words


class BoomEntry(Entry):
    """Layout of the boom."""

    spacing: Spacing
    sections: list[int] = Field(min_length=1, max_length=200, examples=[[12, 12, 12]])
    body_positions: int = Field(default=1, ge=1, le=10)
    odd: list[OddEntry] = Field(default=[], max_length=100)

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        for place, tips in enumerate(self.sections, start=1):
            if not 1 <= tips <= 200:
                raise refuse(f"a section has 1 to 200 tips, not {tips}", "Count its tips", at=f"sections[{place}]")
        taken: set[int] = set()
        for place, odd in enumerate(self.odd, start=1):
            at = f"odd[{place}].positions"
            if max(odd.positions) > sum(self.sections):
                limit = f"position {max(odd.positions)} is beyond the {sum(self.sections)} tips of the sections"
                raise refuse(limit, "Correct the position, or the tips per section", at=at)
            if twice := taken.intersection(odd.positions):
                raise refuse(f"position {min(twice)} already has an odd tip", "Name each position once", at=at)
            taken.update(odd.positions)
        if len(taken) == sum(self.sections):
            limit = f"the odd positions take all {len(taken)} tips of the boom, so no position is left for a set"
            raise refuse(limit, "Name only the positions that differ from the rest", at="odd")
        return self


class HoldEntry(Entry):
    """The controller's minimum hold, typed as one of three things."""

    pressure: Pressure | None = None
    boom_flow: BoomFlow | None = None
    duty: Duty | None = None

    @model_validator(mode="after")
    def _is_one(self) -> Self:
        if sum(given is not None for given in (self.pressure, self.boom_flow, self.duty)) != 1:
            raise refuse(
                "a hold is exactly one of pressure, boom_flow and duty", 'Write it like hold = { pressure = "25 psi" }'
            )
        return self


class MeterEntry(Entry):
    """Range of the flow meter."""

    least: BoomFlow
    greatest: BoomFlow
    sees_return: bool = False

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if self.least.si_value >= self.greatest.si_value:
            limit = f"least ({self.least.text}) must be below greatest ({self.greatest.text})"
            raise refuse(limit, "Copy both from the meter's data sheet", at="least")
        return self


class PulseEntry(Entry):
    """Pulse-width setting."""

    frequency: Frequency
    set_pressure: Pressure
    least_duty: Duty | None = None
    greatest_duty: Duty | None = None
    duty_from: Literal["flow meter", "pressure"]

    @model_validator(mode="after")
    def _rises(self) -> Self:
        least, greatest = self.least_duty, self.greatest_duty
        if least is not None and greatest is not None and least.si_value >= greatest.si_value:
            limit = f"least_duty ({least.text}) must be below greatest_duty ({greatest.text})"
            raise refuse(limit, "Copy both from the machine's settings", at="least_duty")
        return self


class ControlEntry(Entry):
    """How the machine keeps its rate."""

    loop: Literal["flow meter", "pressure", "pulse width", "none"]
    hold: HoldEntry | None = None
    max_pressure: Pressure | None = None
    off_below: Speed | None = None
    density_setting: Density | None = None
    meter: MeterEntry | None = None
    pulse: PulseEntry | None = None
    stage_hysteresis: Speed | None = None
    turn_compensation: Literal["none", "section", "tip"] = "none"
    response: ResponseEntry | None = None

    @model_validator(mode="after")
    def _turns_by_pulses(self) -> Self:
        if self.turn_compensation != "none" and self.pulse is None:
            limit = "turn compensation is known of pulse-width machines only: a flow for each section or tip"
            raise refuse(limit, 'Leave it out, or correct loop to "pulse width"', at="turn_compensation")
        return self

    @model_validator(mode="after")
    def _agrees_with_its_loop(self) -> Self:
        pulsed = self.loop == "pulse width"
        if pulsed and self.pulse is None:
            remedy = "Add [machine.control.pulse] with frequency, set_pressure and duty_from, or correct loop"
            raise refuse("a pulse-width machine needs its pulse settings", remedy, at="pulse")
        if self.pulse is not None and not pulsed:
            remedy = 'Write loop = "pulse width", or leave the pulse settings out'
            raise refuse(
                f"pulse settings belong to a pulse-width machine, but loop is “{self.loop}”", remedy, at="pulse"
            )
        if self.hold is not None and self.hold.duty is not None and not pulsed:
            remedy = "Type the hold as pressure or boom_flow, as this controller asks for it"
            raise refuse(
                f"a hold by duty needs a pulse-width machine, but loop is “{self.loop}”", remedy, at="hold.duty"
            )
        return self

    @model_validator(mode="after")
    def _leaves_room(self) -> Self:
        pressures = {
            "hold.pressure": self.hold.pressure if self.hold else None,
            "pulse.set_pressure": self.pulse.set_pressure if self.pulse else None,
        }
        for at, pressure in pressures.items():
            if pressure and self.max_pressure and pressure.si_value >= self.max_pressure.si_value:
                limit = f"{pressure.text} must be below max_pressure ({self.max_pressure.text})"
                raise refuse(limit, "Read both numbers from the monitor again", at=at)
        return self


class PumpPointEntry(Entry):
    """One point of a pump's curve on water."""

    flow: SideFlow
    pressure: Pressure


class PumpEntry(Entry):
    """What stands behind the boom."""

    flow: BoomFlow
    agitation: SideFlow | None = None
    return_flow: SideFlow | None = Field(default=None, alias="return")
    wear_reserve: Reserve | None = None
    curve: list[PumpPointEntry] = Field(default=[], max_length=100)

    @model_validator(mode="after")
    def _has_a_falling_curve(self) -> Self:
        for place, (before, after) in enumerate(pairwise(self.curve), start=2):
            if before.flow.si_value >= after.flow.si_value or before.pressure.si_value < after.pressure.si_value:
                raise refuse(
                    "flow rises and pressure falls from point to point of a pump's curve",
                    "Sort the points by flow, and check them against the curve",
                    at=f"curve[{place}]",
                )
        return self

    @model_validator(mode="after")
    def _leaves_flow_for_the_boom(self) -> Self:
        usable = self.flow.si_value * (1.0 - _si(self.wear_reserve))
        if usable <= _si(self.agitation) + _si(self.return_flow):
            limit = f"nothing of {self.flow.text} is left for the boom after wear reserve, agitation and return"
            raise refuse(limit, "Check the four numbers; each is a flow at working pressure", at="flow")
        return self


class OwnedEntry(Entry):
    """A set the customer already has."""

    tip: Words
    wear: Wear | None = None
    count: int | None = Field(default=None, ge=1, le=2000)


class MachineEntry(Entry):
    """The machine a plan is made for."""

    name: Words
    tank: Volume | None = None
    check_valve: Pressure | None = None
    relief: Pressure | None = None
    boom: BoomEntry
    control: ControlEntry
    pump: PumpEntry | None = None
    loss: LossEntry | None = None
    plumbing: PlumbingEntry | None = None
    owned: list[OwnedEntry] = Field(default=[], max_length=200)

    @model_validator(mode="after")
    def _loses_no_more_in_the_bodies_than_in_all(self) -> Self:
        loss = self.loss
        if loss is None or loss.body is None:
            return self
        tip_flow = loss.boom_flow.si_value / sum(self.boom.sections)
        in_bodies = loss.body.drop.si_value * (tip_flow / loss.body.flow.si_value) ** 2
        if in_bodies > loss.cab.si_value - loss.tip.si_value:
            limit = f"the nozzle bodies alone would lose more at {loss.boom_flow.text} than the gauges show in all"
            raise refuse(limit, "Read both gauges again, or correct what one body loses", at="loss")
        return self

    @model_validator(mode="after")
    def _is_plumbed_like_its_boom(self) -> Self:
        if self.plumbing is not None:
            boom = Boom(spacing_m=self.boom.spacing.si_value, section_tips=tuple(self.boom.sections))
            passes = self.loss is not None and self.loss.return_passes and self.pump is not None
            passing_m3s = _si(self.pump.return_flow) if passes and self.pump is not None else 0.0
            check_plumbing(self.plumbing, self.loss, boom, passing_m3s=passing_m3s)
        return self

    @model_validator(mode="after")
    def _can_hold_below_its_relief(self) -> Self:
        hold = self.control.hold.pressure if self.control.hold else None
        if hold and self.relief and hold.si_value >= self.relief.si_value:
            limit = f"the hold ({hold.text}) must be below the relief valve ({self.relief.text})"
            raise refuse(limit, "Read the hold from the monitor and the relief pressure from the valve", at="relief")
        return self


def _si(typed: Typed | None) -> float:
    return 0.0 if typed is None else typed.si_value
