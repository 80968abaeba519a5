"""Makes the records of course, meter, pressure and evenness from what was typed."""

from __future__ import annotations

from typing import Final

from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_ground import Ground
from wetrun.documents.wetrun_monitor_entry import form_named
from wetrun.documents.wetrun_tests_entry import (
    CourseEntry,
    EvennessEntry,
    MeterCatchEntry,
    MeterTestEntry,
    PressureEntry,
)
from wetrun.proving.course import Course, Direction, Run, SourceKind, SourceReading, SpeedSource, Surface
from wetrun.proving.meter import Basis, Meter, MeterCatch, MeterTest, MeterTools
from wetrun.proving.monitor import Setting
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.pressure import PressurePair
from wetrun.proving.session_readings import MEASURE_OF_TIPS
from wetrun.proving.session_record import CourseTest, EvennessTest, PressureTest
from wetrun.quantity import Kind, Typed, read
from wetrun.spray.carrier import water
from wetrun.spray.fan import fan_width_m
from wetrun.spray.fan_patterns import Trapezoid
from wetrun.spray.overlap import IN_USE, NEW_AT_STATED, NEW_OVER_RANGE
from wetrun.spray.supply import MeterRange

_LIMITS: Final = {"in use": IN_USE, "new at stated height": NEW_AT_STATED, "new over the range": NEW_OVER_RANGE}
USUAL_K: Final = read("20 °C", Kind.TEMPERATURE).si_value


def si(typed: Typed | None, default: float = 0.0) -> float:
    """Return the SI value of what was typed, or a default."""
    return default if typed is None else typed.si_value


def si_or_none(typed: Typed | None) -> float | None:
    """Return the SI value of what was typed; None for a blank."""
    return None if typed is None else typed.si_value


def number_of(setting: Setting, text: str, form: str) -> TypedNumber:
    """Return a number exactly as it was typed, in its form."""
    return TypedNumber(text, form_named(setting, form))


def course_of(entry: CourseEntry) -> CourseTest:
    """Return the speed course as driven."""
    usual = Course(length_m=entry.length.si_value)
    course = Course(
        length_m=entry.length.si_value,
        length_half_width_m=si(entry.tape, usual.length_half_width_m),
        reaction_s=si(entry.reaction, usual.reaction_s),
        watch_step_s=si(entry.watch_step, usual.watch_step_s),
        paced=entry.paced,
        surface=Surface(entry.surface),
        tank_frac=si_or_none(entry.tank),
        rolling_start=entry.rolling_start,
    )
    sources = tuple(
        SpeedSource(
            name=each.name,
            kind=SourceKind(each.kind),
            number=None if not each.number else number_of(Setting.SPEED_NUMBER, each.number, each.form or ""),
            shown_step_mps=si(each.step),
        )
        for each in entry.source
    )
    runs = tuple(
        Run(
            each.name or f"run {place}",
            Direction(each.way),
            si_or_none(each.time),
            tuple(
                SourceReading(name, each.pulses.get(name), si_or_none(each.shown.get(name)))
                for name in dict.fromkeys((*each.shown, *each.pulses))
            ),
        )
        for place, each in enumerate(entry.run, start=1)
    )
    return CourseTest(course, runs, sources)


def meter_of(entry: MeterTestEntry, found: TypedNumber | None) -> MeterTest:
    """Return the proof of a flow meter; its number as found in the monitor where it is not typed again."""
    number = number_of(Setting.METER_NUMBER, entry.number, entry.form or "") if entry.number else found
    if number is None:
        raise refuse("the meter's number as found is missing", 'Write number = "720" with its form', at="number")
    tag = number_of(Setting.METER_NUMBER, entry.tag, entry.tag_form or "") if entry.tag else None
    limits = None
    if entry.least is not None and entry.greatest is not None:
        limits = MeterRange(entry.least.si_value, entry.greatest.si_value)
    tools = MeterTools(
        vessel_m3=si(entry.vessel),
        scale_kg=si(entry.scale),
        measure_frac=si(entry.measure),
        measure_cause=MEASURE_OF_TIPS if entry.same_measure else MeterTools().measure_cause,
    )
    catches = tuple(_meter_catch(each, f"catch {place}") for place, each in enumerate(entry.catch, start=1))
    carrier = water(si(entry.temperature, USUAL_K))
    return MeterTest(meter=Meter(number=number, tag=tag, limits=limits), catches=catches, tools=tools, carrier=carrier)


def _meter_catch(entry: MeterCatchEntry, name: str) -> MeterCatch:
    weighed = entry.gross is not None or entry.tare is not None
    basis = Basis.TANK_MARK if entry.tank_marks else Basis.SCALE if weighed else Basis.VESSEL
    return MeterCatch(
        name=entry.name or name,
        level=entry.flow,
        basis=basis,
        time_s=si_or_none(entry.time),
        pulses=entry.pulses,
        shown_m3=si_or_none(entry.shown),
        volume_m3=si_or_none(entry.volume),
        gross_kg=si_or_none(entry.gross),
        tare_kg=si_or_none(entry.tare),
    )


def pressure_of(entry: PressureEntry, ground: Ground) -> PressureTest:
    """Return cab and gauges as read."""
    count = len(ground.sprayer.boom.section_tips)
    for place, each in enumerate(entry.gauge, start=1):
        if each.section > count:
            raise refuse(f"the boom has {count} sections", "Count them from 1 at the left", at=f"gauge.{place}.section")
    pairs = tuple(
        PressurePair(each.section, each.flow.si_value, each.cab.si_value, each.tip.si_value) for each in entry.gauge
    )
    return PressureTest(pairs=pairs, reading_pa=entry.reading.si_value, gauge_pa=si(entry.gauge_within))


def evenness_of(entry: EvennessEntry, ground: Ground) -> EvennessTest:
    """Return the tray, and the pattern of one tip at the boom's height: a triangle as wide as its fan.

    A tip without a fan has none, and then only the tray says anything.
    """
    volumes = tuple(read(f"{each}", Kind.VOLUME, default_unit=entry.unit).si_value for each in entry.grooves)
    fan = ground.tip.pattern
    pattern = None
    if entry.height is not None and fan is not None:
        pattern = Trapezoid(fan_width_m(fan.angle_rad, entry.height.si_value))
    return EvennessTest(limit=_LIMITS[entry.rule], volumes_m3=volumes, reading_frac=si(entry.reading), pattern=pattern)
