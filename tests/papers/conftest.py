"""A small season made by code from generic tips: three passes, one of them impossible on purpose."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from wetrun.fieldlog.turns import TurnTally
from wetrun.machine.boom import Boom, OddPositions, PositionKind
from wetrun.machine.catalogue import catalogue
from wetrun.machine.sprayer import Control, Sprayer
from wetrun.machine.tip import OwnedSet
from wetrun.planning.evidence import evidence_of_stated
from wetrun.planning.passes import Pass, PermittedTip, Product, Season, StatedSpeeds
from wetrun.planning.report import plan_report
from wetrun.planning.season import season_plan
from wetrun.quantity import Kind, read
from wetrun.spray.carrier import fertiliser, water
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import DropletClass
from wetrun.spray.losses import loss_from_gauges
from wetrun.spray.supply import Hold, MeterRange, PumpSupply

COARSE = frozenset({DropletClass.C, DropletClass.VC, DropletClass.XC, DropletClass.UC})
PRESSURE, SPEED, RATE, FLOW = Kind.PRESSURE, Kind.SPEED, Kind.RATE, Kind.BOOM_FLOW


def si(text, kind):
    return read(text, kind).si_value


def speeds(slow, usual, fast):
    return StatedSpeeds(*(si(f"{value} mph", SPEED) for value in (slow, usual, fast)))


def one_pass(ident, **changes):
    rate = si("15 gal/ac", RATE)
    base = Pass(
        ident=ident,
        crop="corn",
        area_m2=si("1200 ac", Kind.AREA),
        first_day=date(2027, 5, 20),
        last_day=date(2027, 6, 20),
        carrier=water(),
        rate_m3pm2=rate,
        rate_low_m3pm2=rate,
        rate_high_m3pm2=rate,
        products=(
            Product(
                name="Fieldclear 4",
                rate_m3pm2=si("32 fl oz/ac", Kind.PRODUCT_RATE),
                label_high_m3pm2=si("36 fl oz/ac", Kind.PRODUCT_RATE),
                classes=COARSE,
                wind_high_mps=si("10 mph", SPEED),
                height_high_m=si("24 in", Kind.HEIGHT),
            ),
        ),
        speeds=speeds(7, 12, 15),
        height_m=si("22 in", Kind.HEIGHT),
        odd_positions=False,  # a plain fan at the boom ends is finer than the labels of these passes allow
    )
    return replace(base, **changes)


@pytest.fixture(scope="session")
def make_pass():
    return one_pass


@pytest.fixture(scope="session")
def sprayer():
    cab, tip = si("40 psi", PRESSURE), si("36 psi", PRESSURE)
    return Sprayer(
        name="Number 7",
        boom=Boom(
            spacing_m=si("20 in", Kind.SPACING),
            section_tips=(8, 8, 8, 8, 8, 8, 8, 8, 8),
            exceptions=(OddPositions(PositionKind.BOOM_END, (1, 72), "iso-8004-ff"),),
            body_positions=3,
        ),
        control=Control(
            loop=Loop.METER,
            hold=Hold(cab_pressure_pa=si("25 psi", PRESSURE)),
            cab_high_pa=si("95 psi", PRESSURE),
            meter=MeterRange(si("3 gal/min", FLOW), si("160 gal/min", FLOW)),
            density_setting_kgpm3=si("10.0 lb/gal", Kind.DENSITY),
        ),
        pump=PumpSupply(capacity_m3s=si("140 gal/min", FLOW), agitation_m3s=si("30 gal/min", FLOW)),
        loss=loss_from_gauges(cab, tip, si("36 gal/min", FLOW)),
        check_valve_pa=si("8 psi", PRESSURE),
        owned=(OwnedSet("iso-11005-ff", 1.06),),
    )


@pytest.fixture(scope="session")
def season(sprayer):
    uan_rate = si("20 gal/ac", RATE)
    passes = (
        one_pass("Post herbicide"),
        one_pass(
            "UAN top-dress",
            carrier=fertiliser("UAN 32", si("60 °F", Kind.TEMPERATURE)),
            rate_m3pm2=uan_rate,
            rate_low_m3pm2=uan_rate,
            rate_high_m3pm2=uan_rate,
            products=(),
            odd_positions=True,
            first_day=date(2027, 4, 1),
            speeds=speeds(9, 11, 13),
        ),
        one_pass(
            "Late cover",
            first_day=date(2027, 8, 1),
            last_day=date(2027, 9, 1),
            products=(
                Product(
                    name="Canopy Guard", classes=frozenset({DropletClass.F}), carrier_low_m3pm2=si("20 gal/ac", RATE)
                ),
                Product(
                    name="Fieldclear 4",
                    classes=COARSE,
                    permitted_tips=(PermittedTip("iso-11004-ai", si("60 psi", PRESSURE)),),
                ),
            ),
        ),
    )
    return Season(title="Season 2027", customer="Low Fork Farm", sprayer=sprayer, passes=passes)


def report_of(season):
    evidence = {p.ident: evidence_of_stated(p.speeds, season.sprayer.boom.width_m) for p in season.passes}
    return plan_report(season_plan(season, catalogue(), evidence), {})


@pytest.fixture(scope="session")
def make_report():
    return report_of


@pytest.fixture(scope="session")
def report(season):
    """The plan with everything said of it, and a turn tally as a log of the first pass would give it."""
    found = report_of(season)
    whole = 5_000_000_000_000
    words = "A turn is where a boom end gets over 5 % more or less than the centre"
    tally = TurnTally(
        total_cm2=whole,
        turning_cm2=whole // 12,
        over_label_cm2=whole // 80,
        off_by_a_tenth_cm2=whole // 30,
        unknown_cm2=0,
        words=words,
    )
    herbicide = replace(found.notes["Post herbicide"], turns=(tally,))
    return replace(found, notes={**found.notes, "Post herbicide": herbicide})
