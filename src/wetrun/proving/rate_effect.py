"""What a wrong setting does to the rate that is put down, by control loop."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from types import MappingProxyType
from typing import Final

from wetrun.errors import OutOfRange
from wetrun.percent import off_per_cent
from wetrun.proving.monitor import Setting
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.feedback import flow_is_metered
from wetrun.units import RATIO, Ratio


class Acts(StrEnum):
    """Where a wrong setting acts."""

    EVERYWHERE = "at every speed"
    SLOW_END = "below the speed where the minimum hold acts"
    FAST_END = "above the speed where the limit acts"
    NOT_ON_RATE = "not on the rate"
    NOT_KNOWN = "not known until this monitor is proved"


@dataclass(frozen=True, slots=True)
class RateEffect:
    """What a wrong setting does.

    Attributes
    ----------
    rate_ratio : float or None
        Rate put down over the rate with the right setting [ratio]; None if it cannot be told.
    acts : Acts
        Where.
    words : str
        Why, for a reader.
    """

    rate_ratio: Ratio | None
    acts: Acts
    words: str


@dataclass(frozen=True, slots=True)
class Steering:
    """What the machine steers its rate by, as far as a setting's effect needs it.

    Attributes
    ----------
    metered : bool
        True if the flow meter decides.
    feedback : bool
        False if nothing is steered.
    scales_meter_by_density : bool or None
        Whether the monitor scales its meter by density; None if not proved.
    """

    metered: bool
    feedback: bool = True
    scales_meter_by_density: bool | None = None


def steering_of(setup: Hydraulics, *, scales_meter_by_density: bool | None = None) -> Steering:
    """Return what a machine steers by.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    scales_meter_by_density : bool or None
        As the monitor's profile says.

    Returns
    -------
    Steering
        For `rate_effect`.
    """
    return Steering(flow_is_metered(setup), setup.loop is not Loop.FIXED, scales_meter_by_density)


def rate_effect(setting: Setting, shown_ratio: Ratio, steering: Steering) -> RateEffect:
    """Return what a setting does to the rate if it stands at a ratio of what it should be.

    Parameters
    ----------
    setting : Setting
        Which; numbers of meter and speed as pulses per amount, whichever way round the monitor keeps them.
    shown_ratio : float
        The quantity in the monitor over what it should be [ratio].
    steering : Steering
        What the machine steers by.

    Returns
    -------
    RateEffect
        Rate over right rate, where, and why.

    Raises
    ------
    OutOfRange
        A ratio that is not positive.

    References
    ----------
    rate-identity, number-identity, orifice-law

    Example
    -------
    >>> rate_effect(Setting.METER_NUMBER, 1.05, Steering(metered=True)).rate_ratio
    1.05
    >>> rate_effect(Setting.METER_NUMBER, 1.05, Steering(metered=False)).rate_ratio
    1.0
    """
    if not shown_ratio > 0.0:
        raise OutOfRange(str(setting), shown_ratio, RATIO, low=0.0, remedy="Read the monitor again.")
    if not steering.feedback:
        words = "Nothing is steered: the rate is what pressure and speed make it, and only what is shown is wrong."
        return RateEffect(1.0, Acts.NOT_ON_RATE, words)
    return _EFFECTS[setting](shown_ratio, steering)


def _straight(words: str) -> Callable[[Ratio, Steering], RateEffect]:
    return lambda ratio, _: RateEffect(ratio, Acts.EVERYWHERE, words)


def _speed(ratio: Ratio, _: Steering) -> RateEffect:
    words = "More pulses per distance than true make the monitor think it drives slower, so it puts down less."
    return RateEffect(1.0 / ratio, Acts.EVERYWHERE, words)


def _meter(ratio: Ratio, steering: Steering) -> RateEffect:
    if steering.metered:
        words = "More pulses per volume than true let more through for each volume counted."
        return RateEffect(ratio, Acts.EVERYWHERE, words)
    return RateEffect(1.0, Acts.NOT_ON_RATE, "The meter does not steer here; shown volume and tank level are off.")


def _density(ratio: Ratio, steering: Steering) -> RateEffect:
    if not steering.metered:
        words = "Flow is worked out from pressure: the rate goes with the root of the density typed in."
        return RateEffect(sqrt(ratio), Acts.EVERYWHERE, words)
    if steering.scales_meter_by_density is None:
        off = off_per_cent(1 / ratio - 1)
        words = f"The meter counts volume; if this monitor scales it by density the rate is off by {off}."
        return RateEffect(None, Acts.NOT_KNOWN, words)
    if steering.scales_meter_by_density:
        return RateEffect(1.0 / ratio, Acts.EVERYWHERE, "This monitor scales its meter by the density typed in.")
    return RateEffect(1.0, Acts.NOT_ON_RATE, "The meter counts volume whatever it weighs; weights shown are off.")


def _tip_size(ratio: Ratio, steering: Steering) -> RateEffect:
    if steering.metered:
        return RateEffect(1.0, Acts.NOT_ON_RATE, "The meter steers; pressure and droplet class shown are off.")
    words = "Flow is worked out from pressure: a tip thought larger than it is gets too little."
    return RateEffect(1.0 / ratio, Acts.EVERYWHERE, words)


def _hold_pressure(ratio: Ratio, _: Steering) -> RateEffect:
    if ratio > 1.0:
        return RateEffect(sqrt(ratio), Acts.SLOW_END, "The hold acts too early: the rate rises as the machine slows.")
    return RateEffect(1.0, Acts.NOT_ON_RATE, "The hold acts too late: the tips fall below their least pressure first.")


def _hold_flow(ratio: Ratio, _: Steering) -> RateEffect:
    if ratio > 1.0:
        return RateEffect(ratio, Acts.SLOW_END, "The hold acts too early: the rate rises as the machine slows.")
    return RateEffect(1.0, Acts.NOT_ON_RATE, "The hold acts too late: the tips fall below their least flow first.")


def _hold_duty(ratio: Ratio, _: Steering) -> RateEffect:
    if ratio > 1.0:
        return RateEffect(ratio, Acts.SLOW_END, "The hold acts too early: the rate rises as the machine slows.")
    return RateEffect(1.0, Acts.NOT_ON_RATE, "The hold acts too late: solenoids are asked for less than they can open.")


def _high_pressure(ratio: Ratio, _: Steering) -> RateEffect:
    if ratio < 1.0:
        return RateEffect(sqrt(ratio), Acts.FAST_END, "The limit acts too early: the rate falls short at speed.")
    return RateEffect(1.0, Acts.NOT_ON_RATE, "Nothing stops the tips from passing their highest pressure.")


def _alarm(_ratio: Ratio, _: Steering) -> RateEffect:
    return RateEffect(1.0, Acts.NOT_ON_RATE, "An alarm only: it sounds too early or too late.")


_EFFECTS: Final[Mapping[Setting, Callable[[Ratio, Steering], RateEffect]]] = MappingProxyType(
    {
        Setting.TARGET_RATE: _straight("The rate is steered to the number typed in."),
        Setting.SECTION_WIDTH: _straight("Flow is steered for the width typed in and falls on the true one."),
        Setting.METER_NUMBER: _meter,
        Setting.SPEED_NUMBER: _speed,
        Setting.DENSITY: _density,
        Setting.HOLD_PRESSURE: _hold_pressure,
        Setting.HOLD_FLOW: _hold_flow,
        Setting.HOLD_DUTY: _hold_duty,
        Setting.PRESSURE_LOW: _alarm,
        Setting.PRESSURE_HIGH: _high_pressure,
        Setting.TIP_SIZE: _tip_size,
    }
)
