"""The trade's constants are results here: nothing in the package holds them, the definitions make them.

Each is the unit part of a formula the trade prints: flow of one tip = rate x speed x spacing / 5940, and so on.
They are checked as the formulas are printed (they come out whole because mile, acre and gallon are so defined).
"""

import pytest

from wetrun.quantity import Kind, System, read, to_display


def one(text, kind):
    return read(text, kind).si_value


def test_5940_links_gal_per_acre_mph_and_inches_to_gal_per_minute():
    flow_m3s = one("1 gal/ac", Kind.RATE) * one("1 mph", Kind.SPEED) * one("1 in", Kind.SPACING)
    assert 1 / to_display(flow_m3s, Kind.TIP_FLOW, System.US) == pytest.approx(5940, rel=1e-12)


def test_495_links_gal_per_acre_mph_and_feet_to_gal_per_minute():
    flow_m3s = one("1 gal/ac", Kind.RATE) * one("1 mph", Kind.SPEED) * one("1 ft", Kind.WIDTH)
    assert 1 / to_display(flow_m3s, Kind.BOOM_FLOW, System.US) == pytest.approx(495, rel=1e-12)


def test_600_links_litres_per_hectare_km_per_hour_and_metres_to_litres_per_minute():
    flow_m3s = one("1 L/ha", Kind.RATE) * one("1 km/h", Kind.SPEED) * one("1 m", Kind.WIDTH)
    assert 1 / to_display(flow_m3s, Kind.BOOM_FLOW, System.SI) == pytest.approx(600, rel=1e-12)


def test_60000_links_litres_per_hectare_km_per_hour_and_centimetres_to_litres_per_minute():
    flow_m3s = one("1 L/ha", Kind.RATE) * one("1 km/h", Kind.SPEED) * one("1 cm", Kind.SPACING)
    assert 1 / to_display(flow_m3s, Kind.TIP_FLOW, System.SI) == pytest.approx(60_000, rel=1e-12)


def test_88_feet_in_a_minute_are_one_mile_in_an_hour():
    assert one("88 ft/min", Kind.SPEED) == pytest.approx(one("1 mph", Kind.SPEED), rel=1e-15)
    # The trade's form: mph = feet x 60 / (seconds x 88).
    assert one("60 ft", Kind.WIDTH) / one("88 s", Kind.TIME) == pytest.approx(
        one("1 mph", Kind.SPEED) * 60 * 60 / 88 / 88
    )


def test_an_acre_is_43560_square_feet_not_the_survey_acre():
    assert one("1 ac", Kind.AREA) == pytest.approx(43_560 * one("1 ft", Kind.WIDTH) ** 2, rel=1e-15)
    assert one("1 ac", Kind.AREA) == pytest.approx(4046.8564224, rel=1e-15)  # the survey acre is 4046.8726
