"""Laws of a boom in a turn: what compensation can and cannot do, and the areas of a log against a plain walk."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.replay_cases import FULL_WIDTH_M, made_trace

from wetrun.errors import OutOfRange
from wetrun.fieldlog.boom_sections import BoomSections
from wetrun.fieldlog.turn_areas import turn_areas
from wetrun.machine.boom import Boom
from wetrun.planning.boom_turn import tip_offsets_m
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.turn_across import (
    FlowReach,
    TurnCompensation,
    least_radius_m,
    reach_of_duty,
    turn_across,
)

SECTIONS = st.lists(st.integers(1, 14), min_size=1, max_size=9)
RADII = st.floats(2.0, 400.0)
DUTIES = st.floats(0.21, 0.99)
PULSE = PulseSetting(frequency_hz=10.0, set_pressure_pa=3e5)


@given(SECTIONS, RADII)
def test_a_tip_that_can_have_any_flow_gets_its_rate_in_any_turn(sections, radius_m):
    offsets = tip_offsets_m(Boom(spacing_m=0.5, section_tips=tuple(sections)))
    across = turn_across(offsets, radius_m, compensation=TurnCompensation.TIP)
    np.testing.assert_allclose(across.rate_ratio, 1.0, rtol=1e-12)
    assert not across.bound.any()


@given(SECTIONS, RADII)
def test_sections_pass_on_the_whole_what_their_ground_asks_for(sections, radius_m):
    offsets = tip_offsets_m(Boom(spacing_m=0.5, section_tips=tuple(sections)))
    across = turn_across(offsets, radius_m, compensation=TurnCompensation.SECTION, section_tips=sections)
    begins = np.cumsum([0, *sections[:-1]])
    np.testing.assert_allclose(
        np.add.reduceat(across.flow_ratio, begins), np.add.reduceat(across.speed_ratio, begins), rtol=1e-12
    )


@given(SECTIONS, st.floats(0.3, 3.0), DUTIES)
def test_the_least_radius_is_where_a_tip_first_wants_what_it_cannot_get(sections, share, duty):
    offsets = tip_offsets_m(Boom(spacing_m=0.5, section_tips=(*sections, 1)))
    reach = reach_of_duty(PULSE, duty)
    least_m = least_radius_m(float(offsets[-1]), reach)
    across = turn_across(offsets, share * least_m, compensation=TurnCompensation.TIP, reach=reach)
    if abs(share - 1.0) > 1e-6:
        assert across.bound.any() == (share < 1.0)
    if share >= 1.0:
        np.testing.assert_allclose(across.rate_ratio, 1.0, rtol=1e-9)


def test_by_hand_a_boom_of_36_m_at_80_per_cent_duty():
    """Outer end at 30 m: 1.6 times the speed, 1.25 times the flow; inner: 0.4 of the speed, the flow follows."""
    reach = reach_of_duty(PULSE, 0.8)
    across = turn_across(np.array([18.0, -18.0]), 30.0, compensation=TurnCompensation.TIP, reach=reach)
    assert across.rate_ratio.tolist() == pytest.approx([1.25 / 1.6, 1.0])
    assert across.bound.tolist() == [True, False]
    assert across.under_frac(0.1) == pytest.approx(1.6 / 2.0)
    assert least_radius_m(18.0, FlowReach(0.5, 1.0)) == math.inf


def test_sections_that_do_not_hold_all_tips_are_refused():
    with pytest.raises(OutOfRange, match="tips in all sections"):
        turn_across(np.zeros(4), 30.0, compensation=TurnCompensation.SECTION, section_tips=(3,))


def plain_areas(bend, way_m, way, reach):
    """One straight walk, in plain Python: half-metre strips of four sections of 6 m on a boom of 24 m."""
    total = over = under = 0
    for k, step in zip(bend, way_m, strict=True):
        for section in range(4):
            middle = -9.0 + 6.0 * section
            for strip in range(12):
                place = middle - 3.0 + 0.25 + 0.5 * strip
                speed, of_section = abs(1.0 - place * k), abs(1.0 - middle * k)
                flow = {"none": 1.0, "section": of_section, "tip": speed}[way]
                if reach is not None and way != "none":
                    flow = min(max(flow, reach[0]), reach[1])
                area = round(step * speed * 0.5 * 10_000)
                total += area
                over += area if speed and flow / speed > 1.1 else 0
                under += area if speed and flow / speed < 0.9 else 0
    return total, over, under


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.floats(-0.12, 0.12), min_size=2, max_size=8),
    st.sampled_from(TurnCompensation),
    st.sampled_from([None, (0.25, 1.25), (0.5, 1.1)]),
)
def test_the_areas_of_a_log_are_those_of_a_plain_walk(bends, way, reach):
    bend = np.array(bends)
    trace = made_trace(np.full(bend.size, 4.0), np.full(bend.size, 0.2), curvature_radpm=bend)
    boom = BoomSections(np.array([-9.0, -3.0, 3.0, 9.0]), np.full(4, 6.0))
    limits = None if reach is None else (np.full(bend.size, reach[0]), np.full(bend.size, reach[1]))
    found = turn_areas(trace, boom, way, reach_ratio=limits)
    total, over, under = plain_areas(bends[1:], [0.8] * (bend.size - 1), way.value, reach)
    assert FULL_WIDTH_M == 24.0
    rounding = 0.5 * 48 * bend.size
    assert (found.total_cm2, found.over_cm2, found.under_cm2) == pytest.approx((total, over, under), abs=rounding)
    assert found.straight_cm2 == 0


def test_ground_without_a_curvature_counts_as_straight_and_is_told():
    trace = made_trace(np.full(5, 4.0), np.full(5, 0.2))
    boom = BoomSections(np.array([0.0]), np.array([24.0]))
    found = turn_areas(trace, boom)
    assert found.off_frac == 0.0
    assert found.straight_cm2 == found.total_cm2 > 0
