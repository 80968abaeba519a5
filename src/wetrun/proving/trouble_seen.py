"""What somebody in the cab, or beside the boom, reads off when a machine gives trouble: any of it may be missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from math import isfinite
from types import MappingProxyType
from typing import Any, Final

from wetrun.errors import OutOfRange
from wetrun.machine.boom import Boom
from wetrun.spray.hydraulics import Hydraulics
from wetrun.units import RATIO, Frac, Kgpm3, M, M3pm2, M3s, Mps, Pa


class Symptom(StrEnum):
    """What is wrong, as people say it."""

    RATE = "the rate does not hold"
    PRESSURE = "the pressure is not what it was"
    SECTION = "one section is low"


class Look(StrEnum):
    """A reading, by where it is taken."""

    TARGET = "rate set"
    RATE = "rate shown"
    SPEED = "speed shown"
    OTHER_SPEED = "speed by another source"
    CAB = "pressure in the cab"
    FLOW = "flow shown"
    WIDTH = "width the monitor reckons with"
    DUTY = "duty shown"
    TIP = "gauge at a good tip"
    CATCH = "catch of a good tip"
    ANOTHER_CATCH = "catch of a second good tip"
    SECTION_TIP = "gauge at a tip of the low section"
    SECTION_CATCH = "catch of a tip of the low section"
    ZERO = "pressure in the cab with the pump stopped"
    BESIDE = "test gauge beside the cab's sensor"
    WEIGHED = "weight of the liquid"
    DENSITY_SET = "density in the monitor"
    HOLD_SET = "minimum hold in the monitor"
    HIGHEST = "highest pressure by hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What was read, once the numbers stood still; None where nobody looked.

    Attributes
    ----------
    target_m3pm2, rate_m3pm2 : float or None
        Rate set and rate shown [m3/m2].
    speed_mps, other_speed_mps : float or None
        Speed shown, and by a source of its own: a phone, another vehicle, a timed distance [m/s].
    cab_pa : float or None
        Pressure in the cab [Pa].
    flow_m3s : float or None
        Flow shown, of the whole boom [m3/s].
    width_m : float or None
        Width that the monitor reckons with [m].
    duty_frac : float or None
        Duty shown by a pulse-width machine [frac].
    tip_pa, section_tip_pa : float or None
        Gauge at a tip of a good section and of the low one [Pa].
    catch_m3s, another_catch_m3s, section_catch_m3s : float or None
        Timed catch of a tip of a good section, of a second one there, and of a tip of the low section [m3/s].
    zero_pa : float or None
        Pressure in the cab with the pump stopped and no pressure on the boom [Pa].
    beside_pa : float or None
        Test gauge beside the cab's sensor [Pa].
    weighed_kgpm3 : float or None
        Density of what is in the tank, weighed [kg/m3].
    density_set_kgpm3 : float or None
        Density that stands in the monitor [kg/m3].
    hold_set_pa : float or None
        Minimum hold that stands in the monitor, as a pressure [Pa].
    highest_pa : float or None
        Highest pressure in the cab that the machine reaches by hand, the boom on [Pa].
    sections_on : tuple of int
        Sections that are on, counted from 1 at the left; empty for all.
    low_section : int
        The section that is low; 0 if none is, or nobody knows which.
    """

    target_m3pm2: M3pm2 | None = None
    rate_m3pm2: M3pm2 | None = None
    speed_mps: Mps | None = None
    other_speed_mps: Mps | None = None
    cab_pa: Pa | None = None
    flow_m3s: M3s | None = None
    width_m: M | None = None
    duty_frac: Frac | None = None
    tip_pa: Pa | None = None
    catch_m3s: M3s | None = None
    another_catch_m3s: M3s | None = None
    section_tip_pa: Pa | None = None
    section_catch_m3s: M3s | None = None
    zero_pa: Pa | None = None
    beside_pa: Pa | None = None
    weighed_kgpm3: Kgpm3 | None = None
    density_set_kgpm3: Kgpm3 | None = None
    hold_set_pa: Pa | None = None
    highest_pa: Pa | None = None
    sections_on: tuple[int, ...] = ()
    low_section: int = 0

    def __post_init__(self) -> None:
        for look, value in self.readings():
            if not isfinite(value) or value < 0.0 or (value == 0.0 and look is not Look.ZERO):
                remedy = "Write what the screen shows, or leave it out."
                raise OutOfRange(look.value, value, RATIO, low=0.0, remedy=remedy)

    def readings(self) -> Iterator[tuple[Look, float]]:
        """Yield what was read, each with its value in SI, in the order in which it is asked for."""
        for look, name in FIELD_OF.items():
            value = getattr(self, name)
            if value is not None:
                yield look, value

    def also(self, look: Look, value: float) -> Seen:
        """Return the same with one more reading, in SI."""
        more: dict[str, Any] = {FIELD_OF[look]: value}
        return replace(self, **more)

    def value(self, look: Look) -> float | None:
        """Return what one look read, in SI; None if nobody looked."""
        return dict(self.readings()).get(look)


FIELD_OF: Final[Mapping[Look, str]] = MappingProxyType(
    dict(zip(Look, (field.name for field in fields(Seen)[: len(Look)]), strict=True))
)
"""The field of `Seen` that keeps what a look read; looks and fields stand in one order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubledMachine:
    """The machine as its file has it, with what is in the tank.

    Attributes
    ----------
    boom : Boom
        Sections and spacing.
    setup : Hydraulics
        The set on this machine with the liquid it sprays.
    size : str
        Size stamped on the tips; empty if unknown.
    is_water : bool
        Whether plain water is sprayed, which weighs what it weighs.
    loss_known : bool
        Whether the loss from the cab's sensor to the tips was measured or worked out.
    density_set_kgpm3 : float or None
        Density in the monitor by the file [kg/m3]; None for water or none.
    scales_meter_by_density : bool or None
        Whether its monitor scales the meter by density; None if nobody proved it.
    """

    boom: Boom
    setup: Hydraulics
    size: str = ""
    is_water: bool = True
    loss_known: bool = True
    density_set_kgpm3: Kgpm3 | None = None
    scales_meter_by_density: bool | None = None

    def places_on(self, seen: Seen) -> int:
        """Return the positions that are on."""
        tips = self.boom.section_tips
        on = [tips[n - 1] for n in seen.sections_on if 1 <= n <= len(tips)]
        return sum(on) or self.boom.tips

    def on_frac(self, seen: Seen) -> Frac:
        """Return the share of the boom that is on [frac]."""
        return self.places_on(seen) / self.boom.tips

    def width_m(self, seen: Seen) -> M:
        """Return the width by tape of what is on [m]."""
        return self.places_on(seen) * self.boom.spacing_m

    def low_share_frac(self, seen: Seen) -> Frac:
        """Return the low section's share of what is on [frac]; a mean section where nobody says which."""
        tips = self.boom.section_tips
        if 1 <= seen.low_section <= len(tips):
            return min(tips[seen.low_section - 1] / self.places_on(seen), 1.0)
        return 1.0 / max(len(seen.sections_on or tips), 1)
