"""The forward model of a machine in trouble: what every gauge and screen shows if one thing, or nothing, is wrong.

Every cause is a parameter with a usual spread: no meter is exact, no tip is its chart. Nothing wrong means that all
parameters keep within their spreads; a cause is one parameter let go far from its usual. Factors are logarithms.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from math import exp, log, sqrt
from types import MappingProxyType
from typing import Final

import numpy as np

from wetrun.proving.covariance import FloatArray
from wetrun.proving.trouble_held import Held, held, spacing_m
from wetrun.proving.trouble_seen import Look, Seen, Symptom, TroubledMachine
from wetrun.spray.feedback import flow_is_metered
from wetrun.spray.hydraulics import flow_at_tip_pressure_m3s
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3
from wetrun.units import Frac, M, M3s, Pa, Ratio


class Cause(StrEnum):
    """What may be wrong, each one number of the model."""

    TIPS = "tips against their chart"
    METER = "flow meter's number"
    SPEED = "speed shown"
    WIDTH = "width or sections in the monitor"
    PLUMBING = "loss from the cab to the tips"
    SENSOR = "pressure shown in the cab"
    GAUGE = "gauge at the tip"
    DENSITY = "weight of the liquid"
    CHART = "tip size, density or number of tips in the monitor"
    CAUGHT = "tip that was caught"
    CONTROL = "rate the machine reaches"
    FEED = "feed of the low section"
    SECTION_TIPS = "tips of the low section"


USUAL: Final[Mapping[Cause, tuple[float, float]]] = MappingProxyType(
    {
        Cause.TIPS: (0.0, 0.03),
        Cause.METER: (0.0, 0.015),
        Cause.SPEED: (0.0, 0.015),
        Cause.WIDTH: (0.0, 0.005),
        Cause.PLUMBING: (0.0, 0.03),
        Cause.SENSOR: (0.0, 0.02),
        Cause.GAUGE: (0.0, 0.01),
        Cause.DENSITY: (0.0, 0.01),
        Cause.CHART: (0.0, 0.01),
        Cause.CAUGHT: (0.0, 0.025),
        Cause.FEED: (0.0, 0.02),
        Cause.SECTION_TIPS: (0.0, 0.02),
    }
)
"""Mean and standard deviation of what is usual. Our choice, between careful and typical; tips: a new one may be 5 % off
its size (second-hand statement of iso-10625)."""
WATER_WEIGHT: Final = (0.0, 0.002)
LOSS_NOT_KNOWN: Final = (0.06, 0.05)
"""Share of the tip's pressure that hoses, valve and strainers lose where nobody measured it. Common practice, no
source."""

HIGHEST: Final = log(1e9)
"""Logarithm of a pressure [Pa] beyond which no search goes."""

NOISE: Final[Mapping[Look, Ratio]] = MappingProxyType(
    {
        Look.RATE: 0.006,
        Look.SPEED: 0.006,
        Look.OTHER_SPEED: 0.01,
        Look.CAB: 0.012,
        Look.FLOW: 0.006,
        Look.WIDTH: 0.001,
        Look.DUTY: 0.01,
        Look.TIP: 0.01,
        Look.CATCH: 0.015,
        Look.ANOTHER_CATCH: 0.03,
        Look.SECTION_TIP: 0.01,
        Look.SECTION_CATCH: 0.03,
        Look.ZERO: 0.01,
        Look.BESIDE: 0.01,
        Look.WEIGHED: 0.005,
    }
)
"""Relative standard uncertainty of reading a number once that stands still. Our choice. A catch: one jug,
one watch; that of a second tip and of the low section's holds how far one tip may be off its set."""


@dataclass(frozen=True, slots=True)
class World:
    """Where the model stands: the free numbers and the causes.

    Attributes
    ----------
    speed, pressure, duty : float
        Logarithms of ground speed, of the pressure at a good tip and of the duty.
    off : mapping
        How far each cause's number is off; a logarithm, or a share of the pressure at the tip.
    tip_m3s : float
        Mean flow of a good tip there [m3/s].
    """

    speed: float
    pressure: float
    duty: float
    off: Mapping[Cause, float]
    tip_m3s: M3s

    @property
    def tip_pa(self) -> Pa:
        """Pressure at a good tip [Pa]."""
        return exp(self.pressure)


