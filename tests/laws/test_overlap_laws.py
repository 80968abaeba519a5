"""Laws of stacked patterns: linear, scale-free, symmetric, even by construction, undecided near a limit."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.fan import fan_width_m, height_for_width_m, width_for_overlap_m
from wetrun.spray.fan_patterns import Bell, MeasuredPattern, Trapezoid
from wetrun.spray.overlap import (
    IN_USE,
    NEW_AT_STATED,
    NEW_OVER_RANGE,
    Evenness,
    Standing,
    endless_boom_cv_frac,
    stacked_boom,
    standing_of,
)

WIDTHS = st.floats(0.3, 2.0)
SHARES = st.floats(0.0, 1.0)
TRAPEZOIDS = st.builds(lambda base, share: Trapezoid(base, share * base), WIDTHS, SHARES)
SLOPED = st.builds(lambda base, share: Trapezoid(base, 0.8 * share * base), WIDTHS, SHARES)  # no cliff at the edge
GROOVES = st.lists(st.just(0.0) | st.floats(0.01, 50.0), min_size=1, max_size=16).filter(
    lambda caught: sum(caught) > 1.0
)


def measured(caught, share):
    """A pattern with its tip somewhere over what is wet."""
    wet = np.flatnonzero(caught)
    return MeasuredPattern(tuple(caught), 0.1, 0.1 * (wet[0] + share * (wet[-1] + 1 - wet[0])))


MEASURED = st.builds(measured, GROOVES, st.floats(0.01, 0.99))
PATTERNS = st.one_of(TRAPEZOIDS, st.builds(Bell, st.floats(0.05, 0.5)), MEASURED)
FLOWS = (
    st.lists(st.just(0.0) | st.floats(1e-7, 5e-5), min_size=4, max_size=20)
    .filter(lambda flows: sum(flows) > 1e-6)
    .map(np.array)
)
SPACINGS = st.floats(0.25, 1.0)


@given(PATTERNS)
def test_a_pattern_lands_all_its_spray_and_never_less_further_right(pattern):
    places = np.linspace(-4.0, 4.0, 161)
    left = pattern.frac_left_of(places)
    assert left[0] == pytest.approx(0.0, abs=1e-12)
    assert left[-1] == pytest.approx(1.0, abs=1e-12)
    assert np.all(np.diff(left) >= -1e-12)


@given(st.one_of(TRAPEZOIDS, st.builds(Bell, st.floats(0.05, 0.5))), st.floats(0.0, 2.0))
def test_a_fan_is_symmetric_and_half_of_it_lies_on_either_side(pattern, offset):
    left, right = pattern.frac_left_of(np.array([-offset, offset]))
    assert left + right == pytest.approx(1.0, abs=1e-12)


@given(PATTERNS)
def test_outside_its_width_lands_next_to_nothing(pattern):
    ends = pattern.frac_left_of(np.array([-pattern.half_width_m, pattern.half_width_m]))
    assert ends[0] == pytest.approx(0.0, abs=1.4e-3)
    assert ends[1] == pytest.approx(1.0, abs=1.4e-3)


@given(FLOWS, PATTERNS, SPACINGS)
def test_all_that_is_sprayed_is_caught(flows, pattern, spacing):
    # A bell is cut at three standard deviations and a groove: 0.3 % may be lost.
    caught = stacked_boom(flows, pattern, spacing).caught_m3s
    assert caught.sum() == pytest.approx(flows.sum(), rel=3e-3 if isinstance(pattern, Bell) else 1e-9)
    assert np.all(caught >= -1e-18)


@given(FLOWS, FLOWS, PATTERNS, SPACINGS)
def test_stacking_is_linear(one, other, pattern, spacing):
    count = min(one.size, other.size)
    one, other = one[:count] + 1e-6, other[:count] + 1e-6
    apart = [stacked_boom(flows, pattern, spacing).caught_m3s for flows in (one, other)]
    together = stacked_boom(one + other, pattern, spacing).caught_m3s
    assert together == pytest.approx(apart[0] + apart[1], rel=1e-9, abs=1e-20)


@given(FLOWS, PATTERNS, SPACINGS, st.floats(0.01, 100.0))
def test_evenness_does_not_know_how_much_is_sprayed(flows, pattern, spacing, factor):
    one, two = stacked_boom(flows, pattern, spacing), stacked_boom(factor * flows, pattern, spacing)
    assert two.whole.cv_frac == pytest.approx(one.whole.cv_frac, rel=1e-9)
    assert (two.whole.least_frac, two.whole.most_frac) == pytest.approx((one.whole.least_frac, one.whole.most_frac))
    assert (one.inner is None) == (two.inner is None)


@given(TRAPEZOIDS, st.floats(0.3, 1.0), st.floats(0.0, 0.2), st.floats(0.1, 10.0))
def test_variation_of_an_endless_boom_is_scale_free(pattern, spacing, groove, scale):
    larger = Trapezoid(pattern.base_m * scale, min(pattern.top_m * scale, pattern.base_m * scale))
    one = endless_boom_cv_frac(pattern, spacing, groove_m=groove)
    two = endless_boom_cv_frac(larger, spacing * scale, groove_m=groove * scale)
    assert two == pytest.approx(one, rel=1e-6, abs=1e-9)


@given(PATTERNS, SPACINGS, st.floats(0.01, 0.3))
def test_a_groove_only_ever_smooths(pattern, spacing, groove):
    caught = endless_boom_cv_frac(pattern, spacing, groove_m=groove)
    assert caught <= endless_boom_cv_frac(pattern, spacing) * (1 + 1e-12)


@given(SHARES, st.integers(1, 4), st.floats(0.3, 0.8))
def test_a_fan_whose_half_sum_is_whole_spacings_is_even(share, spacings, spacing):
    """Half of base and top together as wide as one, two … spacings: the slopes of neighbours make up one another."""
    base = 2.0 * spacings * spacing / (1.0 + share)
    assert endless_boom_cv_frac(Trapezoid(base, share * base), spacing) < 1e-6


@given(SLOPED, SPACINGS, st.integers(20, 24))
def test_one_spacing_in_the_middle_of_a_long_boom_is_the_endless_boom(pattern, spacing, tips):
    """Sixty fine grooves over one spacing, from the middle of the boom: their variation is the closed form's."""
    stack = stacked_boom(np.full(tips, 2e-5), pattern, spacing, groove_m=spacing / 60.0)
    middle = stack.caught_m3s.size // 2
    period = stack.caught_m3s[middle : middle + 60]
    assert period.sum() == pytest.approx(2e-5, rel=1e-9)
    endless = endless_boom_cv_frac(pattern, spacing, groove_m=spacing / 60.0)
    assert np.std(period) / np.mean(period) == pytest.approx(endless, abs=0.01 * endless + 2e-3)


