"""Before a catch: what every way takes, what it leaves in doubt, which limit that decides, and which one to take."""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt

import numpy as np
import pytest

from wetrun.errors import OutOfRange
from wetrun.proving.catch_means import CatchMeans, filled
from wetrun.proving.catch_plan import CatchWay
from wetrun.proving.catch_run import CatchInstruments
from wetrun.proving.catch_ways import CatchChoice, CatchWays, catch_ways
from wetrun.proving.day_model import READY_S
from wetrun.quantity.registry import registry
from wetrun.spray.orifice import law_of_us_size

MINUTE = 60.0


def si(text: str) -> float:
    return float(registry().Quantity(text).to_base_units().magnitude)


GALLON = si("1 gallon")
MEANS = CatchMeans(section_tips=(12,) * 6, law=law_of_us_size("05"), pressure_pa=si("40 psi"))


def way(ways: CatchWays, kind: CatchWay, jugs: int) -> CatchChoice:
    (found,) = [each for each in ways.choices if each.plan.way is kind and each.plan.jugs == jugs]
    return found


def test_one_jug_under_72_tips_of_size_05_needs_2600_gallons_and_two_tanks() -> None:
    ways = catch_ways(replace(MEANS, tank_m3=1200 * GALLON), 300 * MINUTE)
    one = way(ways, CatchWay.WHOLE_BOOM, 1)
    assert one.plan.water_m3 / GALLON == pytest.approx(2592, abs=1)
    assert one.tanks == pytest.approx(2592 / 1200, abs=1e-3)
    assert not one.fits
    assert way(catch_ways(MEANS, 300 * MINUTE), CatchWay.WHOLE_BOOM, 1).fits


def test_every_way_is_there_with_its_jugs() -> None:
    ways = catch_ways(MEANS, 45 * MINUTE)
    found = [(each.plan.way, each.plan.jugs) for each in ways.choices]
    jugs = (1, 2, 4, 8)
    boom, section = CatchWay.WHOLE_BOOM, CatchWay.BY_SECTION
    assert found == [
        *((boom, n) for n in jugs),
        *((section, n) for n in jugs),
        (CatchWay.DIRECT, 1),
        (CatchWay.REFERENCE, 8),
    ]


def test_a_gauge_of_2_psi_in_40_alone_leaves_28_in_1000_against_new_and_nothing_against_the_boom() -> None:
    """Half of 5 % is ±2.5 % of flow; as a rectangle, at 95 %, 1.96 / sqrt(3) of it."""
    sharp = CatchInstruments(jug_m3=1e-12, watch_s=1e-9, measure_frac=1e-9, wander_pa=1e-9, flow_frac=1e-9)
    ways = catch_ways(replace(MEANS, tools=replace(sharp, gauge_pa=si("2 psi"))), 45 * MINUTE)
    one = way(ways, CatchWay.WHOLE_BOOM, 4)
    assert one.to_new_frac == pytest.approx(1.959964 * 0.025 / sqrt(3.0), rel=1e-4)
    assert one.to_boom_frac < 1e-5
    assert (one.boom_limits_frac, one.new_limits_frac) == ((0.05, 0.10), (0.10,))


def test_a_reread_pressure_is_surer_and_an_instrument_less_sure_than_a_jug() -> None:
    ways = catch_ways(MEANS, 45 * MINUTE)
    boom, section = (way(ways, kind, 4) for kind in (CatchWay.WHOLE_BOOM, CatchWay.BY_SECTION))
    direct = way(ways, CatchWay.DIRECT, 1)
    assert section.to_boom_frac < boom.to_boom_frac < direct.to_boom_frac
    assert direct.boom_limits_frac == (0.10,)


