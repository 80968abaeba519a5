"""Laws of orifice, rows, catches and demand."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.orifice import (
    ISO_SIZES,
    REFERENCE_WATER_KGPM3,
    FlowRows,
    OrificeLaw,
    demand_per_tip_m3s,
    fitted_law,
    law_of_iso_size,
    law_of_us_size,
    rate_at,
    size_number,
    speed_at,
    water_equivalent,
    worn,
)

PRESSURES = st.floats(2e4, 1.2e6)
DENSITIES = st.floats(700.0, 1900.0)
FLOWS = st.floats(1e-6, 2e-4)
RATES = st.floats(1e-6, 1e-4)
SPEEDS = st.floats(0.3, 12.0)
WIDTHS = st.floats(0.1, 2.0)
SIZES = st.sampled_from(sorted(ISO_SIZES))


@st.composite
def orifices(draw):
    size = draw(SIZES)
    return draw(st.sampled_from([law_of_iso_size, law_of_us_size]))(size)


@st.composite
def rows(draw):
    steps = draw(st.lists(st.tuples(st.floats(1.05, 2.5), st.floats(1.02, 1.9)), min_size=1, max_size=6))
    pressures, flows = [draw(st.floats(5e4, 2e5))], [draw(st.floats(2e-6, 5e-5))]
    for pressure_step, flow_step in steps:
        pressures.append(pressures[-1] * pressure_step)
        flows.append(flows[-1] * flow_step)
    return FlowRows(tuple(pressures), tuple(flows), draw(DENSITIES), "drawn")


def inside(law, share):
    """A pressure a share of the way through the rows."""
    low, high = law.pressures_pa[0], law.pressures_pa[-1]
    return low * (high / low) ** share


@given(orifices(), PRESSURES, DENSITIES)
def test_flow_and_pressure_are_each_others_way_back(law, pressure_pa, density_kgpm3):
    there = law.flow_m3s(pressure_pa, density_kgpm3)
    assert law.pressure_pa(there, density_kgpm3) == pytest.approx(pressure_pa, rel=1e-12)


@given(rows(), st.floats(0.0, 1.0), DENSITIES)
def test_the_same_holds_for_rows(law, share, density_kgpm3):
    pressure_pa = inside(law, share)
    there = law.flow_m3s(pressure_pa, density_kgpm3)
    assert law.pressure_pa(there, density_kgpm3) == pytest.approx(pressure_pa, rel=1e-9)


@given(rows(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_pressure_never_gives_less_flow(law, one, other):
    low, high = sorted((one, other))
    assert law.flow_m3s(inside(law, low)) <= law.flow_m3s(inside(law, high)) * (1 + 1e-12)


@given(rows())
def test_rows_are_met_exactly_on_their_own_liquid(law):
    for pressure_pa, flow_m3s in zip(law.pressures_pa, law.flows_m3s, strict=True):
        assert law.flow_m3s(pressure_pa, law.density_kgpm3) == pytest.approx(flow_m3s, rel=1e-12)


@given(orifices() | rows(), st.floats(0.0, 1.0), DENSITIES, DENSITIES)
def test_flow_goes_with_the_root_of_one_over_density(law, share, one, other):
    pressure_pa = inside(law, share) if isinstance(law, FlowRows) else 1e5 * (1 + share)
    ratio = law.flow_m3s(pressure_pa, one) / law.flow_m3s(pressure_pa, other)
    assert ratio == pytest.approx(math.sqrt(other / one), rel=1e-12)


@given(orifices(), st.lists(PRESSURES, min_size=2, max_size=6), DENSITIES)
def test_rows_on_the_square_root_law_are_that_law_between_the_rows(law, pressures, density_kgpm3):
    pressures = sorted(pressures)
    assume(all(after > before * 1.001 for before, after in pairwise(pressures)))
    flows = tuple(law.flow_m3s(p) for p in pressures)
    as_rows = FlowRows(tuple(pressures), flows, REFERENCE_WATER_KGPM3, "from the law")
    middle = math.sqrt(pressures[0] * pressures[-1])
    assert as_rows.flow_m3s(middle, density_kgpm3) == pytest.approx(law.flow_m3s(middle, density_kgpm3), rel=1e-9)


@given(orifices() | rows(), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5))
def test_arrays_give_what_scalars_give(law, shares):
    pressures = np.array([inside(law, s) if isinstance(law, FlowRows) else 1e5 * (1 + s) for s in shares])
    flows = law.flow_m3s(pressures)
    assert isinstance(flows, np.ndarray)
    assert isinstance(law.flow_m3s(float(pressures[0])), float)
    assert flows.tolist() == pytest.approx([law.flow_m3s(float(p)) for p in pressures], rel=1e-15)
    back = [law.pressure_pa(float(q)) for q in flows]
    assert law.pressure_pa(flows).tolist() == pytest.approx(back, rel=1e-14)


@given(orifices() | rows(), st.floats(0.5, 1.6))
def test_wear_scales_flow_and_says_so(law, wear_ratio):
    pressure_pa = inside(law, 0.5) if isinstance(law, FlowRows) else 2e5
    tired = worn(law, wear_ratio)
    assert type(tired) is type(law)
    assert tired.flow_m3s(pressure_pa) == pytest.approx(law.flow_m3s(pressure_pa) * wear_ratio, rel=1e-12)
    assert law.origin in tired.origin
    assert "worn" in tired.origin


@given(RATES, SPEEDS, WIDTHS)
def test_rate_speed_and_flow_close(rate_m3pm2, speed_mps, spacing_m):
    flow = demand_per_tip_m3s(rate_m3pm2, speed_mps, spacing_m)
    assert rate_at(flow, speed_mps, spacing_m) == pytest.approx(rate_m3pm2, rel=1e-14)
    assert speed_at(flow, rate_m3pm2, spacing_m) == pytest.approx(speed_mps, rel=1e-14)


@given(orifices(), PRESSURES, DENSITIES, SPEEDS, WIDTHS)
def test_water_equivalent_is_the_rate_water_would_give_at_the_same_pressure(law, pressure_pa, density, speed, width):
    solution = rate_at(law.flow_m3s(pressure_pa, density), speed, width)
    water = rate_at(law.flow_m3s(pressure_pa), speed, width)
    assert water_equivalent(solution, density) == pytest.approx(water, rel=1e-12)


def test_demand_takes_arrays_beside_scalars():
    speeds = np.array([2.0, 4.0])
    assert demand_per_tip_m3s(1e-5, speeds, 0.5).tolist() == [1e-5, 2e-5]
    assert demand_per_tip_m3s(np.array([1e-5, 2e-5]), speeds, 0.5).tolist() == [1e-5, 4e-5]


@given(
    st.floats(1e-9, 1e-7),
    st.floats(0.3, 0.7),
    st.lists(PRESSURES, min_size=3, max_size=8, unique_by=lambda p: round(math.log(p), 2)),
    DENSITIES,
)
def test_a_fit_returns_the_exponent_that_made_the_catches(coefficient, exponent, pressures, density_kgpm3):
    assume(max(pressures) / min(pressures) > 1.2)
    fit = fitted_law(pressures, [coefficient * p**exponent for p in pressures], density_kgpm3)
    assert fit.exponent == pytest.approx(exponent, abs=1e-6)
    assert fit.exponent_error == pytest.approx(0.0, abs=1e-6)
    if abs(abs(exponent - 0.5) - 0.03) > 1e-5:
        assert fit.exponent_odd == (abs(exponent - 0.5) > 0.03)
    assert fit.origin == "catches"


@given(orifices(), st.lists(PRESSURES, min_size=1, max_size=6), DENSITIES)
def test_a_fit_to_a_square_root_law_is_that_law(law, pressures, density_kgpm3):
    fit = fitted_law(pressures, [law.flow_m3s(p, density_kgpm3) for p in pressures], density_kgpm3)
    assert fit.law.coef_m3spa05 == pytest.approx(law.coef_m3spa05, rel=1e-12)


def test_two_pressures_do_not_condemn_an_exponent():
    fit = fitted_law([1e5, 2e5], [1e-5, 1.8e-5])
    assert fit.exponent is not None
    assert abs(fit.exponent - 0.5) > 0.03
    assert not fit.exponent_odd
    assert fit.exponent_error is None
    assert "three different pressures are needed" in fit.words


def test_one_pressure_says_that_the_law_is_not_tested():
    fit = fitted_law([2e5, 2e5], [1e-5, 1.1e-5])
    assert (fit.exponent, fit.exponent_error, fit.exponent_odd) == (None, None, False)
    assert "not tested" in fit.words


def test_the_standard_error_of_the_exponent_is_scipys():
    from scipy.stats import linregress

    pressures = np.array([1e5, 1.5e5, 2e5, 3e5, 4e5])
    flows = 1e-8 * pressures**0.5 * np.array([1.01, 0.99, 1.0, 1.02, 0.98])
    oracle = linregress(np.log(pressures), np.log(flows))
    fit = fitted_law(pressures.tolist(), flows.tolist())
    assert fit.exponent == pytest.approx(oracle.slope, rel=1e-10)
    assert fit.exponent_error == pytest.approx(oracle.stderr, rel=1e-10)


@pytest.mark.parametrize(("size", "number"), [("01", 1.0), ("015", 1.5), ("025", 2.5), ("10", 10.0), ("0067", 0.67)])
def test_a_decimal_point_belongs_after_the_second_digit(size, number):
    assert size_number(size) == number


@pytest.mark.parametrize("size", ["", "3", "3.0", "00", "-03", "03 ", "blue", "٠٣", "110030"])
def test_a_size_that_cannot_be_read_is_refused_in_a_sentence(size):
    with pytest.raises(NotDefined, match="two to four digits"):
        size_number(size)


def test_the_series_has_thirteen_sizes_and_colours_of_its_own():
    assert len(ISO_SIZES) == 13
    assert len({entry.colour for entry in ISO_SIZES.values()}) == 13
    assert [size_number(s) for s in ISO_SIZES] == sorted(size_number(s) for s in ISO_SIZES)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_a_pressure_or_flow_that_cannot_be_is_refused(bad):
    law = OrificeLaw(1e-7, "test")
    with pytest.raises(OutOfRange, match="pressure at the tip"):
        law.flow_m3s(bad)
    with pytest.raises(OutOfRange, match="flow of a tip"):
        law.pressure_pa(bad)
    with pytest.raises(OutOfRange, match="density"):
        law.flow_m3s(1e5, bad)


def test_nan_in_an_array_means_not_known_and_passes():
    flows = OrificeLaw(1e-7, "test").flow_m3s(np.array([1e4, math.nan]))
    assert flows[0] == pytest.approx(1e-5)
    assert math.isnan(flows[1])
    with pytest.raises(OutOfRange):
        OrificeLaw(1e-7, "test").flow_m3s(np.array([1e4, -1.0]))


@given(rows(), st.floats(1.001, 10.0))
def test_rows_say_nothing_beyond_their_ends(law, factor):
    for outside in (law.pressures_pa[0] / factor, law.pressures_pa[-1] * factor):
        with pytest.raises(OutOfRange, match="measure one more") as caught:
            law.flow_m3s(outside)
        assert (caught.value.low, caught.value.high) == (law.pressures_pa[0], law.pressures_pa[-1])


@pytest.mark.parametrize(
    ("pressures", "flows"),
    [((1e5, 1e5), (1e-5, 2e-5)), ((2e5, 1e5), (1e-5, 2e-5)), ((1e5, 2e5), (2e-5, 1e-5)), ((0.0, 2e5), (1e-5, 2e-5))],
)
def test_rows_that_do_not_rise_are_refused(pressures, flows):
    with pytest.raises(OutOfRange, match="flow row"):
        FlowRows(pressures, flows, 998.2, "bad")


@pytest.mark.parametrize(("pressures", "flows"), [((1e5,), (1e-5,)), ((1e5, 2e5), (1e-5,)), ((), ())])
def test_rows_that_are_no_rows_are_refused(pressures, flows):
    with pytest.raises(ValueError, match="at least two rows"):
        FlowRows(pressures, flows, 998.2, "bad")


def test_at_a_standstill_there_is_no_rate():
    with pytest.raises(OutOfRange, match="standstill"):
        rate_at(1e-5, 0.0, 0.5)