@given(st.floats(0.1, 3.0), st.floats(0.2, 2.0))
def test_height_and_width_are_each_others_inverse(angle, height):
    assert height_for_width_m(angle, fan_width_m(angle, height)) == pytest.approx(height, rel=1e-12)


@given(st.floats(0.3, 3.0), st.floats(0.2, 2.0), st.floats(0.5, 0.99))
def test_a_narrower_fan_needs_more_height(angle, width, narrower):
    assert height_for_width_m(angle * narrower, width) > height_for_width_m(angle, width)


def test_a_missing_tip_shows_in_the_middle_and_the_ends_show_only_over_all():
    flows = np.full(25, 2e-5)
    pattern = Trapezoid(1.0)
    whole = stacked_boom(flows, pattern, 0.5)
    assert whole.inner is not None
    assert whole.inner.cv_frac < 1e-9
    assert whole.whole.cv_frac > 0.03
    assert whole.inner.standing(IN_USE) is Standing.WITHIN
    flows[12] = 0.0
    missing = stacked_boom(flows, pattern, 0.5)
    assert missing.inner is not None
    assert missing.inner.least_m == pytest.approx(6.0, abs=0.06)
    assert missing.inner.least_frac < -0.7
    assert missing.inner.standing(IN_USE) is Standing.BEYOND


def test_the_inner_stretch_begins_where_the_next_tips_fan_would_end():
    stack = stacked_boom(np.full(11, 2e-5), Trapezoid(1.2), 0.5)
    assert stack.inner is not None
    assert (stack.inner.from_m, stack.inner.to_m) == pytest.approx((0.1, 4.9))
    assert (stack.whole.from_m, stack.whole.to_m) == pytest.approx((-0.2, 5.2))
    narrow = stacked_boom(np.full(11, 2e-5), Trapezoid(0.3), 0.5)
    assert narrow.inner is not None
    assert narrow.inner.from_m == narrow.whole.from_m
    assert stacked_boom(np.full(2, 2e-5), Trapezoid(2.0), 0.5).inner is None


