"""Noise, machine, sets and faults of the cross-check's simulation, as docs/proof/crosscheck-noise.md states them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from wetrun.machine.boom import Boom
from wetrun.proving.budget import Budget, Component
from wetrun.proving.faults import Fault, FaultKind
from wetrun.proving.identity import Screen
from wetrun.proving.instruments import Truth
from wetrun.proving.power import Plan, readings_shown
from wetrun.proving.redundant import Kind, Reading, Rig
from wetrun.spray.definitions import BAR_PA, LITRE_M3, MINUTE_S
from wetrun.spray.losses import SensorLoss
from wetrun.spray.orifice import law_of_iso_size

HECTARE_M2 = 1e4
BELIEF = 12
"""Degrees of freedom of each figure of the table: it stands for about 20 %."""

LEVELS = ("careful", "typical")
SETS = ("minimal", "usual", "full")


@dataclass(frozen=True)
class Noise:
    """One line of the noise table: per cent of one repeat, repeats (careful, typical), whether readings share it."""

    percent: tuple[float, float]
    repeats: tuple[int, int] = (1, 1)
    shared: bool = False


NOISE = {
    "course timing": Noise((0.63, 1.55), (4, 2)),
    "course tape": Noise((0.12, 0.28)),
    "stopwatch": Noise((0.02, 0.05), shared=True),
    "speed repeat": Noise((0.40, 0.80), (4, 2)),
    "speed number": Noise((0.30, 0.50)),
    "meter repeat": Noise((0.50, 1.00), (3, 3)),
    "meter number": Noise((0.50, 1.00), shared=True),
    "catch reading": Noise((0.10, 0.30)),
    "catch pressure": Noise((0.36, 0.72)),
    "scale": Noise((0.10, 0.50), shared=True),
    "tips as new": Noise((1.00, 1.50), shared=True),
    "tip to tip": Noise((0.43, 0.58)),
    "cab sensor": Noise((0.80, 1.50), shared=True),
    "cab reading": Noise((0.50, 1.00)),
    "tip gauge": Noise((0.70, 1.20), shared=True),
    "gauge reading": Noise((0.40, 0.80)),
    "hose loss": Noise((10.0, 25.0), shared=True),
    "tank": Noise((0.40, 1.50)),
    "width tape": Noise((0.10, 0.30)),
}

CAUSES = {
    Kind.COURSE: ("course timing", "course tape", "stopwatch"),
    Kind.SPEED: ("speed repeat", "speed number"),
    Kind.METER: ("meter repeat", "meter number"),
    Kind.CATCH: ("catch reading", "catch pressure", "scale", "stopwatch"),
    Kind.CAB: ("cab sensor", "cab reading"),
    Kind.GAUGE: ("tip gauge", "gauge reading"),
    Kind.TANK: ("tank", "stopwatch"),
    Kind.CHART: ("tips as new", "tip to tip"),
    Kind.HOSE: ("hose loss",),
}

SPEED_MPS = 16.0e3 / 3600.0
SECTIONS = (12,) * 7
BOOM = Boom(spacing_m=0.508, section_tips=SECTIONS)
LAW = law_of_iso_size("04")
LOSS_AT_3_BAR_PA = 0.2 * BAR_PA
RIG = Rig(
    boom=BOOM,
    law=LAW,
    loss=SensorLoss(boom_paps2m6=LOSS_AT_3_BAR_PA / (BOOM.tips * float(LAW.flow_m3s(3.0 * BAR_PA))) ** 2),
)
WIDTH_OFF = 0.50 / 0.508 - 1.0

METER = (Fault(FaultKind.METER), 0.05)
SPEED = (Fault(FaultKind.SPEED, name="GPS"), -0.04)
WORN = (Fault(FaultKind.TIPS), 0.08)
PLUGGED = (Fault(FaultKind.STRAINER, section=3), -0.10)
SENSOR = (Fault(FaultKind.SENSOR), 0.3 * BAR_PA)


@dataclass(frozen=True)
class Case:
    """One fault or pair of the grid."""

    words: str
    faults: tuple[tuple[Fault, float], ...] = ()
    width_off: float = 0.0


SINGLES = (
    Case("meter +5 %", (METER,)),
    Case("speed −4 %", (SPEED,)),
    Case("worn set +8 %", (WORN,)),
    Case("plugged section −10 %", (PLUGGED,)),
    Case("sensor +0.3 bar", (SENSOR,)),
    Case("wrong width −1.6 %", width_off=WIDTH_OFF),
)
PAIRS = (
    Case("meter and speed", (METER, SPEED)),
    Case("meter and worn set", (METER, WORN)),
    Case("worn set and plugged section", (WORN, PLUGGED)),
    Case("worn set and sensor", (WORN, SENSOR)),
    Case("sensor and speed", (SENSOR, SPEED)),
    Case("meter and wrong width", (METER,), WIDTH_OFF),
)


def component(cause: str, level: str, value: float) -> Component:
    """One cause as the pooled uncertainty of the mean of its repeats, for a reading of some value."""
    noise, n = NOISE[cause], LEVELS.index(level)
    standard = noise.percent[n] / 100.0 / noise.repeats[n] ** 0.5 * value
    return Component(cause, standard, freedom=freedom(cause, level), cause=cause if noise.shared else "")


def freedom(cause: str, level: str) -> float:
    """Degrees of freedom: the table's and the day's."""
    return BELIEF + NOISE[cause].repeats[LEVELS.index(level)] - 1.0


def plan_of(reading_set: str, level: str) -> Plan:
    """Return what is read in a set, with the noise of a level."""
    full, minimal = reading_set == "full", reading_set == "minimal"
    pressures = {1: 2.0 * BAR_PA, 2: 4.0 * BAR_PA} if full else {1: 3.0 * BAR_PA}
    places = [(Kind.COURSE, 0, 0, ""), (Kind.HOSE, 0, 0, "")]
    places += [(Kind.SPEED, 0, 0, name) for name in ("GPS", "wheel", "radar")[: 1 + SETS.index(reading_set)]]
    places += [(Kind.CHART, 0, section, "") for section in range(1, len(SECTIONS) + 1)]
    kinds = (Kind.METER, Kind.CAB, Kind.GAUGE) if full else (Kind.METER, Kind.CAB)
    places += [(kind, point, 0, "") for kind in kinds for point in pressures]
    places += [] if minimal else [(Kind.CATCH, 1, section, "") for section in range(1, len(SECTIONS) + 1)]
    places += [(Kind.TANK, 2, 0, "")] if full else []
    readings = tuple(
        Reading(kind, 1.0, Budget(tuple(component(cause, level, 1.0) for cause in CAUSES[kind])), point, section, name)
        for kind, point, section, name in places
    )
    truth = Truth(speed_mps=SPEED_MPS, tip_pa=pressures, section_ratios=(1.0,) * len(SECTIONS))
    plan = Plan(rig=RIG, readings=readings, truth=truth)
    plan = replace(plan, readings=readings_shown(plan, ()))
    return plan if minimal else replace(plan, screen=screen_of(plan.readings, level, width_off=0.0, tape_off=0.0))


def screen_of(readings: tuple[Reading, ...], level: str, *, width_off: float, tape_off: float) -> Screen:
    """Return what the monitor shows: it divides its own flow by its own speed and width, and rounds."""
    flow = next(reading.value for reading in readings if reading.kind is Kind.METER)
    speed = next(reading.value for reading in readings if reading.kind is Kind.SPEED)
    steps = (0.1 * LITRE_M3 / HECTARE_M2, 0.1e3 / 3600.0, 0.1 * LITRE_M3 / MINUTE_S)
    rate = flow / (speed * BOOM.width_m * (1.0 + width_off))
    shown = [round(value / step) * step for value, step in zip((rate, speed, flow), steps, strict=True)]
    taped = BOOM.width_m * (1.0 + tape_off)
    return Screen(
        rate_m3pm2=shown[0],
        rate_step_m3pm2=steps[0],
        speed_mps=shown[1],
        speed_step_mps=steps[1],
        flow_m3s=shown[2],
        flow_step_m3s=steps[2],
        width_m=taped,
        tape=Budget((component("width tape", level, taped),)),
    )
