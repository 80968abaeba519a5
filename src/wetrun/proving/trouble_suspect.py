"""What is suspected, in the words of the trade: one number of the model may be off for several reasons."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import log
from typing import Final

from wetrun.proving.catch_sizes import sizes_like
from wetrun.proving.monitor import Setting
from wetrun.proving.rate_effect import RateEffect, rate_effect, steering_of
from wetrun.proving.trouble_fit import Fit
from wetrun.proving.trouble_model import Cause, Model
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.feedback import SAME_DENSITY_RATIO
from wetrun.units import Ratio

SUPPLY_DOUBT: Final[Ratio] = 0.07
"""Relative standard uncertainty of the pressure that the rate set needs: twice the tips' and the hoses'. Our choice."""


class Why(StrEnum):
    """Reasons, as a technician names them."""

    TIPS_MORE = "the tips let through more than their chart: worn, or a greater size"
    TIPS_LESS = "the tips let through less than their chart: plugged tips or screens, or a smaller size"
    METER = "the flow meter's number, or the meter itself"
    MONITOR_DENSITY = "the density in the monitor, by which it scales the meter"
    SPEED = "the speed shown: its number, or its sensor"
    WIDTH = "the width in the monitor, or sections counted that are off"
    PLUMBING = "pressure lost between cab and tips: main strainer, boom valve, a kinked or soft hose"
    SENSOR = "the pressure shown in the cab"
    GAUGE = "the gauge at the tip"
    DENSITY = "the liquid is not as heavy as the file says"
    CHART = "the tip size, the density or the number of tips in the monitor"
    CAUGHT = "the one tip that was caught, or the catch itself"
    SUPPLY = "the supply does not follow: suction strainer, pump, agitation too far open, low tank, air"
    CONTROL = "the controller or its valve does not bring the flow: automatic off, valve stuck, answer set too slow"
    HOLD = "the minimum hold in the monitor is not the one on file"
    FEED = "the low section is fed too little: its strainer, valve or hose"
    SECTION_TIPS_LESS = "tips or screens of the low section are plugged, or smaller"
    SECTION_TIPS_MORE = "tips of that section let through more: worn, or greater"


_PLAIN: Final = {
    Cause.SPEED: Why.SPEED,
    Cause.WIDTH: Why.WIDTH,
    Cause.PLUMBING: Why.PLUMBING,
    Cause.SENSOR: Why.SENSOR,
    Cause.GAUGE: Why.GAUGE,
    Cause.DENSITY: Why.DENSITY,
    Cause.CHART: Why.CHART,
    Cause.CAUGHT: Why.CAUGHT,
    Cause.FEED: Why.FEED,
}
_SETTING: Final = {
    Why.METER: Setting.METER_NUMBER,
    Why.SPEED: Setting.SPEED_NUMBER,
    Why.WIDTH: Setting.SECTION_WIDTH,
}


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reason that would explain what was read.

    Attributes
    ----------
    why : Why
        Which.
    fit : Fit
        The machine as it would stand with it.
    sizes : tuple of str
        Other tip sizes that would read like this, nearest first.
    effect : RateEffect or None
        What a wrong setting of that size does to the rate, for reasons that are a number in the monitor.
    """

    why: Why
    fit: Fit
    sizes: tuple[str, ...] = ()
    effect: RateEffect | None = None

    @property
    def size(self) -> float:
        """How far off: a ratio less one, or a share of the pressure at the tip."""
        return self.fit.size

    @property
    def expanded(self) -> float:
        """Half width that covers it with 95 %."""
        return self.fit.expanded


def suspects_of(fit: Fit) -> Iterator[Suspect]:
    """Yield the reasons that a number of the model may be off by what was found, as far as this machine has them.

    Parameters
    ----------
    fit : Fit
        The machine with one cause let go.

    Yields
    ------
    Suspect
        Reasons that were settled already are left out.
    """
    for why in _whys(fit):
        yield Suspect(why, fit, _sizes(why, fit), _effect(why, fit))


def _whys(fit: Fit) -> Sequence[Why]:
    cause, up, model = fit.cause, fit.size > 0.0, fit.model
    if cause is Cause.TIPS:
        return (Why.TIPS_MORE,) if up else (Why.TIPS_LESS,)
    if cause is Cause.SECTION_TIPS:
        return (Why.SECTION_TIPS_MORE,) if up else (Why.SECTION_TIPS_LESS,)
    if cause is Cause.METER:
        return _counts(fit)
    if cause is Cause.CONTROL:
        return _reaches(model, up=up)
    if cause is Cause.DENSITY and model.machine.is_water:
        return ()
    return () if cause is None else (_PLAIN[cause],)


def _counts(fit: Fit) -> Sequence[Why]:
    """A meter that counts wrong: its own number, or a density by which the monitor scales it."""
    typed, scales = fit.model.seen.density_set_kgpm3, fit.model.machine.scales_meter_by_density
    if scales is False:
        return (Why.METER,)
    if typed is None:
        return (Why.METER, Why.MONITOR_DENSITY)
    heavier = typed / REFERENCE_WATER_KGPM3
    like = (heavier, 1.0 / heavier, heavier**0.5, heavier**-0.5)
    same = abs(heavier - 1.0) < SAME_DENSITY_RATIO
    fits = not same and any(abs(fit.size + 1.0 - factor) < fit.expanded for factor in like)
    return (Why.MONITOR_DENSITY,) if fits else (Why.METER,)


def _reaches(model: Model, *, up: bool) -> Sequence[Why]:
    """A rate that is not reached: too much is the controller's or its hold's, too little the supply's as well."""
    if up:
        return (Why.CONTROL,) if model.seen.hold_set_pa is not None else (Why.CONTROL, Why.HOLD)
    highest, asked = model.seen.highest_pa, model.held
    if highest is None or asked is None:
        return (Why.SUPPLY, Why.CONTROL)
    over = log(highest / asked.cab_pa) / SUPPLY_DOUBT
    return (Why.SUPPLY,) if over < -2.0 else (Why.CONTROL,) if over > -0.5 else (Why.SUPPLY, Why.CONTROL)


def _sizes(why: Why, fit: Fit) -> tuple[str, ...]:
    if why not in {Why.TIPS_MORE, Why.TIPS_LESS, Why.SECTION_TIPS_LESS, Why.SECTION_TIPS_MORE}:
        return ()
    return sizes_like(1.0 + fit.size, fit.expanded / 6.0, fit.model.machine.size)


def _effect(why: Why, fit: Fit) -> RateEffect | None:
    setting = _SETTING.get(why)
    if setting is None:
        return None
    # A meter or speed that shows too much has too few pulses per amount in the monitor.
    shown = 1.0 + fit.size
    ratio = 1.0 / shown if setting in {Setting.METER_NUMBER, Setting.SPEED_NUMBER} else shown
    return rate_effect(setting, ratio, steering_of(fit.model.machine.setup))