def test_every_position_may_have_its_own_pattern():
    flows = np.full(15, 2e-5)
    own = [Trapezoid(1.0)] * 15
    assert stacked_boom(flows, own, 0.5).caught_m3s == pytest.approx(stacked_boom(flows, own[0], 0.5).caught_m3s)
    own[7] = Trapezoid(0.4)
    odd = stacked_boom(flows, own, 0.5).inner
    assert odd is not None
    assert odd.most_m == pytest.approx(3.5, abs=0.06)


@pytest.mark.parametrize(
    ("value", "expected"),
    [(0.069, Standing.WITHIN), (0.071, Standing.UNDECIDED), (0.129, Standing.UNDECIDED), (0.131, Standing.BEYOND)],
)
def test_within_three_points_of_a_limit_is_undecided(value, expected):
    assert standing_of(value, 0.10) is expected
    assert Evenness(value, -0.1, 0.1, 0.0, 1.0, 0.0, 9.0, 90).standing(IN_USE) is expected


def test_the_worse_of_variation_and_groove_decides():
    def judged(cv, least, most, limit=IN_USE, **margin):
        return Evenness(cv, least, most, 0.0, 1.0, 0.0, 9.0, 90).standing(limit, **margin)

    assert judged(0.05, -0.16, 0.10) is Standing.WITHIN
    assert judged(0.05, -0.18, 0.10) is Standing.UNDECIDED
    assert judged(0.05, -0.10, 0.24) is Standing.BEYOND
    assert judged(0.08, -0.24, 0.10) is Standing.BEYOND
    assert judged(0.14, -0.10, 0.10) is Standing.BEYOND
    assert judged(0.10, -0.20, 0.20, margin_frac=0.0) is Standing.WITHIN
    assert judged(0.05, -0.50, 0.50, NEW_OVER_RANGE) is Standing.WITHIN
    assert judged(0.05, -0.50, 0.50, NEW_AT_STATED) is Standing.UNDECIDED


def test_bad_patterns_are_refused_in_a_sentence():
    with pytest.raises(OutOfRange, match="even middle of the pattern"):
        Trapezoid(1.0, 1.1)
    with pytest.raises(OutOfRange, match="width of the pattern"):
        Trapezoid(0.0)
    with pytest.raises(OutOfRange, match="spread of the pattern"):
        Bell(-0.1)
    for caught in ((), (0.0, 0.0), (1.0, -1.0), (1.0, math.nan)):
        with pytest.raises(NotDefined, match="grooves hold no amounts"):
            MeasuredPattern(caught, 0.1, 0.1)
    with pytest.raises(OutOfRange, match="stands over its own spray"):
        MeasuredPattern((0.0, 1.0, 1.0, 0.0), 0.1, 0.35)


def test_bad_booms_are_refused_in_a_sentence():
    flows = np.full(5, 2e-5)
    with pytest.raises(OutOfRange, match="spray angle"):
        fan_width_m(math.pi, 0.5)
    with pytest.raises(OutOfRange, match="overlap"):
        width_for_overlap_m(0.5, -0.1)
    with pytest.raises(OutOfRange, match="spacing"):
        endless_boom_cv_frac(Trapezoid(1.0), 0.0)
    with pytest.raises(NotDefined, match="2 patterns for 5 positions"):
        stacked_boom(flows, [Trapezoid(1.0)] * 2, 0.5)
    with pytest.raises(NotDefined, match="is not known"):
        stacked_boom(np.array([1e-5, math.nan]), Trapezoid(1.0), 0.5)
    with pytest.raises(NotDefined, match="is not known"):
        stacked_boom(np.zeros(5), Trapezoid(1.0), 0.5)
    with pytest.raises(OutOfRange, match="flow of a tip"):
        stacked_boom(np.array([1e-5, -1e-5]), Trapezoid(1.0), 0.5)
    with pytest.raises(NotDefined, match="narrower than two grooves, or dry"):
        stacked_boom(np.array([1e-5]), Trapezoid(1.0), 0.15)
