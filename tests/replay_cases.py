"""Made traces and set-ups for the tests of the exact replay, and the machine written down in plain Python."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from wetrun.fieldlog.exact_records import ExactSetup, LimitNames
from wetrun.fieldlog.replay import SteadySetup
from wetrun.fieldlog.trace import LogFacts, Origin, SectionFacts, Trace
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.droplet_bands import class_bands
from wetrun.spray.droplets import Family, SprayPattern
from wetrun.spray.limits import Limit
from wetrun.spray.orifice import law_of_iso_size
from wetrun.spray.pressure_curve import pressure_curve
from wetrun.spray.response import AT_ONCE, Response

SPACING_M = 0.5
FULL_WIDTH_M = 24.0
RATE_M3PM2 = 1.4e-5
NO_FACTS = LogFacts("made.csv", "made", 0, 0, 1, (), 0, 0, 0.0, (), (), (), (), ())


def made_trace(speed, interval, **columns) -> Trace:
    """A log of speeds [m/s] and intervals [s]; the first interval is a cut, and so is every nan among them."""
    speed, interval = np.asarray(speed, dtype=float), np.asarray(interval, dtype=float).copy()
    interval[0] = np.nan
    width = np.broadcast_to(np.asarray(columns.pop("width", FULL_WIDTH_M), dtype=float), speed.shape)
    none = np.full(speed.size, np.nan)
    distance = speed * interval
    base: dict[str, object] = {
        "time_s": np.cumsum(np.where(np.isnan(interval), 10.0, interval)),
        "interval_s": interval,
        "distance_m": distance,
        "speed_mps": np.where(np.isnan(interval), np.nan, speed),
        "shown_speed_mps": none,
        "width_m": width,
        "target_m3pm2": np.full(speed.size, RATE_M3PM2),
        "applied_m3pm2": none,
        "heading_rad": none,
        "curvature_radpm": none,
        "area_m2": distance * width,
        "east_m": none,
        "north_m": none,
        "sections_on": np.zeros(speed.size, dtype=np.int64),
        "full_width_m": FULL_WIDTH_M,
        "sections": (),
        "facts": NO_FACTS,
        "origin": Origin(math.radians(10.0), math.radians(50.0)),
    }
    return Trace(**(base | columns))  # type: ignore[arg-type]


def four_sections() -> tuple[SectionFacts, ...]:
    """Four sections of 6 m, told apart."""
    return tuple(SectionFacts(str(place + 1), 0, place, 100, 6.0, width_varies=False) for place in range(4))


def made_setup(
    levels_m: Sequence[float] = (FULL_WIDTH_M,),
    *,
    floor: float = 0.0,
    ceiling: float = math.inf,
    supply: float = math.inf,
    response: Response = AT_ONCE,
    **steady,
) -> ExactSetup:
    """A set-up of size 04 tips that gives from floor to ceiling, per metre of boom [m2/s]."""
    ones = np.ones(len(levels_m))
    low, high = steady.pop("window", (floor, ceiling))
    tip = SprayPattern(4.0, math.radians(110), Family.FLAT_FAN, 1e5, 5e5)
    hydraulics = Hydraulics(loop=Loop.METER, law=law_of_iso_size("04"), low_pa=1e5, high_pa=5e5, tips=48)
    names = [tuple([limit] * len(levels_m)) for limit in (Limit.HOLD, Limit.CAB_HIGH, Limit.TIP_LOW, Limit.TIP_HIGH)]
    return ExactSetup(
        steady=SteadySetup(np.array(levels_m), floor * ones, ceiling * ones, low * ones, high * ones, **steady),
        supply_m2ps=supply * ones,
        response=response,
        names=LimitNames(floor_by=names[0], ceiling_by=names[1], low_by=names[2], high_by=names[3]),
        spacing_m=SPACING_M,
        curve=pressure_curve(hydraulics, np.ones(1)),
        bands=class_bands(tip),
    )
