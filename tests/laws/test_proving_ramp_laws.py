"""Laws of step fits, of sections on the ground and of a day's plan."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetrun.proving.day_model import UNPROVED, DayMachine, Doubt, work_loads
from wetrun.proving.dayplan import day_plan
from wetrun.proving.movement import movement
from wetrun.proving.ramp_check import worst
from wetrun.proving.ramp_ends import FlowPoint, flow_ends
from wetrun.proving.ramp_fit import first_order_response
from wetrun.proving.response import Response
from wetrun.proving.section_timing import Antenna, Delay, edge_at, wanted_ahead_s
from wetrun.proving.uncertainty import Verdict
from wetrun.spray.controller import Loop
from wetrun.spray.pulse import DutySource

LAGS = st.floats(0.3, 3.0)
DELAYS = st.floats(0.0, 2.0)
TIMES = np.arange(-2.0, 30.0, 0.25)


def there(found):
    assert found is not None
    return found


@given(lag_s=LAGS, slower=st.floats(1.01, 5.0), delay_s=DELAYS, more_s=st.floats(0.0, 5.0))
def test_a_slower_or_later_controller_settles_later(lag_s, slower, delay_s, more_s):
    quick = Response(before=10.0, after=20.0, delay_s=delay_s, lag_s=lag_s)
    slow = Response(before=10.0, after=20.0, delay_s=delay_s + more_s, lag_s=lag_s * slower)
    assert slow.settling_s() > quick.settling_s()


@given(lag_s=LAGS, slower=st.floats(1.3, 2.0), delay_s=DELAYS)
@settings(max_examples=15, deadline=None)
def test_a_slower_controller_is_seen_to_settle_later_in_its_log(lag_s, slower, delay_s):
    def seen(lag):
        true = Response(before=10.0, after=20.0, delay_s=delay_s, lag_s=lag)
        return movement(TIMES, [true.at(t) for t in TIMES])

    quick, slow = seen(lag_s), seen(lag_s * slower)
    gap = 0.25
    assert slow.settling_s >= quick.settling_s
    assert abs(quick.settling_s - Response(before=10.0, after=20.0, delay_s=delay_s, lag_s=lag_s).settling_s()) <= gap
    assert quick.overshoot_frac == pytest.approx(0.0, abs=1e-6)


@given(lag_s=LAGS, delay_s=DELAYS, band=st.floats(0.01, 0.2), wider=st.floats(1.1, 3.0))
def test_a_wider_band_is_reached_no_later_and_the_value_then_lies_on_its_edge(lag_s, delay_s, band, wider):
    found = Response(before=10.0, after=20.0, delay_s=delay_s, lag_s=lag_s)
    assert found.settling_s(band * wider) <= found.settling_s(band)
    assert abs(found.at(found.settling_s(band)) - 20.0) == pytest.approx(band * 20.0, rel=1e-6)


@given(scale=st.floats(1e-6, 1e6), shift=st.floats(-5.0, 5.0), lag_s=LAGS, delay_s=DELAYS)
@settings(max_examples=15, deadline=None)
def test_delay_and_lag_do_not_depend_on_the_unit_or_zero_of_the_reading(scale, shift, lag_s, delay_s):
    true = Response(before=1.0, after=2.0, delay_s=delay_s, lag_s=lag_s)
    rough = np.array([true.at(t) for t in TIMES]) + 0.01 * np.sin(37.0 * TIMES)
    one = there(first_order_response(TIMES, rough))
    other = there(first_order_response(TIMES, scale * (rough + shift)))
    assert (other.delay_s, other.lag_s) == pytest.approx((one.delay_s, one.lag_s), rel=1e-3, abs=1e-3)


@given(scale=st.floats(1e-3, 1e3), noise=st.lists(st.floats(-0.02, 0.02), min_size=5, max_size=5))
def test_ends_scale_with_the_unit_and_do_not_depend_on_order(scale, noise):
    demands = [2.0, 3.0, 5.0, 8.0, 9.0]
    flows = [min(max(d, 3.4), 8.2) * (1.0 + e) for d, e in zip(demands, noise, strict=True)]
    points = [FlowPoint(d, q, 0.02 * q) for d, q in zip(demands, flows, strict=True)]
    scaled = [FlowPoint(p.demand_m3s * scale, p.flow_m3s * scale, p.standard_m3s * scale) for p in reversed(points)]
    one, other = flow_ends(points), flow_ends(scaled)
    for ours, theirs in ((one.floor, other.floor), (one.ceiling, other.ceiling)):
        assert (ours is None) == (theirs is None)
        if ours is not None:
            assert there(theirs).flow_m3s == pytest.approx(ours.flow_m3s * scale)
            assert there(theirs).steps == ours.steps


@given(verdicts=st.lists(st.sampled_from(list(Verdict)), max_size=6))
def test_a_whole_is_no_better_than_its_worst_part(verdicts):
    found = worst(verdicts)
    assert found is worst(reversed(verdicts))
    assert (found is Verdict.PASS) == (bool(verdicts) and set(verdicts) == {Verdict.PASS})
    assert (found is Verdict.FAIL) == (Verdict.FAIL in verdicts)


SPEEDS = st.floats(1.0, 10.0)
SECONDS = st.floats(0.0, 3.0)
OFFSETS = st.floats(-5.0, 5.0)


@given(speed_mps=SPEEDS, timed_s=SECONDS, ahead_s=SECONDS, taped_m=OFFSETS, typed_m=OFFSETS)
def test_the_wanted_look_ahead_puts_the_edge_on_the_line(speed_mps, timed_s, ahead_s, taped_m, typed_m):
    antenna, delay = Antenna(taped_m, typed_m), Delay(timed_s=(timed_s,), ahead_s=ahead_s)
    wanted_s = wanted_ahead_s(delay, antenna, speed_mps)
    if wanted_s >= 0.0:
        mended = Delay(timed_s=(timed_s,), ahead_s=wanted_s)
        assert edge_at(speed_mps, mended, antenna).late_m == pytest.approx(0.0, abs=1e-9)
    right = edge_at(speed_mps, Delay(timed_s=(timed_s,), ahead_s=timed_s), Antenna(taped_m, taped_m))
    assert right.late_m == 0.0


@given(slow_mps=SPEEDS, quicker=st.floats(1.1, 2.0), timed_s=SECONDS)
def test_the_same_delay_is_less_sure_on_the_ground_the_faster_it_is_driven(slow_mps, quicker, timed_s):
    delay, antenna = Delay(timed_s=(timed_s,), ahead_s=0.5), Antenna(2.0, 2.0)
    slow, fast = (edge_at(speed, delay, antenna) for speed in (slow_mps, slow_mps * quicker))
    assert fast.expanded_m > slow.expanded_m
    assert fast.late_m == pytest.approx(slow.late_m * quicker)


MACHINES = st.builds(
    DayMachine,
    loop=st.sampled_from(list(Loop)),
    tips=st.integers(6, 120),
    boom_flow_m3s=st.floats(1e-4, 5e-3),
    duty_from=st.sampled_from(list(DutySource)),
    has_meter=st.booleans(),
    jugs=st.integers(1, 12),
    tip_spread_frac=st.floats(0.0, 0.1),
)
HOURS = st.floats(0.0, 10_800.0)
NEARLY = 1.0 + 1e-8


@given(machine=MACHINES, time_s=HOURS, more_s=HOURS)
@settings(max_examples=40, deadline=None)
def test_more_minutes_are_never_worse(machine, time_s, more_s):
    short, long = day_plan(machine, time_s), day_plan(machine, time_s + more_s)
    assert long.after_frac <= short.after_frac * NEARLY
    assert short.time_s <= time_s
    assert short.after_frac <= short.before_frac * NEARLY


@given(machine=MACHINES, time_s=HOURS, water_m3=st.floats(0.0, 10.0), more_m3=st.floats(0.0, 10.0))
@settings(max_examples=40, deadline=None)
def test_more_water_is_never_worse(machine, time_s, water_m3, more_m3):
    little = day_plan(machine, time_s, water_m3=water_m3)
    much = day_plan(machine, time_s, water_m3=water_m3 + more_m3)
    assert much.after_frac <= little.after_frac * NEARLY
    assert little.water_m3 <= water_m3


@given(machine=MACHINES, time_s=HOURS, doubt=st.sampled_from(list(Doubt)), share=st.floats(0.1, 1.0))
@settings(max_examples=40, deadline=None)
def test_a_machine_known_better_ends_no_more_doubtful(machine, time_s, doubt, share):
    known = day_plan(machine, time_s, unproved={doubt: UNPROVED[doubt] * share})
    assert known.after_frac <= day_plan(machine, time_s).after_frac * NEARLY


@given(machine=MACHINES)
@settings(max_examples=20, deadline=None)
def test_what_no_test_spoke_of_has_all_the_variance_when_there_is_no_time(machine):
    plan = day_plan(machine, 0.0)
    assert plan.tests == ()
    assert plan.after_frac == plan.before_frac
    assert sum(one.share_frac for one in plan.unproven) == pytest.approx(1.0)
    offered = {load.test for load in work_loads(machine)}
    assert all(set(one.proved_by) <= offered for one in plan.unproven)
