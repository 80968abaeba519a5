"""Random small seasons and the parts they are made of, for the tests of the plan."""

from __future__ import annotations

from datetime import date, timedelta
from math import radians

import numpy as np

from wetrun.machine.boom import Boom, OddPositions, PositionKind
from wetrun.machine.sprayer import Control, Sprayer
from wetrun.machine.tip import OwnedSet, Tip
from wetrun.planning.evidence import Evidence, evidence_of_stated
from wetrun.planning.passes import Pass, PermittedTip, Product, Season, StatedSpeeds
from wetrun.spray.carrier import Carrier, fertiliser, water
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import DropletClass, Family, SprayPattern
from wetrun.spray.orifice import law_of_iso_size, size_number
from wetrun.spray.supply import Hold, MeterRange, PumpSupply

LITRE_PER_HECTARE = 1e-7
KMH = 1 / 3.6
HECTARE = 1e4
FIRST_DAY = date(2031, 4, 1)
CLASS_WISHES = (
    None,
    frozenset({DropletClass.F, DropletClass.M}),
    frozenset({DropletClass.M, DropletClass.C}),
    frozenset({DropletClass.C, DropletClass.VC, DropletClass.XC, DropletClass.UC}),
)


def tip(size: str, family: Family, *, price_cents: int | None = 500, ident: str = "") -> Tip:
    """A generic tip of a family."""
    low_pa, high_pa = {Family.AIR_INDUCTION: (2e5, 7e5), Family.PRE_ORIFICE: (1e5, 6e5)}.get(family, (1e5, 4e5))
    pattern = SprayPattern(size_number(size), radians(110), family, low_pa, high_pa)
    return Tip(
        ident=ident or f"{size}-{family.name.lower()}",
        words=f"110-{size} {family}",
        size=size,
        family=family,
        law=law_of_iso_size(size),
        low_pa=low_pa,
        high_pa=high_pa,
        pattern=pattern,
        price_cents=price_cents,
    )


def planned(ident: str, **changes: object) -> Pass:
    """A pass at 150 L/ha with stated speeds; anything can be changed."""
    rate = float(changes.pop("rate_m3pm2", 150 * LITRE_PER_HECTARE))  # type: ignore[arg-type]
    base: dict[str, object] = {
        "ident": ident,
        "crop": "corn",
        "area_m2": 100 * HECTARE,
        "first_day": FIRST_DAY,
        "last_day": FIRST_DAY + timedelta(days=20),
        "carrier": water(),
        "rate_m3pm2": rate,
        "rate_low_m3pm2": rate,
        "rate_high_m3pm2": rate,
        "speeds": StatedSpeeds(10 * KMH, 16 * KMH, 22 * KMH),
    }
    return Pass(**(base | changes))  # type: ignore[arg-type]


def sprayer(**changes: object) -> Sprayer:
    """A 36 m machine with flow-meter feedback and a minimum hold."""
    base: dict[str, object] = {
        "name": "test machine",
        "boom": Boom(spacing_m=0.5, section_tips=(12, 12, 12, 12, 12, 12), body_positions=2),
        "control": Control(loop=Loop.METER, hold=Hold(cab_pressure_pa=1.2e5), meter=MeterRange(2e-4, 8e-3)),
        "pump": PumpSupply(capacity_m3s=7e-3, agitation_m3s=1e-3),
    }
    return Sprayer(**(base | changes))  # type: ignore[arg-type]


def evidence_for(season: Season) -> dict[str, Evidence]:
    """Evidence from stated speeds alone."""
    return {
        one.ident: evidence_of_stated(one.speeds, season.sprayer.boom.width_m) for one in season.passes if one.speeds
    }


def random_season(rng: np.random.Generator) -> tuple[Season, tuple[Tip, ...]]:
    """Up to four passes and five tips, with everything that can bind drawn at random."""
    sizes = rng.choice(["02", "03", "04", "05", "06", "08"], size=rng.integers(2, 5), replace=False).tolist()
    families = [Family(name) for name in rng.choice([Family.FLAT_FAN, Family.PRE_ORIFICE, Family.AIR_INDUCTION], 4)]
    priced = rng.random() < 0.8
    tips = tuple(
        tip(size, family, price_cents=int(rng.integers(3, 12)) * 100 if priced else None)
        for size, family in zip(sizes, families, strict=False)
    )
    owned = tuple(OwnedSet(one.ident, float(rng.uniform(1.0, 1.1))) for one in tips if rng.random() < 0.3)
    odd = (OddPositions(PositionKind.BOOM_END, (1, 72), tips[0].ident),) if rng.random() < 0.3 else ()
    boom = Boom(spacing_m=0.5, section_tips=(12,) * 6, exceptions=odd, body_positions=int(rng.integers(1, 4)))
    loop = Loop(rng.choice([Loop.METER, Loop.PRESSURE]))
    control = Control(loop=loop, hold=Hold(cab_pressure_pa=float(rng.uniform(0.8e5, 2e5))))
    machine = sprayer(boom=boom, control=control, owned=owned)
    passes = tuple(_random_pass(rng, f"pass {number}", tips) for number in range(int(rng.integers(1, 5))))
    budget = int(rng.integers(0, 4)) * 40_000 if rng.random() < 0.4 else None
    return Season(title="t", customer="c", sprayer=machine, passes=passes, budget_cents=budget), tips


def _random_pass(rng: np.random.Generator, ident: str, tips: tuple[Tip, ...]) -> Pass:
    rate = float(rng.uniform(60, 300)) * LITRE_PER_HECTARE
    slow = float(rng.uniform(6, 14)) * KMH
    speeds = StatedSpeeds(slow, slow * float(rng.uniform(1.1, 1.5)), slow * float(rng.uniform(1.6, 2.5)))
    liquid: Carrier = fertiliser("UAN 28", 288.7) if rng.random() < 0.3 else water()
    named = tuple(PermittedTip(one.ident, 3.5e5) for one in tips if rng.random() < 0.6)
    product = Product(name="product", permitted_tips=named) if rng.random() < 0.25 else Product(name="product")
    return planned(
        ident,
        rate_m3pm2=rate,
        area_m2=float(rng.uniform(5, 300)) * HECTARE,
        first_day=FIRST_DAY + timedelta(days=int(rng.integers(0, 90))),
        carrier=liquid,
        speeds=speeds,
        classes=CLASS_WISHES[int(rng.integers(0, len(CLASS_WISHES)))],
        products=(product,),
        last_day=FIRST_DAY + timedelta(days=120),
    )
