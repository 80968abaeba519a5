"""Laws of turns, carriers, areas, loads and wear."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.errors import NotDefined, OutOfRange
from wetrun.sources import SOURCES
from wetrun.spray.area import course_length_m, covered_area_m2, rate_from_boom, rate_from_catch_m3pm2
from wetrun.spray.carrier import (
    CARRIER_GRADES,
    REFERENCE_WATER_KGPM3,
    carrier_of_density,
    fertiliser,
    specific_gravity,
    water,
    water_density_kgpm3,
    water_surface_tension_npm,
    water_viscosity_pas,
)
from wetrun.spray.definitions import fahrenheit_k
from wetrun.spray.load import area_of_load_m2, product_in_spray_ratio
from wetrun.spray.turning import rate_ratio_at, turn_radius_m, turn_rate_ratio, turn_speed_ratio
from wetrun.spray.wear import time_at_wear_s

RADII = st.floats(3.0, 500.0)
SHARES = st.floats(-0.95, 3.0).filter(lambda share: abs(share) > 1e-3)
TEMPS = st.floats(273.15, 373.15)


@given(SHARES, RADII)
def test_rate_and_speed_in_a_turn_are_each_others_inverse(share, radius_m):
    offset_m = share * radius_m
    assert turn_rate_ratio(offset_m, radius_m) * turn_speed_ratio(offset_m, radius_m) == pytest.approx(1.0, rel=1e-12)


@given(SHARES, RADII)
def test_the_radius_comes_back_from_the_rate(share, radius_m):
    offset_m = share * radius_m
    assert turn_radius_m(offset_m, turn_rate_ratio(offset_m, radius_m)) == pytest.approx(radius_m, rel=1e-9)


@given(RADII, st.floats(0.0, 0.99), st.floats(0.0, 0.99))
def test_the_further_out_the_less(radius_m, one, other):
    inner, outer = sorted((one, other))
    assert turn_rate_ratio(outer * radius_m, radius_m) <= turn_rate_ratio(inner * radius_m, radius_m)
    assert turn_rate_ratio(-outer * radius_m, radius_m) >= turn_rate_ratio(-inner * radius_m, radius_m)


@given(RADII, st.floats(1.0, 60.0))
def test_flow_is_kept_across_the_boom_whatever_the_radius(radius_m, half_m):
    """Every tip puts down the same flow: rate times speed is one everywhere, so the harmonic mean over speed is."""
    offsets = np.linspace(-min(half_m, 0.9 * radius_m), min(half_m, 0.9 * radius_m), 11)
    speeds = np.array([turn_speed_ratio(float(y), radius_m) for y in offsets])
    assert rate_ratio_at(offsets, 1.0 / radius_m) * speeds == pytest.approx(np.ones(11), rel=1e-12)


def test_straight_on_nothing_changes_and_the_centre_stands_still():
    assert rate_ratio_at(np.array([-15.0, 0.0, 15.0]), 0.0).tolist() == [1.0, 1.0, 1.0]
    assert turn_rate_ratio(-20.0, 20.0) == math.inf
    assert turn_speed_ratio(-30.0, 20.0) < 0.0
    assert turn_rate_ratio(-40.0, 20.0) == pytest.approx(1.0)


def test_arrays_broadcast_as_scalars_do():
    offsets, curvatures = np.array([[-5.0], [5.0]]), np.array([0.0, 0.02, -0.02])
    ratios = rate_ratio_at(offsets, curvatures)
    assert ratios.shape == (2, 3)
    assert ratios[0, 2] == ratios[1, 1] == rate_ratio_at(5.0, 0.02)


@pytest.mark.parametrize(("offset_m", "ratio"), [(10.0, 1.0), (10.0, 1.5), (-10.0, 0.5), (0.0, 0.9)])
def test_a_ratio_that_no_turn_gives_is_refused(offset_m, ratio):
    with pytest.raises(OutOfRange, match="rate ratio"):
        turn_radius_m(offset_m, ratio)


@pytest.mark.parametrize("radius_m", [0.0, -5.0, math.nan])
def test_a_turn_on_the_spot_is_refused(radius_m):
    with pytest.raises(OutOfRange, match="turn radius"):
        turn_rate_ratio(5.0, radius_m)


@given(st.floats(277.15, 373.15), st.floats(277.15, 373.15))
def test_warmer_water_is_lighter_thinner_and_slacker_above_4_c(one, other):
    cool, warm = sorted((one, other))
    assert water_density_kgpm3(warm) <= water_density_kgpm3(cool) + 1e-5
    assert water_viscosity_pas(warm) <= water_viscosity_pas(cool)
    assert water_surface_tension_npm(warm) <= water_surface_tension_npm(cool)


@pytest.mark.parametrize("temp_k", [273.0, 373.5, math.nan])
def test_water_that_is_ice_or_steam_is_refused(temp_k):
    for ask in (water_density_kgpm3, water_viscosity_pas, water_surface_tension_npm, water):
        with pytest.raises(OutOfRange, match="water temperature"):
            ask(temp_k)


@given(TEMPS)
def test_water_says_whose_density_it_has(temp_k):
    carrier = water(temp_k)
    assert carrier.is_water
    assert SOURCES[carrier.source_key].key == "kell-1975"
    assert carrier.density_kgpm3 == water_density_kgpm3(temp_k)


@pytest.mark.parametrize("grade", CARRIER_GRADES)
def test_a_fertiliser_gets_lighter_as_it_warms_and_names_its_source(grade):
    temps = [fahrenheit_k(f) for f in range(-9, 90, 3)]
    weights = [fertiliser(grade, t).density_kgpm3 for t in temps]
    assert weights == sorted(weights, reverse=True)
    carrier = fertiliser(grade, temps[0])
    assert carrier.source_key in SOURCES
    assert not carrier.is_water
    assert carrier.note


@pytest.mark.parametrize(
    ("grade", "warmest_f"), [("UAN 28", 110.0), ("UAN 30", 90.0), ("UAN 32", 90.0), ("10-34-0", 90.0)]
)
def test_far_from_print_a_fertiliser_is_refused(grade, warmest_f):
    for degrees in (-10.5, warmest_f + 0.5):
        with pytest.raises(OutOfRange, match="weigh the product"):
            fertiliser(grade, fahrenheit_k(degrees))
    assert fertiliser(grade, fahrenheit_k(warmest_f - 0.5)).density_kgpm3 > 1200.0


def test_salts_coming_out_are_cautioned():
    assert "CAUTION" in fertiliser("UAN 32", fahrenheit_k(25.0)).note
    assert "salts come out near 28 °F" in fertiliser("UAN 32", fahrenheit_k(60.0)).note
    assert "CAUTION" not in fertiliser("UAN 28", fahrenheit_k(25.0)).note


def test_an_unknown_grade_names_those_that_are_known():
    with pytest.raises(NotDefined, match="UAN 28, UAN 30, UAN 32, 10-34-0"):
        fertiliser("12-0-0-26", 280.0)


def test_a_typed_density_is_the_users_even_if_called_water():
    carrier = carrier_of_density("water", 998.0)
    assert (carrier.source_key, carrier.is_water, carrier.temp_k) == ("user", False, None)


@pytest.mark.parametrize("density", [10.65, 1.28, 0.0, -1000.0, 12_800.0, math.nan])
def test_a_density_in_the_wrong_unit_is_noticed(density):
    with pytest.raises(OutOfRange, match="Check the unit"):
        carrier_of_density("UAN", density)


@given(st.floats(500.0, 3000.0))
def test_specific_gravity_is_a_plain_ratio(density):
    assert specific_gravity(density) * REFERENCE_WATER_KGPM3 == pytest.approx(density, rel=1e-12)
    assert specific_gravity(REFERENCE_WATER_KGPM3) == 1.0


POSITIVE = st.floats(0.01, 1e4)


@given(POSITIVE, POSITIVE, POSITIVE)
def test_a_course_covers_its_area_and_a_catch_over_it_its_rate(area_m2, width_m, volume_m3):
    course_m = course_length_m(area_m2, width_m)
    assert covered_area_m2(course_m, width_m) == pytest.approx(area_m2, rel=1e-12)
    rate = rate_from_catch_m3pm2(volume_m3, course_m, width_m)
    assert area_of_load_m2(volume_m3, rate) == pytest.approx(area_m2, rel=1e-12)


@given(st.floats(1e-6, 1e-2), st.floats(0.5, 10.0), st.floats(1.0, 60.0), st.floats(1.0, 100.0))
def test_a_boom_and_its_catch_over_a_course_say_the_same_rate(flow_m3s, speed_mps, swath_m, time_s):
    by_catch = rate_from_catch_m3pm2(flow_m3s * time_s, speed_mps * time_s, swath_m)
    assert rate_from_boom(flow_m3s, speed_mps, swath_m) == pytest.approx(by_catch, rel=1e-12)


@given(st.floats(1e-8, 1e-4), st.floats(1e-6, 1e-3), st.floats(0.1, 1e4))
def test_a_load_holds_as_much_product_as_its_area_takes(product, rate, tank_m3):
    assert product_in_spray_ratio(product, rate) * tank_m3 == pytest.approx(
        product * area_of_load_m2(tank_m3, rate), rel=1e-12
    )


@given(st.floats(1.0, 1e7), st.floats(0.001, 0.5), st.floats(0.001, 0.5))
def test_wear_at_the_limit_is_the_limit_by_the_root_of_time(time_s, wear_frac, limit_frac):
    at_limit = time_at_wear_s(time_s, wear_frac, limit_frac)
    assert wear_frac * math.sqrt(at_limit / time_s) == pytest.approx(limit_frac, rel=1e-12)


@pytest.mark.parametrize("bad", [0.0, -0.1, math.nan])
def test_what_cannot_be_is_refused_in_a_sentence(bad):
    for ask in (
        lambda: course_length_m(30.0, bad),
        lambda: course_length_m(bad, 0.5),
        lambda: rate_from_catch_m3pm2(0.001, bad, 0.5),
        lambda: area_of_load_m2(3.0, bad),
        lambda: time_at_wear_s(100.0, bad, 0.1),
        lambda: specific_gravity(bad),
    ):
        with pytest.raises(OutOfRange, match="it must be at least 0"):
            ask()
