"""A made-up season of 12 passes, and 300 tips to choose from, to time the plan and its proof of optimality.

Nothing in it is a real tip, price or field. Tips are sizes by families by variants (pressure range, price, class rows
or none), so that many nearly equal sets compete, as they do in a full catalogue. Passes differ in rate, speed, classes,
carrier and area. The season is planned twice: by stated speeds, and by a log of six boom widths.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import radians

import numpy as np
from bench.made_log import made_log

from wetrun.fieldlog.ledger import demand_tallies
from wetrun.machine.boom import Boom
from wetrun.machine.sprayer import Control, Sprayer
from wetrun.machine.tip import OwnedSet, Tip
from wetrun.planning.evidence import Evidence, EvidenceKind, evidence_of_stated
from wetrun.planning.passes import Pass, Product, Season, StatedSpeeds
from wetrun.planning.season import season_plan
from wetrun.planning.season_result import SeasonPlan
from wetrun.spray.carrier import fertiliser, water
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import DropletClass, Family, SprayPattern
from wetrun.spray.orifice import law_of_iso_size, size_number
from wetrun.spray.supply import Hold, MeterRange, PumpSupply

SIZES = ("015", "02", "025", "03", "035", "04", "05", "06", "08", "10")
RANGES_PA = {Family.FLAT_FAN: (1e5, 4e5), Family.PRE_ORIFICE: (1e5, 6e5), Family.AIR_INDUCTION: (2e5, 7e5)}
VARIANTS = 10
LOG_ROWS = 200_000
HECTARE_M2 = 1e4
LITRE_PER_HECTARE_M3PM2 = 1e-7
SPEED_STEP_MPS = 0.25
FIRST_DAY = date(2031, 4, 1)
WISHES = (
    None,
    frozenset({DropletClass.M, DropletClass.C}),
    frozenset({DropletClass.C, DropletClass.VC, DropletClass.XC, DropletClass.UC}),
    frozenset({DropletClass.F, DropletClass.M, DropletClass.C}),
)


@dataclass(frozen=True, slots=True)
class MadeSeason:
    """A season, the tips that can be had, and for each pass its speeds."""

    season: Season
    catalogue: tuple[Tip, ...]
    evidence: dict[str, Evidence]

    def planned(self) -> SeasonPlan:
        """Return the plan, over every number of sets that helps."""
        return season_plan(self.season, self.catalogue, self.evidence)


def season_by_stated_speeds() -> MadeSeason:
    """Return the season with three stated speeds to each pass."""
    season = _season()
    width_m = season.sprayer.boom.width_m
    speeds = {one.ident: one.speeds for one in season.passes if one.speeds}
    return MadeSeason(season, tips(), {ident: evidence_of_stated(said, width_m) for ident, said in speeds.items()})


def season_by_log() -> MadeSeason:
    """Return the season with a log of its own to each pass, driven at another rate than planned."""
    season = _season()
    width_m = season.sprayer.boom.width_m
    evidence = {one.ident: _logged(one, seed, width_m) for seed, one in enumerate(season.passes)}
    return MadeSeason(season, tips(), evidence)


def tips() -> tuple[Tip, ...]:
    """Return 300 tips: 10 sizes, 3 families, 10 variants that differ a little in range, angle and price."""
    return tuple(_tip(size, family, variant) for size in SIZES for family in RANGES_PA for variant in range(VARIANTS))


def _tip(size: str, family: Family, variant: int) -> Tip:
    low_pa, high_pa = RANGES_PA[family]
    low_pa, high_pa = low_pa * (1 + 0.04 * (variant % 4)), high_pa * (1 - 0.05 * (variant % 3))
    angle_rad = radians(80 if variant % 5 == 0 else 110)
    return Tip(
        ident=f"{size}-{family.name.lower()}-{variant}",
        words=f"made-up {size} {family} {variant}",
        size=size,
        family=family,
        law=law_of_iso_size(size),
        low_pa=low_pa,
        high_pa=high_pa,
        pattern=SprayPattern(size_number(size), angle_rad, family, low_pa, high_pa),
        price_cents=300 + 37 * variant + 200 * list(RANGES_PA).index(family),
        generic=False,
        origin="made up",
    )


def _season() -> Season:
    owned = (OwnedSet("04-air_induction-0", 1.04), OwnedSet("025-flat_fan-1", 1.08), OwnedSet("06-pre_orifice-2"))
    sprayer = Sprayer(
        name="made-up machine",
        boom=Boom(spacing_m=0.5, section_tips=(12,) * 6, body_positions=3),
        control=Control(loop=Loop.METER, hold=Hold(cab_pressure_pa=1.2e5), meter=MeterRange(2e-4, 8e-3)),
        pump=PumpSupply(capacity_m3s=7e-3, agitation_m3s=1e-3),
        owned=owned,
    )
    return Season(title="made up", customer="nobody", sprayer=sprayer, passes=tuple(map(_pass, range(12))))


def _pass(number: int) -> Pass:
    rate_m3pm2 = (60 + 23 * (number * 5 % 12)) * LITRE_PER_HECTARE_M3PM2
    slow_mps = 2.5 + SPEED_STEP_MPS * (number * 7 % 12)
    first_day = FIRST_DAY + timedelta(days=9 * number)
    return Pass(
        ident=f"pass {number + 1:02}",
        crop=("corn", "soybeans", "wheat")[number % 3],
        area_m2=(40 + 31 * (number * 3 % 7)) * HECTARE_M2,
        first_day=first_day,
        last_day=first_day + timedelta(days=14),
        carrier=fertiliser("UAN 28", 288.7) if number % 6 == 5 else water(),
        rate_m3pm2=rate_m3pm2,
        rate_low_m3pm2=rate_m3pm2,
        rate_high_m3pm2=rate_m3pm2,
        products=(Product(name="made-up product", classes=WISHES[number % 4]),),
        speeds=StatedSpeeds(slow_mps, 1.35 * slow_mps, 1.9 * slow_mps),
    )


def _logged(planned: Pass, seed: int, boom_width_m: float) -> Evidence:
    log = made_log(LOG_ROWS, seed)
    usual_mps = planned.speeds.usual_mps if planned.speeds else float(np.median(log.speed_mps))
    speed_mps = log.speed_mps * usual_mps / float(np.median(log.speed_mps))
    wider = boom_width_m / float(log.levels_m.max())
    flow_m2ps = log.flow_m2ps * speed_mps / log.speed_mps
    speed, flow = demand_tallies(speed_mps, flow_m2ps, wider * log.width_m, wider * log.area_m2)
    slow_mps, fast_mps = (float(v) for v in speed.percentiles([0.025, 0.975])[0])
    return Evidence(
        EvidenceKind.LOG, (f"log {seed}",), speed, flow, boom_width_m, log.rate_m3pm2, usual_mps, slow_mps, fast_mps
    )
