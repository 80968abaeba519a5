"""Clocks with a grain: found where distances do not follow them, left alone where they do."""

from __future__ import annotations

import numpy as np
import pytest
from tests.replay_cases import made_setup, made_trace

from wetrun.fieldlog.boom_sections import whole_boom
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.replay import ReplayMode
from wetrun.fieldlog.section_tally import section_tally
from wetrun.fieldlog.steady_clock import clock_grain, with_even_clock
from wetrun.spray.response import Response


def jittering_log(*, true_clock: bool, count: int = 2000, seed: int = 1):
    """Speed wanders slowly; the clock is late or early by 10 ms at random."""
    rng = np.random.default_rng(seed)
    speed = 4.0 + np.cumsum(rng.normal(0, 0.01, count))
    interval = 0.2 + rng.choice([-0.01, 0.0, 0.01], count)
    distance = speed * (interval if true_clock else 0.2)
    trace = made_trace(distance / interval, interval)
    return trace, speed


def test_distances_of_a_fixed_step_give_the_grain_away():
    trace, speed = jittering_log(true_clock=False)
    grain = clock_grain(trace)
    assert grain is not None
    assert grain.false
    assert grain.followed_ratio == pytest.approx(0.0, abs=0.1)
    assert grain.step_s == pytest.approx(0.2, abs=0.001)
    even = with_even_clock(trace)
    assert even.speed_mps[1:] == pytest.approx(speed[1:], rel=2e-3)
    assert np.abs(trace.speed_mps[1:] / speed[1:] - 1).max() > 0.04
    assert even.area_m2 is trace.area_m2
    assert even.facts.repairs[-1].kind == "clock grain"
    assert even.facts.repairs[-1].count == 1999


def test_a_true_clock_is_believed():
    trace, _ = jittering_log(true_clock=True)
    grain = clock_grain(trace)
    assert grain is not None
    assert grain.followed_ratio == pytest.approx(1.0, abs=0.1)
    assert with_even_clock(trace) is trace


@pytest.mark.parametrize("count", [2, 50])
def test_too_little_is_no_proof(count):
    trace, _ = jittering_log(true_clock=False, count=count)
    assert clock_grain(trace) is None
    assert with_even_clock(trace) is trace


def test_an_even_clock_has_no_grain():
    trace = made_trace(np.full(500, 4.0), np.full(500, 0.2))
    assert with_even_clock(trace) is trace


def test_the_real_log_has_a_grain_and_it_would_be_taken_for_an_error_of_the_rate(real_trace):
    """Seven in a hundred of its area would be called off target for the clock's sake alone."""
    grain = clock_grain(real_trace)
    assert grain is not None
    assert grain.false
    assert abs(grain.followed_ratio) < 0.01
    assert grain.step_s == pytest.approx(0.2, abs=0.0005)
    levels = np.unique(np.rint(real_trace.width_m[np.isfinite(real_trace.speed_mps)] * 100)) / 100
    response = Response(lag_s=0.7, delay_s=0.4)
    setup = made_setup(tuple(levels), response=response)
    shares = []
    for trace in (real_trace, with_even_clock(real_trace)):
        done = exact_replay(trace, setup, ReplayMode.SAME_SPEED)
        tally = section_tally(done, whole_boom(trace), response, tolerance_frac=0.05)
        shares.append(tally.within_cm2 / tally.total_cm2)
    assert shares[1] - shares[0] > 0.05
    assert shares[1] > 0.96
