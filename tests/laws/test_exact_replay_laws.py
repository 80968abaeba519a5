"""Laws of the exact replay: the steady replay as its limit, mass kept, time moved, steps answered by e."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.replay_cases import four_sections, made_setup, made_trace

from wetrun.errors import OutOfRange
from wetrun.fieldlog import dynamics
from wetrun.fieldlog.boom_sections import boom_sections, wet_shares, whole_boom
from wetrun.fieldlog.dynamics import delivered_by_many, delivered_flows
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.replay import ReplayMode, replay
from wetrun.fieldlog.section_tally import error_bins, section_tally
from wetrun.spray.response import AT_ONCE, Response, ShutOff, step_left_ratio

WIDTHS = (6.0, 12.0, 24.0)
EDGES_M = np.linspace(-12.0, 12.0, 5)
RESPONSES = st.builds(
    Response, lag_s=st.floats(0.0, 3.0), delay_s=st.floats(0.0, 2.0), shut_off=st.sampled_from(list(ShutOff))
)
INSTANTS = st.lists(
    st.tuples(st.floats(0.0, 9.0), st.floats(0.05, 1.0), st.sampled_from(WIDTHS), st.booleans()),
    min_size=2,
    max_size=60,
)


def log_of(instants):
    """A log with cuts where the last entry says so (one in two would leave nothing, so only every third counts)."""
    speed, interval, width, cut = (np.array(column) for column in zip(*instants, strict=True))
    return made_trace(speed, np.where(cut & (np.arange(cut.size) % 3 == 0), np.nan, interval), width=width)


@given(INSTANTS, st.floats(0, 6e-5), st.floats(6e-5, 2e-4), st.sampled_from(list(ReplayMode)))
def test_without_lag_delay_and_turn_it_is_the_steady_replay_bit_for_bit(instants, floor, ceiling, mode):
    trace = log_of(instants)
    setup = made_setup(WIDTHS, floor=floor, ceiling=ceiling, gain_ratio=1.03, label_ratio=1.1)
    steady, exact = replay(trace, setup.steady, mode), exact_replay(trace, setup, mode)
    assert exact.ratio.tobytes() == steady.ratio.tobytes()
    assert exact.code.tobytes() == steady.code.tobytes()
    straight = replace(exact, driven=replace(exact.driven, curvature_radpm=np.zeros(trace.time_s.size)))
    for boom in (whole_boom(trace), boom_sections(trace, EDGES_M)):
        tally = section_tally(straight, boom, AT_ONCE, tolerance_frac=0.05, label_ratio=1.1)
        assert tally.total_cm2 == steady.total_cm2
        assert tally.over_label_cm2 == int(steady.over_label_cm2.sum())
        assert tally.within_cm2 == int(steady.instant_cm2[np.abs(steady.ratio - 1) <= 0.05].sum())


@given(RESPONSES, st.floats(0.5, 9.0), st.integers(2, 40))
def test_at_constant_speed_the_rate_is_right_to_the_last_bit(response, speed, count):
    trace = made_trace(np.full(count, speed), np.linspace(0.1, 0.4, count))
    exact = exact_replay(
        trace, made_setup(response=replace(response, shut_off=ShutOff.PRESSURE)), ReplayMode.SAME_SPEED
    )
    if response.delay_s == 0.0:
        assert (exact.ratio[1:] == 1.0).all()
    assert exact.ratio[1:] == pytest.approx(1.0, abs=1e-12)


@given(st.floats(0.05, 3.0), st.floats(0.0, 2.0), st.lists(st.floats(0.5, 9.0), min_size=1, max_size=30))
def test_what_was_asked_comes_out_in_the_end(lag, delay, speeds):
    """Mass balance: after the asking has stood still long enough, volume delivered = volume asked, shifted by the lag.

    The integral of order less delivered is the step from first to last order times lag and delay together.
    """
    orders = np.array([speeds[0], *speeds, *[speeds[-1]] * 200])
    clock = np.cumsum(np.full(orders.size, 0.3))
    interval = np.diff(clock, prepend=np.nan)
    flow = delivered_flows(
        clock, interval, orders, np.full(orders.size, np.inf), response=Response(lag_s=lag, delay_s=delay)
    )
    missing = np.nansum((orders[1:] - flow[1:]) * interval[1:])
    assert missing == pytest.approx((orders[-1] - orders[1]) * (lag + delay), abs=1e-7)


@given(RESPONSES, INSTANTS, st.floats(-1e5, 1e5))
def test_another_clock_changes_nothing(response, instants, shift):
    trace = log_of(instants)
    setup = made_setup(WIDTHS, floor=2e-5, ceiling=1e-4, supply=9e-5, response=response)
    here = exact_replay(trace, setup, ReplayMode.SAME_SPEED)
    there = exact_replay(replace(trace, time_s=trace.time_s + shift), setup, ReplayMode.SAME_SPEED)
    assert here.ratio == pytest.approx(there.ratio, rel=1e-6, nan_ok=True)


@given(st.floats(0.1, 3.0), st.floats(0.0, 2.0), st.lists(st.floats(0.02, 0.7), min_size=5, max_size=60))
def test_a_step_is_answered_by_e_however_uneven_the_clock(lag, delay, intervals):
    """Volume missing since the step is the integral of what is left of it: (delay + lag (1 - e^(-t/lag)))."""
    response = Response(lag_s=lag, delay_s=delay)
    interval = np.array([np.nan, 1.0, *intervals])
    clock = np.cumsum(np.nan_to_num(interval))
    order = np.where(np.arange(clock.size) < 2, 1.0, 2.0)
    flow = delivered_flows(clock, interval, order, np.full(order.size, np.inf), response=response)
    missing = np.cumsum((2.0 - flow[2:]) * interval[2:])
    for after, gone in zip(clock[2:] - clock[1], missing, strict=True):
        moving = max(after - delay, 0.0)
        assert gone == pytest.approx(min(after, delay) + lag * (1 - math.exp(-moving / lag)), abs=1e-9)
    assert step_left_ratio(response, delay + lag) == pytest.approx(math.exp(-1))


@given(RESPONSES, INSTANTS)
def test_the_supply_is_never_passed_and_the_order_s_range_never_left(response, instants):
    trace = log_of(instants)
    setup = made_setup(
        WIDTHS, floor=3e-5, ceiling=9e-5, supply=8e-5, response=replace(response, shut_off=ShutOff.PRESSURE)
    )
    flow = exact_replay(trace, setup, ReplayMode.SAME_SPEED).delivered_m2ps
    known = flow[np.isfinite(flow)]
    assert (known <= 8e-5 * (1 + 1e-12)).all()
    assert (known >= 3e-5 * (1 - 1e-12)).all()


@given(RESPONSES, INSTANTS)
def test_a_cut_starts_afresh(response, instants):
    """What comes after a cut does not know what was before it."""
    trace = log_of(instants)
    clock, interval, order = trace.time_s, trace.interval_s, trace.speed_mps
    supply = np.full(order.size, np.inf)
    whole = delivered_flows(clock, interval, order, supply, response=response)
    starts = [*np.flatnonzero(np.isnan(interval)).tolist(), order.size]
    for start, end in pairwise(starts):
        part = slice(start, end)
        alone = delivered_flows(clock[part], interval[part], order[part], supply[part], response=response)
        assert whole[part].tobytes() == alone.tobytes()


@given(RESPONSES, INSTANTS)
def test_compiled_and_plain_agree(response, instants):
    trace = log_of(instants)
    columns = trace.time_s, trace.interval_s, trace.speed_mps, np.full(trace.time_s.size, 5.0)
    plain = delivered_flows(*columns, response=response)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(dynamics, "FEW_INSTANTS", 0)
        compiled = delivered_flows(*columns, response=response)
    assert compiled == pytest.approx(plain, rel=1e-13, nan_ok=True)


@given(st.lists(RESPONSES, min_size=1, max_size=4), INSTANTS, st.booleans())
def test_many_machines_at_once_are_each_of_them_to_the_bit(responses, instants, orders_of_their_own):
    trace = log_of(instants)
    interval, count = trace.interval_s, len(responses)
    orders = np.array([trace.speed_mps * (1 + n) for n in range(count if orders_of_their_own else 1)])
    lags, delays = (np.array([getattr(one, name) for one in responses]) for name in ("lag_s", "delay_s"))
    at_once = delivered_by_many(trace.time_s, interval, orders, lags_s=lags, delays_s=delays)
    supply = np.full(interval.size, np.inf)
    for row, response in enumerate(responses):
        order = orders[row if orders_of_their_own else 0]
        alone = delivered_flows(trace.time_s, interval, order, supply, response=response, often=True)
        assert at_once[row].tobytes() == alone.tobytes()


def test_a_boom_that_keeps_its_flow_overdoses_what_is_left_when_a_section_shuts():
    """Half the boom shuts at once: all the flow goes through the other half until the lag has caught up."""
    width = np.where(np.arange(40) < 10, 24.0, 12.0)
    trace = made_trace(np.full(40, 4.0), np.full(40, 0.2), width=width)
    ratio = {
        kind: exact_replay(
            trace, made_setup((12.0, 24.0), response=Response(lag_s=1.0, shut_off=kind)), ReplayMode.SAME_SPEED
        ).ratio
        for kind in ShutOff
    }
    assert ratio[ShutOff.PRESSURE][1:] == pytest.approx(1.0)
    # Mean over the first interval of 1 + e^-t: 1 + (1 - e^-0.2) / 0.2.
    assert ratio[ShutOff.FLOW][10] == pytest.approx(1 + (1 - math.exp(-0.2)) / 0.2)
    assert ratio[ShutOff.FLOW][-1] == pytest.approx(1.0, abs=0.01)


def test_a_turn_is_shared_out_by_what_each_section_sweeps():
    """R = 30 m, sections at 3 and 9 m either side: they sweep 0.7, 0.9, 1.1 and 1.3 of the middle."""
    count = 50
    trace = made_trace(np.full(count, 4.0), np.full(count, 0.2), curvature_radpm=np.full(count, 1 / 30))
    exact = exact_replay(trace, made_setup(), ReplayMode.SAME_SPEED)
    tally = section_tally(exact, boom_sections(trace, EDGES_M), AT_ONCE, tolerance_frac=0.05)
    total = tally.total_cm2
    assert total == exact.total_cm2  # the mean of the swept widths is the middle's
    # 1/0.7 = 1.43, 1/0.9 = 1.11, 1/1.1 = 0.91 and 1/1.3 = 0.77, on 0.7, 0.9, 1.1 and 1.3 of a quarter each.
    assert (tally.error_cm2 / total).tolist() == pytest.approx([0.325, 0, 0.275, 0, 0, 0, 0, 0.225, 0.175], abs=1e-5)
    assert tally.within_cm2 == 0


def test_a_section_that_opens_late_leaves_dry_ground_and_one_that_shuts_late_sprays_twice():
    """Section 1 of 6 m is off for instants 10 to 19; 0.5 s late at 4 m/s is 2 m, 0.3 s is 1.2 m."""
    on = np.where((np.arange(40) >= 10) & (np.arange(40) < 20), 0b1110, 0b1111)
    width = np.where(on == 0b1111, 24.0, 18.0)
    trace = made_trace(np.full(40, 4.0), np.full(40, 0.2), width=width, sections_on=on, sections=four_sections())
    response = Response(open_s=0.5, close_s=0.3)
    exact = exact_replay(trace, made_setup((18.0, 24.0), response=response), ReplayMode.SAME_SPEED)
    tally = section_tally(exact, boom_sections(trace, EDGES_M), response, tolerance_frac=0.05)
    start = 24 * 0.5 * 4  # the whole boom opens after the cut before the first instant
    assert tally.dry_cm2 == round((start + 6 * 2.0) * 1e4)
    assert tally.over_spray_cm2 == round(6 * 1.2 * 1e4)
    assert tally.error_cm2[0] == tally.dry_cm2
    assert tally.error_cm2[4] == tally.total_cm2 - tally.dry_cm2
    assert wet_shares(trace, boom_sections(trace, EDGES_M), AT_ONCE) is None


def test_own_distances_of_sections_stand_before_the_track_s_curvature():
    swing = np.tile(np.array([0.8, 0.9, 1.1, 1.2], dtype=np.float32), (20, 1))
    columns = {"sections_on": np.full(20, 15), "sections": four_sections(), "curvature_radpm": np.full(20, 0.01)}
    trace = made_trace(np.full(20, 4.0), np.full(20, 0.2), swing_ratio=swing, **columns)
    tally = section_tally(
        exact_replay(trace, made_setup(), ReplayMode.SAME_SPEED),
        boom_sections(trace, EDGES_M),
        AT_ONCE,
        tolerance_frac=0.15,
    )
    assert tally.within_cm2 / tally.total_cm2 == pytest.approx(0.5, abs=1e-4)  # 1/0.8 and 1/1.2 are out, 0.9 and 1.1 in


@pytest.mark.parametrize("wrong", [{"lag_s": -1.0}, {"delay_s": math.inf}, {"open_s": math.nan}])
def test_a_time_that_cannot_be_is_refused(wrong):
    with pytest.raises(OutOfRange):
        Response(**wrong)
    with pytest.raises(OutOfRange):
        step_left_ratio(AT_ONCE, -1.0)


@given(st.floats(-1.0, 3.0))
def test_the_middle_bin_holds_what_is_right_and_its_edges(error):
    assert (error_bins(np.array([error]))[0] == 4) == (abs(error) <= 0.025)


def test_the_error_bins_are_symmetric():
    errors = np.array([0.0, 0.025, 0.03, 0.05, 0.07, 0.1, 0.15, 0.2, 0.9])
    assert (error_bins(errors) + error_bins(-errors)).tolist() == [8] * 9
