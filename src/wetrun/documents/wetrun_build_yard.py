"""Makes the records of gates, ramp, sections, steady readings and the screen from what was typed."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_build import si, si_or_none
from wetrun.documents.wetrun_expected import expected_step
from wetrun.documents.wetrun_ground import Ground
from wetrun.documents.wetrun_steady_entry import DoubtsEntry, ScreenEntry, SteadyEntry
from wetrun.documents.wetrun_yard_entry import (
    GateEntry,
    GatesEntry,
    InstrumentEntry,
    RampEntry,
    SectionEntry,
    StepEntry,
    TimingEntry,
)
from wetrun.proving.budget import Budget, Component
from wetrun.proving.confirmation import AsLeft, Confirmed
from wetrun.proving.gates import Answer, Gate, GateAnswer
from wetrun.proving.identity import Screen
from wetrun.proving.ramp_reading import Instrument, Reading, Shown
from wetrun.proving.ramp_record import Ramp, RampStep
from wetrun.proving.section_timing import Antenna, Delay
from wetrun.proving.sections import SectionSeen
from wetrun.proving.session_record import SectionsTest
from wetrun.proving.session_steady import ReadingDoubts, SteadyRead
from wetrun.proving.uncertainty import rectangular
from wetrun.quantity import Typed, read
from wetrun.spray.hydraulics import Hydraulics
from wetrun.units import M3pm2

GATES: Final = {
    "last_product": Gate.LAST_PRODUCT,
    "where_water_lands": Gate.WHERE_WATER_LANDS,
    "backflow": Gate.BACKFLOW,
    "overhead_lines": Gate.OVERHEAD_LINES,
    "nobody_under_boom": Gate.NOBODY_UNDER_BOOM,
    "cautions_read": Gate.CAUTIONS_READ,
}
"""Gates by their keys in the file."""


def gate_of(key: str, entry: GateEntry, gates: GatesEntry) -> GateAnswer:
    """Return one gate as answered."""
    answer = Answer.SAFE if entry.safe else Answer.NOT_SAFE
    confirmed = Confirmed(gates.by, gates.at, entry.remark)
    return GateAnswer(GATES[key], answer if entry.applies else Answer.NOT_APPLICABLE, confirmed)


def ramp_of(entry: RampEntry, ground: Ground, setup: Hydraulics) -> Ramp:
    """Return the ramp with what is expected of every step; the target rate is the pass's unless it is typed."""
    planned = ground.planned
    if entry.rate is None and planned is None:
        raise refuse("the target rate of the ramp is missing", 'Write rate = "15 gal/ac"', at="rate")
    rate_m3pm2 = entry.rate.si_value if entry.rate is not None else planned.rate_m3pm2 if planned else 0.0
    restored, water_by = entry.density_restored, entry.water_density_by
    signed = None if restored is None else AsLeft("density", restored.typed, Confirmed(restored.by, restored.at))
    return Ramp(
        steps=tuple(_step(each, ground, setup, rate_m3pm2) for each in entry.step),
        rate_m3pm2=rate_m3pm2,
        spacing_m=ground.sprayer.boom.spacing_m,
        simulated_speed_off=entry.simulated_speed_off,
        instruments=tuple(_instrument(each) for each in entry.instrument),
        water_density_set=None if water_by is None else Confirmed(water_by),
        density_restored=signed,
        passing_m3s=si(entry.passing),
    )


def _instrument(entry: InstrumentEntry) -> Instrument:
    absolute = next((each for each in (entry.rate, entry.flow, entry.pressure, entry.duty) if each is not None), None)
    steps = (entry.rate_step, entry.flow_step, entry.pressure_step, entry.duty_step)
    step = next((each for each in steps if each is not None), None)
    return Instrument(what=Shown(entry.of), relative_frac=si(entry.share), absolute=si(absolute), display_step=si(step))


def _step(entry: StepEntry, ground: Ground, setup: Hydraulics, rate_m3pm2: M3pm2) -> RampStep:
    tips_on = entry.tips_on or _tips_of(entry, ground)
    if entry.duty and setup.pulse is None:
        limit = f"a duty is written at “{entry.name}”, and this machine does not pulse its tips"
        raise refuse(limit, 'Leave it out, or write loop = "pulse width" with its settings', at="step")
    flow = [each for each in entry.flow if each is not None]
    read = (entry.rate, flow, entry.cab, entry.tip, entry.duty)
    return RampStep(
        name=entry.name,
        speed_mps=entry.speed.si_value,
        sections_on=entry.sections_on,
        tips_on=tips_on,
        agitation_on=entry.agitation,
        readings=tuple(_reading(what, values, entry) for what, values in zip(Shown, read, strict=True) if values),
        below_range=bool(entry.flow) and not flow,
        expected=expected_step(setup, ground.sprayer.boom, tips_on, rate_m3pm2 * entry.speed.si_value),
    )