def test_the_doubt_of_a_catch_is_that_of_many_catches_drawn() -> None:
    """Jug marks, four jugs, two presses and the pressure drawn as they are said to be; 95 of 100 within the ±."""
    ways = catch_ways(MEANS, 45 * MINUTE)
    tools, _ = filled(MEANS)
    random = np.random.default_rng(3)
    count, law = 200_000, MEANS.law
    half = tools.wander_pa / 2
    pressure = MEANS.pressure_pa + random.uniform(-1.0, 1.0, count) * 2 * half
    flow = law.flow_m3s(MEANS.pressure_pa) * np.sqrt(pressure / MEANS.pressure_pa)
    presses = random.normal(0.0, tools.watch_s, (2, count)).sum(axis=0)
    caught = flow * (MEANS.catch_s + presses) + random.uniform(-1.0, 1.0, count) * tools.jug_m3
    jugs = random.uniform(-1.0, 1.0, (4, count)) * tools.measure_frac
    caught *= 1.0 + jugs[0] - jugs.mean(axis=0)
    off = caught / MEANS.catch_s / law.flow_m3s(MEANS.pressure_pa) - 1.0
    said = way(ways, CatchWay.WHOLE_BOOM, 4).to_boom_frac
    assert 1.96 * off.std() == pytest.approx(said, rel=0.01)
    assert np.mean(np.abs(off) <= said) == pytest.approx(0.95, abs=0.02)


def test_new_tips_tell_the_set_without_gauge_or_jug_and_no_single_tip() -> None:
    rough = replace(MEANS, tools=CatchInstruments(gauge_pa=si("8 psi"), measure_frac=0.05))
    plain, worse = (
        way(catch_ways(replace(each, most_jugs=1), 45 * MINUTE), CatchWay.REFERENCE, 1) for each in (MEANS, rough)
    )
    assert plain.to_new_frac == worse.to_new_frac  # one jug is off by the same at every tip
    assert way(catch_ways(rough, 45 * MINUTE), CatchWay.WHOLE_BOOM, 1).new_limits_frac == ()
    assert worse.new_limits_frac == (0.10,)
    assert (worse.to_boom_frac, worse.boom_limits_frac, worse.every_tip) == (inf, (), False)
    many = way(catch_ways(rough, 45 * MINUTE), CatchWay.REFERENCE, 8)
    assert many.to_new_frac > worse.to_new_frac  # eight jugs that differ by 5 %
    assert many.plan.catches == 2  # fifteen tips, eight jugs


@pytest.mark.parametrize(
    ("minutes", "kind", "jugs"),
    [
        (8, None, None),
        (12, CatchWay.REFERENCE, 8),
        (22, CatchWay.WHOLE_BOOM, 8),
        (45, CatchWay.BY_SECTION, 4),
        (90, CatchWay.BY_SECTION, 2),
        (180, CatchWay.BY_SECTION, 1),
    ],
)
def test_more_minutes_take_fewer_jugs_and_too_few_leave_the_new_tips(
    minutes: int, kind: CatchWay | None, jugs: int | None
) -> None:
    found = catch_ways(replace(MEANS, tank_m3=1200 * GALLON), minutes * MINUTE).recommended
    assert (None if found is None else (found.plan.way, found.plan.jugs)) == (None if kind is None else (kind, jugs))


def test_what_is_recommended_fits_and_nothing_that_fits_decides_more() -> None:
    for minutes in range(5, 200, 5):
        ways = catch_ways(replace(MEANS, tank_m3=1000 * GALLON), minutes * MINUTE)
        chosen = ways.recommended
        fitting = [each for each in ways.choices if each.fits]
        assert (chosen is None) == (not fitting)
        for each in fitting:
            assert chosen is not None
            assert each.plan.time_s + READY_S <= minutes * MINUTE
            assert (chosen.every_tip, len(chosen.boom_limits_frac)) >= (each.every_tip, len(each.boom_limits_frac))


def test_what_the_file_says_of_its_tools_is_not_overruled() -> None:
    tools = CatchInstruments(scale_kg=0.002, measure_frac=0.001, gauge_pa=2000.0, wander_pa=1000.0, flow_frac=0.01)
    assert filled(replace(MEANS, tools=tools)) == (tools, ())
    _, assumed = filled(MEANS)
    assert len(assumed) == 5
    assert "gauge ±5 % of its reading" in assumed


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(OutOfRange, match="jugs"):
        catch_ways(replace(MEANS, most_jugs=0), 60.0)
    with pytest.raises(OutOfRange, match="time there is"):
        catch_ways(MEANS, -1.0)
    with pytest.raises(OutOfRange, match="tank"):
        catch_ways(replace(MEANS, tank_m3=0.0), 60.0)
    with pytest.raises(OutOfRange, match="time of a catch"):
        catch_ways(replace(MEANS, catch_s=0.0), 60.0)
