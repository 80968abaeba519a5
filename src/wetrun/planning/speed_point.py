"""What the machine shows and does at one ground speed: pressures, duty, boom flow, droplet class."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.planning.window import Trial
from wetrun.spray.controller import (
    cab_pressure_pa,
    tip_pressure_pa,
)
from wetrun.spray.droplets import DropletFinding, droplet_finding
from wetrun.spray.orifice import demand_per_tip_m3s
from wetrun.spray.pulsed import open_flow_m3s
from wetrun.units import Frac, M3pm2, M3s, Mps, Pa


@dataclass(frozen=True, slots=True)
class SpeedPoint:
    """What the machine shows and does at one ground speed, all sections on.

    Attributes
    ----------
    speed_mps : float
        Ground speed [m/s].
    tip_pa, cab_pa : float
        Pressure at the tip and at the cab sensor [Pa].
    duty_frac : float or None
        Duty of a pulse-width machine [frac].
    boom_flow_m3s : float
        Flow of the whole boom [m3/s].
    droplets : DropletFinding or None
        Droplet class at the tip's pressure; None for streamers or outside the tip's range.
    """

    speed_mps: Mps
    tip_pa: Pa
    cab_pa: Pa
    duty_frac: Frac | None
    boom_flow_m3s: M3s
    droplets: DropletFinding | None


def point_at(trial: Trial, *, speed_mps: Mps, rate_m3pm2: M3pm2) -> SpeedPoint:
    """Return what the machine shows at one speed: pressures, duty, boom flow and droplet class.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    speed_mps : float
        Ground speed [m/s].
    rate_m3pm2 : float
        Target rate [m3/m2].

    Returns
    -------
    SpeedPoint
        Settled state, all sections on.
    """
    setup, tip_set = trial.setup, trial.tip_set
    window = trial.whole
    demand = float(demand_per_tip_m3s(rate_m3pm2, speed_mps, tip_set.spacing_m))
    flow_m3s = min(max(setup.gain_ratio * demand, window.floor_m3s), window.ceiling_m3s)
    duty_frac, open_m3s = None, flow_m3s
    cab_pa = cab_pressure_pa(setup, flow_m3s)
    if setup.pulse is not None:
        open_m3s, cab_pa = open_flow_m3s(setup, setup.pulse, flow_m3s), setup.pulse.set_pressure_pa
        duty_frac = flow_m3s / open_m3s
    tip_pa = tip_pressure_pa(setup, open_m3s)
    pattern, droplets = tip_set.tip.pattern, None
    if pattern is not None and pattern.low_pa <= tip_pa <= pattern.high_pa:
        droplets = droplet_finding(pattern, tip_pa)
    return SpeedPoint(speed_mps, tip_pa, cab_pa, duty_frac, flow_m3s * setup.tips, droplets)
