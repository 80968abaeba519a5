"""A machine with one thing wrong, and what its screen and gauges then show: worked out here, not by the room tested.

A boom of nine sections of eight tips, size 04, 50 cm apart, behind a metered controller. Everything follows from the
square-root law of one tip, losses with the square of flow, and what a monitor does with its own numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from wetrun.machine.boom import Boom
from wetrun.proving.trouble_seen import Look, Seen, TroubledMachine
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.losses import SensorLoss
from wetrun.spray.orifice import law_of_iso_size
from wetrun.spray.supply import Hold, MeterRange, PumpSupply

TIPS, SPACING_M, RATE_M3PM2, SPEED_MPS = 72, 0.5, 1.0e-5, 5.0
ONE_M3SPA05 = 4.0 * 0.4e-3 / 60.0 / sqrt(3e5)
BOOM_LOSS = 5e9
WATER_KGPM3 = 998.2
ALL_SEEN = (
    Look.TARGET,
    Look.RATE,
    Look.SPEED,
    Look.OTHER_SPEED,
    Look.CAB,
    Look.FLOW,
    Look.WIDTH,
    Look.TIP,
    Look.CATCH,
)


def machine(*, loop=Loop.METER, density_kgpm3=None, is_water=True, **setup):
    """The machine as its file has it."""
    kept = {
        "loop": loop,
        "law": law_of_iso_size("04"),
        "low_pa": 1.0e5,
        "high_pa": 6.0e5,
        "tips": float(TIPS),
        "loss": SensorLoss(boom_paps2m6=BOOM_LOSS),
        "hold": Hold(cab_pressure_pa=1.2e5),
        "pump": PumpSupply(capacity_m3s=7e-3, agitation_m3s=2e-3),
        "relief_pa": 8e5,
        **({"meter": MeterRange(2e-4, 9e-3)} if loop is Loop.METER else {}),
        **({} if density_kgpm3 is None else {"density_kgpm3": density_kgpm3}),
        **setup,
    }
    return TroubledMachine(
        boom=Boom(spacing_m=SPACING_M, section_tips=(8,) * 9), setup=Hydraulics(**kept), size="04", is_water=is_water
    )


@dataclass(frozen=True, kw_only=True)
class Wrong:
    """What is wrong; the usual is nothing."""

    tips: float = 1.0
    meter: float = 1.0
    speed: float = 1.0
    width: float = 1.0
    more_loss: float = 0.0
    sensor_pa: float = 0.0
    gauge: float = 1.0
    caught: float = 1.0
    reached: float = 1.0
    highest: float = 2.0
    feed: float = 1.0
    section_tips: float = 1.0
    density: float = 1.0
    rate: float = RATE_M3PM2
    speed_mps: float = SPEED_MPS


def readings(wrong, *, density_kgpm3=WATER_KGPM3):
    """What every look shows, without noise, by look."""
    width = TIPS * SPACING_M
    shown_speed = wrong.speed_mps * wrong.speed
    # A metered controller opens until its own rate is the one set, or as far as it gets.
    shown_flow = wrong.reached * wrong.rate * shown_speed * width * wrong.width
    boom = shown_flow / wrong.meter
    low = sqrt(wrong.feed) * wrong.section_tips
    one = boom / (TIPS - 8 + 8 * low)
    heavy = density_kgpm3 * wrong.density / WATER_KGPM3
    tip_pa = (one / (ONE_M3SPA05 * wrong.tips)) ** 2 * heavy
    before_pa = tip_pa * (1.0 + wrong.more_loss) + BOOM_LOSS * boom**2 * density_kgpm3 / WATER_KGPM3
    return {
        Look.TARGET: wrong.rate,
        Look.RATE: shown_flow / (shown_speed * width * wrong.width),
        Look.SPEED: shown_speed,
        Look.OTHER_SPEED: wrong.speed_mps,
        Look.CAB: before_pa + wrong.sensor_pa,
        Look.FLOW: shown_flow,
        Look.WIDTH: width * wrong.width,
        Look.TIP: tip_pa * wrong.gauge,
        Look.CATCH: one * wrong.caught,
        Look.ANOTHER_CATCH: one,
        Look.SECTION_TIP: tip_pa * wrong.feed * wrong.gauge,
        Look.SECTION_CATCH: one * low,
        Look.ZERO: max(wrong.sensor_pa, 0.0),
        Look.BESIDE: before_pa,
        Look.WEIGHED: density_kgpm3 * wrong.density,
        Look.DENSITY_SET: WATER_KGPM3,
        Look.HOLD_SET: 1.2e5,
        Look.HIGHEST: before_pa * wrong.highest,
    }


NOISE = {
    Look.RATE: 0.006,
    Look.SPEED: 0.006,
    Look.OTHER_SPEED: 0.01,
    Look.CAB: 0.012,
    Look.FLOW: 0.006,
    Look.WIDTH: 0.001,
    Look.TIP: 0.01,
    Look.CATCH: 0.015,
    Look.ANOTHER_CATCH: 0.03,
    Look.SECTION_TIP: 0.01,
    Look.SECTION_CATCH: 0.03,
    Look.BESIDE: 0.01,
    Look.WEIGHED: 0.005,
}


def seen(wrong, looks=ALL_SEEN, *, seed=None, low_section=0, **more):
    """What somebody typed of a machine with something wrong, with the usual noise of reading if a seed is given."""
    shown = readings(wrong, **more)
    draw = None if seed is None else np.random.default_rng(seed)
    found = Seen(low_section=low_section)
    for look in looks:
        noise = 1.0 if draw is None else float(np.exp(NOISE.get(look, 0.0) * draw.standard_normal()))
        found = found.also(look, shown[look] * noise)
    return found


def usual(seed):
    """A machine with nothing wrong: everything off by as much as such things are."""
    draw = np.random.default_rng(seed)
    spread = {"tips": 0.03, "meter": 0.015, "speed": 0.015, "width": 0.005, "gauge": 0.01, "caught": 0.025}
    off = {name: float(np.exp(standard * draw.standard_normal())) for name, standard in spread.items()}
    reached = float(np.exp(0.015 * draw.standard_normal()))
    tip_pa = (RATE_M3PM2 * SPEED_MPS * SPACING_M / ONE_M3SPA05) ** 2
    return Wrong(
        **off,
        reached=reached,
        sensor_pa=float(0.02 * tip_pa * draw.standard_normal()),
        more_loss=float(0.03 * draw.standard_normal()),
    )
