"""Laws of a boom as it hangs: against the closed form, against itself rolled, turned and with tips missing."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.planning.boom_even import EvenQuestion, boom_even
from wetrun.spray.boom_lie import BoomLie, laid_boom
from wetrun.spray.fan_patterns import MeasuredPattern, Trapezoid
from wetrun.spray.fan_source import AngledFan, CaughtFan, TrayRun, effective_width_m, fan_span_m, runs_near
from wetrun.spray.overlap import IN_USE, MODEL_MARGIN_FRAC, Standing, endless_boom_cv_frac

ANGLES = st.sampled_from([math.radians(one) for one in (65.0, 80.0, 110.0)])
HEIGHTS = st.floats(0.35, 1.0)
PRESSURES = st.floats(0.8e5, 6e5)
FLOWS = np.full(60, 2e-5)


@settings(max_examples=25)
@given(ANGLES, HEIGHTS, PRESSURES)
def test_a_long_level_boom_varies_as_the_closed_form_says(angle, height_m, pressure_pa):
    laid = laid_boom(FLOWS, AngledFan(angle, pressure_pa), 0.5, BoomLie(height_m))
    for evenness, width_m in zip(laid.both, fan_span_m(angle, height_m, pressure_pa), strict=True):
        closed = endless_boom_cv_frac(Trapezoid(width_m), 0.5, groove_m=0.1)
        # A tray of grooves that divide the spacing sees one place of the ripple; over all places it is the closed form.
        assert evenness.cv_frac == pytest.approx(closed, abs=0.35 * closed + 0.002)


@given(ANGLES, HEIGHTS, PRESSURES, PRESSURES)
def test_a_fan_is_never_wider_than_its_angle_and_more_pressure_never_narrows_it(angle, height_m, one_pa, other_pa):
    low_pa, high_pa = sorted((one_pa, other_pa))
    least, most = zip(*(fan_span_m(angle, height_m, pa) for pa in (low_pa, high_pa)), strict=True)
    assert most[0] == most[1] == pytest.approx(2.0 * height_m * math.tan(angle / 2.0))
    assert 0.0 < least[0] <= least[1] < most[0]


@settings(max_examples=25)
@given(ANGLES, HEIGHTS, st.floats(0.0, 3.0))
def test_rolled_left_is_rolled_right_seen_from_behind(angle, height_m, roll_deg):
    roll_rad = min(math.radians(roll_deg), (height_m - 0.06) / 15.0)
    fan = AngledFan(angle, 3e5)
    one, other = (laid_boom(FLOWS, fan, 0.5, BoomLie(height_m, roll_rad=sign * roll_rad)) for sign in (1.0, -1.0))
    np.testing.assert_allclose(one.wide.caught_m3s, other.wide.caught_m3s[::-1], atol=1e-18)


@settings(max_examples=25)
@given(ANGLES, HEIGHTS, st.floats(0.0, 15.0))
def test_a_yawed_boom_puts_the_same_flow_on_less_ground(angle, height_m, yaw_deg):
    lie = BoomLie(height_m, yaw_rad=math.radians(yaw_deg))
    laid = laid_boom(FLOWS, AngledFan(angle, 3e5), 0.5, lie)
    assert laid.wide.caught_m3s.sum() == pytest.approx(FLOWS.sum())
    width_m = laid.wide.whole.to_m - laid.wide.whole.from_m
    assert width_m == pytest.approx(30.0 / lie.rate_ratio, abs=0.21)  # whole grooves inside the boom's width


@given(st.floats(0.5, 2.0), st.integers(3, 20))
def test_the_effective_width_of_a_triangle_is_half_its_base(half_m, grooves_each_side):
    groove_m = half_m / grooves_each_side
    rising = [float(place) for place in range(1, grooves_each_side)]
    caught = (*rising, float(grooves_each_side), *reversed(rising))
    found = effective_width_m(MeasuredPattern(caught, groove_m, groove_m * len(caught) / 2.0))
    assert found == pytest.approx(half_m, rel=1e-6)


def tray(height_m=0.5, pressure_pa=3e5):
    """A triangle of 1.4 m at 50 cm, caught in 14 grooves: by hand its catches rise by two from one."""
    caught = (1.0, 3.0, 5.0, 7.0, 9.0, 11.0, 13.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0, 1.0)
    return TrayRun(height_m, pressure_pa, MeasuredPattern(caught, 0.1, 0.7))


def test_a_caught_triangle_lies_as_the_drawn_one_and_is_stretched_no_further_than_half_again():
    caught = laid_boom(FLOWS, CaughtFan((tray(),)), 0.5, BoomLie(0.5))
    drawn = endless_boom_cv_frac(Trapezoid(1.4), 0.5, groove_m=0.1)  # a pattern in grooves is blurred once more
    assert caught.both[0] == caught.both[1]
    assert caught.both[0].cv_frac == pytest.approx(drawn, abs=0.015)
    with pytest.raises(OutOfRange, match="from its tray"):
        laid_boom(FLOWS, CaughtFan((tray(),)), 0.5, BoomLie(0.8))
    with pytest.raises(NotDefined, match="no tray"):
        CaughtFan(())


def test_trays_of_the_nearest_pressure_are_taken():
    runs = (tray(pressure_pa=1.5e5), tray(0.6, pressure_pa=3e5), tray(pressure_pa=3e5))
    assert runs_near(runs, 2.5e5) == runs[1:]
    assert runs_near(runs, 1e5) == runs[:1]


def question(**columns: Any) -> EvenQuestion:
    base: dict[str, Any] = {
        "boom": Boom(spacing_m=0.5, section_tips=(12, 12, 12)),
        "source": AngledFan(math.radians(110.0), 3e5),
    }
    return EvenQuestion(**(base | {"lie": BoomLie(0.5), "limit": IN_USE} | columns))


def test_a_missing_tip_leaves_its_own_hole_and_no_height_mends_it():
    even = boom_even(question(missing=(18,)))
    worst = even.laid.both[1]
    assert even.standing is Standing.BEYOND
    assert worst.least_m == pytest.approx(17 * 0.5, abs=0.11)
    assert all(one.standing is not Standing.WITHIN for one in even.stretches)


def test_the_stretches_are_what_each_height_says_and_near_the_limit_nothing_is_decided():
    even = boom_even(question())
    assert [one.standing for one in even.stretches][-1] is Standing.WITHIN
    assert Standing.UNDECIDED in {one.standing for one in even.stretches}
    for stretch in even.stretches:
        for height_m in (stretch.from_m, stretch.to_m):
            laid = laid_boom(np.ones(36), even.question.source, 0.5, BoomLie(height_m))
            assert laid.standing(IN_USE) is stretch.standing
            worst = max(one.cv_frac for one in laid.both)
            if stretch.standing is Standing.WITHIN:
                assert worst <= IN_USE.cv_frac - MODEL_MARGIN_FRAC


def test_what_does_not_hang_as_the_model_holds_is_refused():
    for lie, words in (
        (BoomLie(0.5, roll_rad=0.2), "roll of the boom"),
        (BoomLie(0.5, yaw_rad=0.4), "yaw of the boom"),
        (BoomLie(0.2, roll_rad=0.02), "height of the lowest tip"),
    ):
        with pytest.raises(OutOfRange, match=words):
            boom_even(question(lie=lie))
    with pytest.raises(OutOfRange, match="missing position"):
        boom_even(question(missing=(37,)))
    with pytest.raises(NotDefined, match="35 catches for 36 positions"):
        boom_even(question(flows_m3s=np.ones(35)))