@dataclass(frozen=True)
class Model:
    """One machine, with what was read on it, ready to be held against each cause.

    Attributes
    ----------
    machine : TroubledMachine
        The machine.
    seen : Seen
        What was read.
    held : Held or None
        What the rate set asks for.
    causes : tuple of Cause
        What may be wrong with this machine.
    usual : mapping
        Mean and standard deviation of each.
    """

    machine: TroubledMachine
    seen: Seen
    held: Held | None
    causes: tuple[Cause, ...]
    usual: Mapping[Cause, tuple[float, float]]

    @cached_property
    def tips_on(self) -> float:
        """Tips that are on, counted as the set's by their flow."""
        return self.machine.setup.tips * self.machine.on_frac(self.seen)

    @cached_property
    def low_frac(self) -> Frac:
        """The low section's share of what is on [frac]; 0 where none is low."""
        return self.machine.low_share_frac(self.seen) if Cause.FEED in self.causes else 0.0

    @cached_property
    def width_m(self) -> M:
        """Width by tape of what is on [m]."""
        return self.machine.width_m(self.seen)

    @cached_property
    def metered(self) -> bool:
        """Return whether the flow shown is counted by a meter."""
        return flow_is_metered(self.machine.setup) or self.machine.setup.meter is not None

    def world(self, point: FloatArray) -> World:
        """Return the world at a point of the parameters."""
        speed, pressure, duty, *off = (float(number) for number in point)
        by_cause = dict(zip(self.causes, off, strict=True))
        lighter = -by_cause[Cause.DENSITY] / 2.0
        through = flow_at_tip_pressure_m3s(self.machine.setup, exp(min(pressure, HIGHEST)))
        return World(speed, pressure, duty, by_cause, through * exp(by_cause[Cause.TIPS] + lighter + duty))

    def boom_m3s(self, world: World) -> M3s:
        """Return the flow of what is on, the low section counted as low [m3/s]."""
        one, on = world.tip_m3s, self.tips_on
        low = exp(world.off.get(Cause.SECTION_TIPS, 0.0) + world.off.get(Cause.FEED, 0.0) / 2.0)
        return one * on * (1.0 + self.low_frac * (low - 1.0))

    def before_hoses_pa(self, world: World) -> Pa:
        """Return the pressure where the cab's sensor sits [Pa]."""
        one = world.tip_m3s
        drop = self.machine.setup.loss.drop_pa(
            boom_flow_m3s=self.boom_m3s(world),
            tip_flow_m3s=one * exp(-world.duty),
            density_kgpm3=self.machine.setup.density_kgpm3,
        )
        return world.tip_pa * (1.0 + max(world.off[Cause.PLUMBING], -0.9)) + drop

    def cab_pa(self, world: World) -> Pa:
        """Return what the cab shows [Pa]."""
        return max(self.before_hoses_pa(world) + world.off[Cause.SENSOR] * world.tip_pa, 1.0)

    def flow_shown_m3s(self, world: World) -> M3s:
        """Return the flow that the monitor shows: counted, or worked out of the pressure in the cab [m3/s]."""
        if self.metered:
            return self.boom_m3s(world) * exp(world.off[Cause.METER])
        typed = self.seen.density_set_kgpm3 or self.machine.density_set_kgpm3 or REFERENCE_WATER_KGPM3
        one = flow_at_tip_pressure_m3s(self.machine.setup, self.cab_pa(world)) * exp(world.off[Cause.CHART])
        heavier = sqrt(self.machine.setup.density_kgpm3 / typed)
        return one * heavier * self.tips_on * exp(world.duty)

    def rate_shown(self, world: World) -> float:
        """Return the logarithm of the rate shown: what the monitor works out of its own flow, speed and width."""
        return _ln(self.flow_shown_m3s(world)) - self.speed_shown(world) - self.width_shown(world)

    def speed_shown(self, world: World) -> float:
        """Return the logarithm of the speed shown."""
        return world.speed + world.off[Cause.SPEED]

    def width_shown(self, world: World) -> float:
        """Return the logarithm of the width that the monitor reckons with."""
        return log(self.width_m) + world.off[Cause.WIDTH]

    def true_rate(self, world: World) -> float:
        """Return the logarithm of the rate that is put down."""
        return _ln(self.boom_m3s(world)) - world.speed - log(self.width_m)


def _ln(value: float) -> float:
    return log(max(value, 1e-12))


