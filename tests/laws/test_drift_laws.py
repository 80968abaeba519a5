"""What is true of drift whatever the numbers."""

from __future__ import annotations

import pytest
from fluids.drag import v_terminal
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.drift import (
    AIR_KGPM3,
    AIR_PAS,
    WATER_KGPM3,
    carried_m,
    drop_life_s,
    fall_speed_mps,
    mean_sediment_frac,
    sediment_frac,
)

distances = st.floats(1.0, 50.0)
drops = st.floats(20e-6, 1000e-6)
numbers = st.integers(1, 8)


@given(near=distances, far=distances, number=numbers)
def test_less_falls_farther_away(near: float, far: float, number: int) -> None:
    if near < far:
        assert sediment_frac(near, number) > sediment_frac(far, number) > 0.0


@given(near=distances, width=st.floats(0.01, 40.0), number=numbers)
def test_the_mean_over_a_strip_is_the_curve_integrated(near: float, width: float, number: int) -> None:
    far = near + width
    if far <= 50.0:
        area, _ = quad(sediment_frac, near, far, args=(number,), epsabs=0, epsrel=1e-10)
        assert mean_sediment_frac(near, far, number) == pytest.approx(area / width, rel=1e-7)


@given(small=drops, large=drops)
def test_larger_drops_fall_faster_and_drift_less(small: float, large: float) -> None:
    if large > 1.0001 * small:
        assert fall_speed_mps(small) < fall_speed_mps(large)
        assert carried_m(small, 0.5, 3.0) > carried_m(large, 0.5, 3.0)


@pytest.mark.parametrize("micrometres", [30, 50, 100, 200, 400, 700, 1000])
def test_a_drop_falls_as_a_library_of_drag_laws_says(micrometres: int) -> None:
    # fluids: a blend of several published drag laws, none of them ours; they differ by a few per cent.
    size = micrometres * 1e-6
    library = v_terminal(D=size, rhop=WATER_KGPM3, rho=AIR_KGPM3, mu=AIR_PAS)
    assert fall_speed_mps(size) == pytest.approx(library, rel=0.04)


def test_a_very_small_drop_falls_by_the_law_of_stokes_but_for_a_per_cent_or_two() -> None:
    stokes = (20e-6) ** 2 * 9.80665 * (WATER_KGPM3 - AIR_KGPM3) / (18 * AIR_PAS)
    assert 0.97 * stokes < fall_speed_mps(20e-6) < stokes


@given(drop=drops, depression=st.floats(0.1, 30.0))
def test_twice_the_drop_lasts_four_times_as_long(drop: float, depression: float) -> None:
    assert drop_life_s(2 * drop, depression) == pytest.approx(4 * drop_life_s(drop, depression))


@pytest.mark.parametrize("distance", [0.99, 50.01, -1.0, float("nan"), float("inf")])
def test_nothing_is_said_where_nothing_was_measured(distance: float) -> None:
    with pytest.raises(OutOfRange, match="see the label"):
        sediment_frac(distance)


def test_a_strip_that_ends_before_it_begins_and_a_ninth_application_are_refused() -> None:
    with pytest.raises(OutOfRange, match="near side first"):
        mean_sediment_frac(6.0, 5.0)
    with pytest.raises(NotDefined, match="1 to 8"):
        sediment_frac(5.0, 9)
    with pytest.raises(OutOfRange, match="one drop"):
        fall_speed_mps(2e-3)
