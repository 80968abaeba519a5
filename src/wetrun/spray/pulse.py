"""Pulse-width machines: flow is metered by the share of time a tip is on, at a steady pressure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.errors import OutOfRange
from wetrun.units import CUBIC_METRE_PER_SECOND, HERTZ, Frac, Hz, M, M3s, Mps, Pa, Ratio


class DutySource(StrEnum):
    """What the machine computes its duty from; decides what wear and density do to the rate."""

    METER = "flow meter"
    PRESSURE = "pressure and tip size"


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseSetting:
    """How a pulse-width machine is set.

    Attributes
    ----------
    frequency_hz : float
        Pulses per second [Hz].
    set_pressure_pa : float
        Pressure held at the cab sensor [Pa].
    least_frac, greatest_frac : float
        Usable duty [frac]; 0.2 to 1.0 is the usual hardware span.
    duty_from : DutySource
        Flow meter, or pressure and tip size.

    References
    ----------
    uga-1277-1305
    """

    frequency_hz: Hz
    set_pressure_pa: Pa
    least_frac: Frac = 0.2
    greatest_frac: Frac = 1.0
    duty_from: DutySource = DutySource.METER


def duty_ratio(demand_m3s: M3s, full_flow_m3s: M3s) -> Ratio:
    """Return the duty a demand needs: demand over the flow of a tip that stays on.

    Parameters
    ----------
    demand_m3s : float
        Mean flow asked of one tip [m3/s].
    full_flow_m3s : float
        Flow of the tip held open at the set pressure [m3/s].

    Returns
    -------
    float
        Duty [ratio]; above 1 the tip is too small.

    Raises
    ------
    OutOfRange
        If the full flow is not above zero.

    References
    ----------
    uga-1277-1305

    Example
    -------
    >>> duty_ratio(1.0e-5, 2.0e-5)
    0.5
    """
    if not full_flow_m3s > 0:
        remedy = "Give the tip's flow at the set pressure."
        raise OutOfRange("full flow of the tip", full_flow_m3s, CUBIC_METRE_PER_SECOND, low=0.0, remedy=remedy)
    return demand_m3s / full_flow_m3s


def travel_per_cycle_m(speed_mps: Mps, frequency_hz: Hz) -> M:
    """Return how far the boom moves in one on-off cycle.

    Parameters
    ----------
    speed_mps : float
        Ground speed [m/s].
    frequency_hz : float
        Pulses per second [Hz].

    Returns
    -------
    float
        Travel [m].

    Raises
    ------
    OutOfRange
        If the frequency is not above zero.

    References
    ----------
    grdc-17-3

    Example
    -------
    >>> travel_per_cycle_m(5.0, 10.0)
    0.5
    """
    if not frequency_hz > 0:
        raise OutOfRange("pulse frequency", frequency_hz, HERTZ, low=0.0, remedy="Give the pulses per second.")
    return speed_mps / frequency_hz


def gap_per_cycle_m(speed_mps: Mps, frequency_hz: Hz, duty_frac: Frac) -> M:
    """Return the ground a tip passes while it is shut, per cycle.

    Parameters
    ----------
    speed_mps : float
        Ground speed [m/s].
    frequency_hz : float
        Pulses per second [Hz].
    duty_frac : float
        Share of the cycle the tip is on [frac].

    Returns
    -------
    float
        Ground passed with the tip shut [m].

    Notes
    -----
    Neighbouring tips that pulse alternately, and the fan's own depth, fill part of this gap; both are left out.

    References
    ----------
    grdc-17-3

    Example
    -------
    >>> gap_per_cycle_m(5.0, 10.0, 0.5)
    0.25
    """
    return travel_per_cycle_m(speed_mps, frequency_hz) * (1.0 - duty_frac)