def _tips_of(entry: StepEntry, ground: Ground) -> int:
    sections = ground.sprayer.boom.section_tips
    if entry.sections_on > len(sections):
        limit = f"{entry.sections_on} sections are on, and the boom has {len(sections)}"
        raise refuse(limit, "Correct the step, or the sections of the boom", at="step")
    if len(set(sections)) > 1 and entry.sections_on < len(sections):
        remedy = f"Write tips_on beside sections_on at “{entry.name}”"
        raise refuse("the sections differ in tips, so how many were on is not known", remedy, at="step")
    return sum(sections[: entry.sections_on])


def _reading(what: Shown, values: list[Typed], entry: StepEntry) -> Reading:
    every = 0.0 if entry.every is None else entry.every.si_value
    times = tuple(every * n for n in range(len(values))) if every and len(values) > 1 else ()
    return Reading(what, tuple(each.si_value for each in values), times)


def sections_of(sections: list[SectionEntry], timing: TimingEntry | None, ground: Ground) -> SectionsTest:
    """Return sections and timing as looked at."""
    count = len(ground.sprayer.boom.section_tips)
    if sections and len(sections) != count:
        limit = f"{len(sections)} sections were looked at, and the boom has {count}"
        raise refuse(limit, "Write one [[section]] for each, left to right")
    seen = tuple(
        SectionSeen(
            opened=tuple(each.opened),
            tips=each.tips,
            typed_tips=each.typed_tips,
            width_m=each.width.si_value,
            typed_width_m=each.typed_width.si_value,
            drips_until_s=si_or_none(each.drips_until),
        )
        for each in sections
    )
    if timing is None:
        return SectionsTest(seen=seen)
    antenna = timing.antenna
    return SectionsTest(
        seen=seen,
        opening=_delay(timing.opening, timing.opening_ahead, timing),
        shutting=_delay(timing.shutting, timing.shutting_ahead, timing),
        antenna=Antenna(
            antenna.taped.si_value, antenna.typed.si_value, si(antenna.within, Antenna(0.0, 0.0).standard_m)
        ),
        speed_mps=timing.speed.si_value,
        allowed_m=si_or_none(timing.allowed),
    )


def _delay(tries: list[Typed], ahead: Typed | None, timing: TimingEntry) -> Delay | None:
    if not tries:
        return None
    usual_s = Delay(timed_s=(0.0,), ahead_s=0.0).reading_half_width_s
    return Delay(
        timed_s=tuple(each.si_value for each in tries),
        ahead_s=si(ahead),
        reading_half_width_s=si(timing.reading, usual_s),
    )


def steady_of(entry: SteadyEntry, place: int) -> SteadyRead:
    """Return what was read at one steady pressure."""
    tank, time = si_or_none(entry.tank), si_or_none(entry.tank_time)
    if (tank is None) != (time is None) or time == 0.0:
        raise refuse(
            "tank and tank_time belong together, both above zero", 'Write tank = "120 gal", tank_time = "4 min"'
        )
    return SteadyRead(
        name=entry.name or f"pressure {place}",
        meter_m3s=si_or_none(entry.meter),
        cab_pa=si_or_none(entry.cab),
        gauge_pa=si_or_none(entry.gauge),
        tank_m3s=None if tank is None or time is None else tank / time,
        caught=entry.caught,
    )


def screen_of(entry: ScreenEntry, setup: Hydraulics) -> Screen:
    """Return the monitor's screen, each number as fine as it was typed."""
    tape_m = si(entry.tape, 0.0)
    doubt = Component("tape", rectangular(tape_m) if tape_m else _last_digit(entry.width), cause="width tape")
    return Screen(
        rate_m3pm2=entry.rate.si_value,
        rate_step_m3pm2=_last_digit(entry.rate),
        speed_mps=entry.speed.si_value,
        speed_step_mps=_last_digit(entry.speed),
        flow_m3s=entry.flow.si_value,
        flow_step_m3s=_last_digit(entry.flow),
        width_m=entry.width.si_value,
        tape=Budget((doubt,)),
        loop=setup.loop,
    )


def _last_digit(typed: Typed) -> float:
    """What one step of the last digit typed is worth, in SI."""
    number = typed.text.removesuffix(typed.unit_text).strip().replace(",", ".")
    exponent = Decimal(number).as_tuple().exponent
    step = 10.0 ** (exponent if isinstance(exponent, int) else 0)
    return read(f"{step:f} {typed.unit_text}", typed.kind).si_value


def doubts_of(entry: DoubtsEntry) -> ReadingDoubts:
    """Return the doubts that were typed over the usual ones."""
    typed = {f"{key}_frac": each.si_value for key in type(entry).model_fields if (each := getattr(entry, key))}
    return ReadingDoubts(**typed)
