"""A whole boom in a turn: what every tip gets, with its flow left alone, or set anew by section or tip by tip.

Compensation gives a tip (or all tips of a section) the flow its own ground speed asks for. It ends where the hardware
does: a tip that is open all the time gives no more, and one at its least duty no less.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Final

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.spray.bounds import FloatArray, check_positive
from wetrun.spray.pulse import PulseSetting
from wetrun.units import FRACTION, METRE, RATIO, Frac, M, Ratio


class TurnCompensation(StrEnum):
    """What sets flow anew in a turn."""

    NONE = "none"
    SECTION = "section"
    TIP = "tip"

    @property
    def words(self) -> str:
        """How it reads in a sentence."""
        return "without compensation" if self is TurnCompensation.NONE else f"compensated by {self.value}"


@dataclass(frozen=True, slots=True)
class FlowReach:
    """How far a tip's flow can go from what it gives straight on.

    Attributes
    ----------
    least_ratio, greatest_ratio : float
        Least and greatest flow over that of the middle [ratio].
    """

    least_ratio: Ratio = 0.0
    greatest_ratio: Ratio = math.inf


UNBOUNDED: Final = FlowReach()
ROUNDING: Final = 1e-9


def reach_of_duty(pulse: PulseSetting, duty_frac: Frac) -> FlowReach:
    """Return how far a pulsed tip's flow can go at a duty.

    Parameters
    ----------
    pulse : PulseSetting
        The machine's least and greatest duty.
    duty_frac : float
        Duty at the middle of the boom [frac].

    Returns
    -------
    FlowReach
        Least and greatest duty over the one in use.

    Raises
    ------
    OutOfRange
        A duty that is not positive.

    Notes
    -----
    Flow is taken to go with duty; behind long hoses it goes a little less than that.

    References
    ----------
    uga-1277-1305, sprayers101-pwm

    Example
    -------
    >>> pulse = PulseSetting(frequency_hz=10.0, set_pressure_pa=3e5)
    >>> reach = reach_of_duty(pulse, 0.8)
    >>> round(reach.least_ratio, 6), reach.greatest_ratio  # a quarter more is all there is outside
    (0.25, 1.25)
    """
    remedy = "Enter the duty at the middle of the boom, above 0 %."
    check_positive("duty", duty_frac, FRACTION, remedy=remedy)
    return FlowReach(pulse.least_frac / duty_frac, pulse.greatest_frac / duty_frac)


def least_radius_m(half_boom_m: M, reach: FlowReach) -> M:
    """Return the least radius at which compensation tip by tip still gives every tip its rate.

    Parameters
    ----------
    half_boom_m : float
        From the middle to the outermost tip [m].
    reach : FlowReach
        How far a tip's flow can go.

    Returns
    -------
    float
        Radius of the path of the middle [m]; infinite where there is no room at one end.

    Raises
    ------
    OutOfRange
        Half a boom that is not positive.

    References
    ----------
    turn-geometry

    Example
    -------
    >>> least_radius_m(18.0, FlowReach(0.25, 1.25))  # the outer end asks first
    72.0
    """
    check_positive("half the boom", half_boom_m, METRE, remedy="Enter half the boom's width.")
    outer, inner = reach.greatest_ratio - 1.0, 1.0 - reach.least_ratio
    if outer <= ROUNDING or inner <= ROUNDING:
        return math.inf
    return max(half_boom_m / outer, half_boom_m / inner)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TurnAcross:
    """What every tip of a boom does in a steady turn; arrays are [tips], from the outer end inwards or the other way.

    Attributes
    ----------
    offsets_m : ndarray
        From the middle, positive outward [m].
    speed_ratio : ndarray
        Ground speed over that of the middle, without sign [ratio].
    flow_ratio : ndarray
        Flow over that of straight travel [ratio].
    rate_ratio : ndarray
        Rate over the one wanted [ratio]; infinite where a tip that sprays stands still.
    bound : ndarray
        Whether the hardware, not the turn, set the tip's flow.
    """

    offsets_m: Annotated[FloatArray, METRE]
    speed_ratio: Annotated[FloatArray, RATIO]
    flow_ratio: Annotated[FloatArray, RATIO]
    rate_ratio: Annotated[FloatArray, RATIO]
    bound: np.typing.NDArray[np.bool_]

    def over_frac(self, tolerance_frac: Frac) -> Frac:
        """Return the share of the ground swept [frac] that gets more than the tolerance [frac] too much."""
        return self._swept_frac(self.rate_ratio > 1.0 + tolerance_frac)

    def under_frac(self, tolerance_frac: Frac) -> Frac:
        """Return the share of the ground swept [frac] that gets more than the tolerance [frac] too little."""
        return self._swept_frac(self.rate_ratio < 1.0 - tolerance_frac)

    def _swept_frac(self, chosen: np.typing.NDArray[np.bool_]) -> Frac:
        swept = float(np.sum(self.speed_ratio))
        return float(np.sum(self.speed_ratio[chosen])) / swept if swept else 0.0


def turn_across(
    offsets_m: Annotated[FloatArray, METRE],
    radius_m: M,
    *,
    compensation: TurnCompensation = TurnCompensation.NONE,
    section_tips: Sequence[int] = (),
    reach: FlowReach = UNBOUNDED,
) -> TurnAcross:
    """Return what every tip gets in a steady turn.

    Parameters
    ----------
    offsets_m : ndarray
        Tips from the middle of the boom, positive outward [m], shape (tips,).
    radius_m : float
        Radius of the path of the middle [m].
    compensation : TurnCompensation
        None, one flow for each section, or one for each tip.
    section_tips : sequence of int
        Tips per section, in the order of the offsets; used by section only.
    reach : FlowReach
        How far a tip's flow can go.

    Returns
    -------
    TurnAcross
        Speeds, flows and rates, tip by tip.

    Raises
    ------
    OutOfRange
        A radius that is not positive, or sections that do not hold all the tips.

    Notes
    -----
    A steady circle on level ground; the controller keeps the rate at the middle. A section's flow follows the mean
    speed of its tips. Left out: sway and whip of the boom, slip, the lag of valves, the way into and out of a turn. A
    tip inside the centre goes backwards over ground the boom covers again; its speed counts without sign.

    References
    ----------
    turn-geometry, isu-turn-compensation-2021, fabula-2022

    Example
    -------
    >>> ends = np.array([15.0, -15.0])
    >>> turn_across(ends, 30.0).rate_ratio.round(3).tolist()
    [0.667, 2.0]
    >>> turn_across(ends, 30.0, compensation=TurnCompensation.TIP, reach=FlowReach(0.25, 1.25)).rate_ratio.round(3)
    array([0.833, 1.   ])
    """
    check_positive("turn radius", radius_m, METRE, remedy="Enter the radius of the path of the boom's middle.")
    speed: FloatArray = np.abs(1.0 + offsets_m / radius_m)
    wanted = _wanted_flows(speed, compensation, section_tips)
    flow = np.ones_like(speed) if compensation is TurnCompensation.NONE else reached_ratio(wanted, reach)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = np.where((speed == 0.0) & (flow == 0.0), 1.0, flow / speed)
    return TurnAcross(offsets_m=offsets_m, speed_ratio=speed, flow_ratio=flow, rate_ratio=rate, bound=flow != wanted)


def reached_ratio(wanted_ratio: Annotated[FloatArray, RATIO], reach: FlowReach) -> Annotated[FloatArray, RATIO]:
    """Return the flows that can be had of those wanted, each over that of the middle [ratio], any shape."""
    flows: FloatArray = np.clip(wanted_ratio, reach.least_ratio, reach.greatest_ratio)
    return flows


def _wanted_flows(speed: FloatArray, compensation: TurnCompensation, section_tips: Sequence[int]) -> FloatArray:
    if compensation is TurnCompensation.NONE:
        return np.ones_like(speed)
    if compensation is TurnCompensation.TIP:
        return speed
    if sum(section_tips) != speed.size:
        remedy = "Enter the tips of every section."
        raise OutOfRange(
            "tips in all sections", float(sum(section_tips)), RATIO, low=speed.size, high=speed.size, remedy=remedy
        )
    means = np.add.reduceat(speed, np.cumsum([0, *section_tips[:-1]])) / np.array(section_tips)
    return np.repeat(means, section_tips)