_TOLD: Final[Mapping[Look, Callable[[Model, World], float]]] = MappingProxyType(
    {
        Look.RATE: Model.rate_shown,
        Look.SPEED: Model.speed_shown,
        Look.OTHER_SPEED: lambda _, world: world.speed,
        Look.CAB: lambda model, world: _ln(model.cab_pa(world)),
        Look.FLOW: lambda model, world: _ln(model.flow_shown_m3s(world)),
        Look.WIDTH: Model.width_shown,
        Look.DUTY: lambda _, world: world.duty,
        Look.TIP: lambda _, world: world.pressure + world.off[Cause.GAUGE],
        Look.CATCH: lambda _, world: _ln(world.tip_m3s) + world.off[Cause.CAUGHT],
        Look.ANOTHER_CATCH: lambda _, world: _ln(world.tip_m3s),
        Look.SECTION_TIP: lambda _, world: world.pressure + world.off[Cause.GAUGE] + world.off.get(Cause.FEED, 0.0),
        Look.SECTION_CATCH: lambda _, world: (
            _ln(world.tip_m3s) + world.off.get(Cause.FEED, 0.0) / 2.0 + world.off.get(Cause.SECTION_TIPS, 0.0)
        ),
        Look.ZERO: lambda _, world: world.off[Cause.SENSOR],
        Look.BESIDE: lambda model, world: _ln(model.before_hoses_pa(world)),
        Look.WEIGHED: lambda model, world: _ln(model.machine.setup.density_kgpm3) + world.off.get(Cause.DENSITY, 0.0),
    }
)


def told(model: Model, look: Look, world: World) -> float:
    """Return what a look would read in a world: a logarithm of SI, or a share of the tip's pressure for the zero."""
    return _TOLD[look](model, world)


def is_numeric(look: Look) -> bool:
    """Return whether the model works out what a look reads; the others are looked up, or tried by hand."""
    return look in _TOLD


def as_read(look: Look, value: float, tip_pa: Pa) -> float:
    """Return a reading as `told` gives it; a zero as a share of the pressure at the tip [Pa]."""
    return value / tip_pa if look is Look.ZERO else log(value)


def model_of(machine: TroubledMachine, seen: Seen, symptom: Symptom) -> Model:
    """Return the model of a machine with what was read on it.

    Parameters
    ----------
    machine : TroubledMachine
        The machine.
    seen : Seen
        What was read.
    symptom : Symptom
        What people say is wrong.

    Returns
    -------
    Model
        With the causes that this machine, and this symptom, can have.
    """
    asked = held(machine, seen)
    low = symptom is Symptom.SECTION or seen.low_section or seen.section_tip_pa or seen.section_catch_m3s
    metered = flow_is_metered(machine.setup) or machine.setup.meter is not None
    out = {Cause.CHART if metered else Cause.METER}
    out |= set() if low else {Cause.FEED, Cause.SECTION_TIPS}
    out |= set() if asked is not None else {Cause.CONTROL}
    usual = dict(USUAL)
    usual[Cause.DENSITY] = WATER_WEIGHT if machine.is_water else USUAL[Cause.DENSITY]
    usual[Cause.PLUMBING] = USUAL[Cause.PLUMBING] if machine.loss_known else LOSS_NOT_KNOWN
    if asked is not None:
        usual[Cause.CONTROL] = (0.0, asked.standard)
    causes = tuple(cause for cause in Cause if cause not in out)
    return Model(machine, seen, asked, causes, {cause: usual[cause] for cause in causes})


def start_of(model: Model) -> FloatArray:
    """Return a point near which the machine stands: what was read, and what the rate set asks for."""
    seen, setup, on = model.seen, model.machine.setup, model.machine.on_frac(model.seen)
    speed = seen.other_speed_mps or seen.speed_mps or 4.0
    rate = seen.rate_m3pm2 or seen.target_m3pm2
    flow = seen.flow_m3s and seen.flow_m3s / (setup.tips * on)
    flow = flow or (rate and rate * speed * spacing_m(model.machine))
    duty = 1.0 if setup.pulse is None else seen.duty_frac or 0.7
    pressure = seen.tip_pa or seen.cab_pa
    if pressure is None:
        one = flow_at_tip_pressure_m3s(setup, setup.low_pa)
        pressure = setup.low_pa * ((flow or one) / duty / one) ** 2
    middle = [model.usual[cause][0] for cause in model.causes]
    return np.array([log(speed), log(pressure), log(duty), *middle])
