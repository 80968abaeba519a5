"""The exact replay on published figures: minimum hold and cap, turns, pulses. Values as printed."""

from __future__ import annotations

import numpy as np
import pytest
from tests.replay_cases import made_setup, made_trace

from wetrun.fieldlog.boom_sections import BoomSections
from wetrun.fieldlog.exact_records import LIMITS
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.replay import ReplayMode
from wetrun.fieldlog.section_rates import section_chunks
from wetrun.spray.limits import Limit
from wetrun.spray.orifice import law_of_us_size
from wetrun.spray.pulse import gap_per_cycle_m, travel_per_cycle_m
from wetrun.spray.response import AT_ONCE

MPH = 1609.344 / 3600
GPA = 231 * 0.0254**3 / (43_560 * 0.3048**2)
PSI = 0.45359237 * 9.80665 / 0.0254**2
SPACING_M = 20 * 0.0254


def size_03_flows():
    """Flow per metre of boom of size 03 tips (US definition), 20 in apart, at 20 and 60 psi."""
    law = law_of_us_size("03")
    return [law.flow_m3s(pressure * PSI) / SPACING_M for pressure in (20, 60)]


def settled_rate(speed_mph: float) -> tuple[float, Limit]:
    """Rate [gal/ac] after half a minute at a speed, and the limit that binds."""
    low, high = size_03_flows()
    trace = made_trace(np.full(150, speed_mph * MPH), np.full(150, 0.2))
    done = exact_replay(trace, made_setup(floor=low, ceiling=high, rate_m3pm2=10 * GPA), ReplayMode.SAME_SPEED)
    return float(done.ratio[-1]) * 10, LIMITS[done.bound[-1]]


@pytest.mark.parametrize(
    ("speed_mph", "printed_gpa", "half_digit", "limit"),
    [(4, 15.75, 0.005, Limit.HOLD), (13, 8.39, 0.005, Limit.CAB_HIGH)],
)
def test_minimum_hold_and_cap_of_a_size_03_at_10_gpa(speed_mph, printed_gpa, half_digit, limit):
    """grdc-13-3 describes the holds; worked example: 20 to 60 psi, 20 in, window 6.30 to 10.91 mph."""
    rate, bound = settled_rate(speed_mph)
    assert rate == pytest.approx(printed_gpa, abs=half_digit)
    assert bound is limit


def test_the_window_between_them():
    """Printed: 6.30 and 10.91 mph, a ratio of 1.732 (grdc-13-3, orifice-law)."""
    low, high = (flow / (10 * GPA) / MPH for flow in size_03_flows())
    assert (low, high) == (pytest.approx(6.30, abs=0.005), pytest.approx(10.91, abs=0.005))
    assert high / low == pytest.approx(1.732, abs=0.0005)


def test_a_turn_of_30_m_under_a_boom_end_15_m_out():
    """Printed: 0.667 outside, 2.0 inside (turn-geometry)."""
    trace = made_trace(np.full(9, 3.0), np.full(9, 0.2), curvature_radpm=np.full(9, 1 / 30))
    done = exact_replay(trace, made_setup(), ReplayMode.SAME_SPEED)
    ends = BoomSections(np.array([-15.0, 15.0]), np.array([1.0, 1.0]))
    ratio = next(section_chunks(done, ends, AT_ONCE)).ratio[-1]
    assert ratio[0] == pytest.approx(0.667, abs=0.0005)
    assert ratio[1] == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize(("error", "printed_radius_m"), [(-0.482, 19.7), (10.58, 20.0)])
def test_published_extremes_in_turns_imply_one_radius(error, printed_radius_m):
    """Printed: -48.2 % and +1058 % over a 36.6 m boom without compensation (fabula-2022): radii of 19.7 to 20.0 m."""
    radius_m = 18.3 / abs(1 / (1 + error) - 1)
    assert radius_m == pytest.approx(printed_radius_m, abs=0.05)
    trace = made_trace(np.full(9, 3.0), np.full(9, 0.2), curvature_radpm=np.full(9, 1 / radius_m))
    ends = BoomSections(np.array([-18.3, 18.3]), np.array([0.1, 0.1]))
    ratio = next(section_chunks(exact_replay(trace, made_setup(), ReplayMode.SAME_SPEED), ends, AT_ONCE)).ratio[-1]
    assert (ratio[0] if error < 0 else ratio[1]) - 1 == pytest.approx(error, rel=1e-9)


def test_ten_pulses_a_second_at_18_kmh():
    """Printed: 0.5 m per cycle, 25 cm of it sprayed at 50 % (grdc-17-3)."""
    assert travel_per_cycle_m(18 / 3.6, 10.0) == pytest.approx(0.5, abs=0.05)
    assert travel_per_cycle_m(18 / 3.6, 10.0) - gap_per_cycle_m(18 / 3.6, 10.0, 0.5) == pytest.approx(0.25, abs=0.005)
