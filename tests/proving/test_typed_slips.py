"""A reading held against what is expected of it: what is asked, what is offered, and what is left in peace."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.proving.pressure import PressurePair
from wetrun.proving.pressure_questions import pressure_questions
from wetrun.proving.session_steady import SteadyRead
from wetrun.proving.slips import FLOW_SLIPS, PRESSURE_SLIPS, RATE_SLIPS, SlipKind
from wetrun.proving.steady_questions import BoomFlow, sound_steady, steady_questions
from wetrun.proving.typed_slips import Cell, cell_questions
from wetrun.quantity.registry import registry

BOOM = BoomFlow(3e-3, 3e5)


def ratio(one: str, other: str) -> float:
    return float((registry().Quantity(one) / registry().Quantity(other)).to_base_units().magnitude)


@pytest.mark.parametrize(
    ("slips", "factor"),
    [
        (PRESSURE_SLIPS, ratio("1 bar", "1 psi")),
        (PRESSURE_SLIPS, ratio("1 psi", "1 kPa")),
        (FLOW_SLIPS, ratio("1 gallon / minute", "1 liter / minute")),
        (RATE_SLIPS, ratio("1 gallon / acre", "1 liter / hectare")),
    ],
)
def test_the_slips_of_unit_are_those_of_the_units(slips, factor):
    assert any(slip.factor == pytest.approx(factor, rel=1e-5) for slip in slips)
    assert any(slip.factor == pytest.approx(1.0 / factor, rel=1e-5) for slip in slips)


@given(st.floats(-0.33, 0.33), st.floats(-0.33, 0.33))
def test_what_a_fault_of_a_sprayer_moves_is_not_asked_about(one, other):
    cells = [Cell("1", "cab", 3e5 * exp(one), 3e5), Cell("2", "gauge", 3e5 * exp(other), 3e5)]
    assert cell_questions(cells) == ()


@given(st.sampled_from([10.0, 0.1, 100.0, 0.01]), st.floats(-0.2, 0.2), st.floats(1e-6, 1e6))
def test_a_slipped_point_is_offered_and_the_offer_is_the_reading_without_it(slip, fault, value):
    (question,) = cell_questions([Cell("1", "meter", value * slip * exp(fault), value, FLOW_SLIPS)])
    assert question.kind is SlipKind.DECIMAL
    assert question.offers[0].value == pytest.approx(value * exp(fault))
    assert question.entered == value * slip * exp(fault)


def test_a_reading_twice_off_that_no_slip_explains_is_asked_about_only_if_wished():
    cells = [Cell("1", "meter", 5.0, 1.0)]
    assert [question.kind for question in cell_questions(cells)] == [SlipKind.ODD]
    assert cell_questions(cells, odd=False) == ()


@given(st.floats(0.5, 2.0), st.floats(0.5, 2.0), st.floats(0.8, 1.2))
def test_an_instrument_that_is_off_alike_in_every_row_is_no_swap(one, other, bias):
    cells = [Cell("1", "meter", one * bias, one), Cell("2", "meter", other * bias, other)]
    assert cell_questions(cells) == ()


@given(st.integers(0, 3), st.sampled_from([10.0, 0.1]), st.floats(0.95, 1.05))
def test_one_slip_among_four_readings_is_found_and_only_it_is_left_out(place, slip, bias):
    values = {"meter_m3s": 3e-3 * bias, "cab_pa": 3.3e5, "gauge_pa": 3e5, "tank_m3s": 3e-3}
    field = list(values)[place]
    row = SteadyRead(name="p", **{**values, field: values[field] * slip})
    asked = steady_questions([row], BOOM)
    # A pressure moves by the square of what it stands for: the point of a pressure is still one place.
    assert [question.row for question in asked] == ["p"]
    (sound,) = sound_steady([row], asked)
    assert getattr(sound, field) is None
    assert all(getattr(sound, name) == value for name, value in values.items() if name != field)


def test_of_two_steady_readings_that_disagree_both_are_asked_about_and_of_one_nothing():
    two = SteadyRead(name="p", meter_m3s=3e-2, gauge_pa=3e5)
    assert [question.column for question in steady_questions([two], BOOM)] == ["meter", "gauge"]
    assert steady_questions([SteadyRead(name="p", meter_m3s=3e-2)], BOOM) == ()


def test_two_pairs_of_gauges_tell_nothing_of_each_other():
    pairs = (PressurePair(1, 3e-3, 3.3e5, 3e5), PressurePair(1, 4e-3, 3.3e5, 3e4))
    assert pressure_questions(pairs) == ()
    assert pressure_questions((*pairs, PressurePair(2, 3e-3, 3.3e5, 3e5)))[0].column == "tip"
