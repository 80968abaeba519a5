"""What the machine should be doing by its file: the flow the rate asks for, the limits, and whether one acts here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log

from wetrun.proving.trouble_seen import Look, Seen, TroubledMachine
from wetrun.spray.controller import bounds, cab_pressure_pa, tip_pressure_pa
from wetrun.spray.demand import demand_per_tip_m3s, rate_at, speed_at
from wetrun.spray.hydraulics import Hydraulics, Loop
from wetrun.spray.limits import Bound, Side, tightest
from wetrun.spray.pulsed import open_flow_m3s
from wetrun.spray.supply import Hold
from wetrun.units import Frac, M, M3pm2, M3s, Mps, Pa, Ratio

STEADY: Ratio = 0.015
"""Standard deviation of a rate that is held, once it stands still. Common practice, no source."""
AT_A_LIMIT: Ratio = 0.05
"""The same where a limit acts: its flow follows the tips' wear, the sensor and the pump's. Our choice."""
NEAR: Ratio = 0.05
"""Nearer than this to a limit nobody can say whether it acts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What the rate set asks of the machine at the speed it drives.

    Attributes
    ----------
    demand_m3s, delivered_m3s : float
        Flow of one tip that the rate asks for, and what the limits let through [m3/s].
    limit : Bound or None
        The limit that acts here.
    limit_mps : float or None
        Speed at which it begins to [m/s].
    judged : Bound or None
        The limit here that a tip, a label or a meter is good for, and that stops nothing.
    near : Bound or None
        The acting limit that is too near to say.
    expected_m3pm2 : float
        Rate that should be shown [m3/m2].
    standard : float
        Its standard uncertainty, as a logarithm.
    tip_pa, cab_pa : float
        Pressure at the tip and in the cab that the rate set needs [Pa].
    slowest_mps, fastest_mps : float or None
        Speeds between which the rate set is held and the tips are inside what they are good for [m/s].
    """

    demand_m3s: M3s
    delivered_m3s: M3s
    limit: Bound | None
    limit_mps: Mps | None
    judged: Bound | None
    near: Bound | None
    expected_m3pm2: M3pm2
    standard: float
    tip_pa: Pa
    cab_pa: Pa
    slowest_mps: Mps | None
    fastest_mps: Mps | None


def with_hold(setup: Hydraulics, seen: Seen) -> Hydraulics:
    """Return the machine with the minimum hold that stands in its monitor, if somebody looked it up."""
    return setup if seen.hold_set_pa is None else replace(setup, hold=Hold(cab_pressure_pa=seen.hold_set_pa))


def spacing_m(machine: TroubledMachine) -> M:
    """Return the width that one of the tips answers for, odd positions counted by their flow [m]."""
    return machine.boom.width_m / machine.setup.tips


def held(machine: TroubledMachine, seen: Seen) -> Held | None:
    """Return what the rate set asks of the machine at the speed it drives.

    Parameters
    ----------
    machine : TroubledMachine
        The machine.
    seen : Seen
        What was read.

    Returns
    -------
    Held or None
        None without a rate set or a speed, or where the machine does not steer by rate.

    References
    ----------
    grdc-13-3, rate-identity
    """
    target, speed = seen.target_m3pm2, seen.speed_mps or seen.value(Look.OTHER_SPEED)
    if target is None or speed is None or machine.setup.loop is Loop.FIXED:
        return None
    setup, wide_m = with_hold(machine.setup, seen), spacing_m(machine)
    limits = bounds(setup, machine.on_frac(seen))
    demand = demand_per_tip_m3s(target, speed, wide_m)
    acting = _beyond(limits, demand, acts=True)
    delivered = demand if acting is None else acting.flow_m3s
    near = _near(limits, demand)
    tip_pa, cab_pa = needed_pa(setup, demand, machine.on_frac(seen))
    return Held(
        demand_m3s=demand,
        delivered_m3s=delivered,
        limit=acting,
        limit_mps=None if acting is None else speed_at(max(acting.flow_m3s, 0.0), target, wide_m),
        judged=_beyond(limits, delivered, acts=False),
        near=near,
        expected_m3pm2=rate_at(delivered, speed, wide_m),
        standard=AT_A_LIMIT if acting is not None or near is not None else STEADY,
        tip_pa=tip_pa,
        cab_pa=cab_pa,
        slowest_mps=_end(limits, Side.LOW, target, wide_m),
        fastest_mps=_end(limits, Side.HIGH, target, wide_m),
    )


def needed_pa(setup: Hydraulics, flow_m3s: M3s, on_frac: Frac) -> tuple[Pa, Pa]:
    """Return the pressures that a flow of one tip needs; a pulsing tip's while it is open.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    flow_m3s : float
        Mean flow of one tip [m3/s].
    on_frac : float
        Share of the boom that is on [frac].

    Returns
    -------
    tuple of float
        At the tip and in the cab [Pa].
    """
    if setup.pulse is None:
        return tip_pressure_pa(setup, flow_m3s), cab_pressure_pa(setup, flow_m3s, on_frac)
    through = open_flow_m3s(setup, setup.pulse, flow_m3s, on_frac)
    return tip_pressure_pa(setup, through), setup.pulse.set_pressure_pa


def _beyond(limits: Sequence[Bound], flow_m3s: M3s, *, acts: bool) -> Bound | None:
    for side, sign in ((Side.LOW, 1.0), (Side.HIGH, -1.0)):
        bound = tightest(limits, side, acts=acts)
        if bound is not None and sign * (bound.flow_m3s - flow_m3s) > 1e-9 * flow_m3s:
            return bound
    return None


def _near(limits: Sequence[Bound], flow_m3s: M3s) -> Bound | None:
    ends = (tightest(limits, side, acts=True) for side in Side)
    close = [end for end in ends if end and end.flow_m3s > 0.0 and abs(log(end.flow_m3s / flow_m3s)) < NEAR]
    return close[0] if close else None


def _end(limits: Sequence[Bound], side: Side, target_m3pm2: M3pm2, wide_m: M) -> Mps | None:
    ends = [each.flow_m3s for acts in (True, False) if (each := tightest(limits, side, acts=acts)) is not None]
    if not ends:
        return None
    return speed_at(max(ends) if side is Side.LOW else max(min(ends), 0.0), target_m3pm2, wide_m)
