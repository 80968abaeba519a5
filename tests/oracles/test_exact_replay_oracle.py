"""The exact replay against a solver of differential equations, and against fine steps in plain Python."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from tests.replay_cases import RATE_M3PM2, four_sections, made_setup, made_trace

from wetrun.fieldlog.boom_sections import boom_sections
from wetrun.fieldlog.dynamics import delivered_flows
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.replay import ReplayMode
from wetrun.fieldlog.section_tally import section_tally
from wetrun.fieldlog.worst_places import worst_places
from wetrun.spray.response import Response, ShutOff

EDGES_M = np.linspace(-12.0, 12.0, 5)


def order_at(clock, order, second):
    """The order standing at a moment: that of the interval it lies in, the first one before them all."""
    place = min(max(int(np.searchsorted(clock, second, side="left")), 1), clock.size - 1)
    return order[place]


def slope(_: float, state: np.ndarray, wanted: float, lag: float) -> list[float]:
    """Of the flow, and of the volume put out."""
    return [(wanted - state[0]) / lag, state[0]]


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.floats(0.5, 5.0), st.floats(0.05, 0.8)), min_size=2, max_size=12),
    st.floats(0.05, 2.0),
    st.floats(0.0, 1.5),
)
def test_delivered_volume_is_that_of_the_differential_equation(instants, lag, delay):
    """q' = (order(t - delay) - q) / lag, solved piece by piece by a Runge-Kutta method of order eight."""
    order, interval = (np.array(column) for column in zip(*instants, strict=True))
    interval = np.concatenate([[np.nan], interval])
    order = np.concatenate([[np.nan], order])
    clock = np.cumsum(np.nan_to_num(interval))
    found = delivered_flows(
        clock, interval, order, np.full(order.size, np.inf), response=Response(lag_s=lag, delay_s=delay)
    )
    switches = sorted({0.0, *clock.tolist(), *(clock[:-1] + delay).tolist()})
    ends = [second for second in switches if second <= clock[-1]]
    state, volume_at = [order[1], 0.0], {0.0: 0.0}
    for start, end in pairwise(ends):
        if end > start:
            wanted = order_at(clock, order, (start + end) / 2 - delay)
            solved = solve_ivp(
                slope, (start, end), state, args=(float(wanted), lag), method="DOP853", rtol=1e-11, atol=1e-12
            )
            state = solved.y[:, -1].tolist()
        volume_at[end] = state[1]
    expected = [(volume_at[b] - volume_at[a]) / (b - a) for a, b in pairwise(clock)]
    assert found[1:] == pytest.approx(expected, rel=1e-7)


def flow_by_hand(trace, setup):
    """Delivered over wanted at every instant, in steps of half a millisecond."""
    response, steady, step = setup.response, setup.steady, 0.0005
    levels = steady.levels_m.tolist()
    flow, orders, ratios = None, [], [math.nan]
    for i in range(1, trace.time_s.size):
        start, end = float(trace.time_s[i - 1]), float(trace.time_s[i])
        level = levels.index(float(trace.width_m[i]))
        demand = float(trace.speed_mps[i]) * RATE_M3PM2
        scale = float(trace.width_m[i]) if response.shut_off is ShutOff.FLOW else 1.0
        orders.append((start, min(max(demand, steady.floor_m2ps[level]), steady.ceiling_m2ps[level]) * scale))
        flow = orders[0][1] if flow is None else flow
        most = setup.supply_m2ps[level] * scale
        count = max(round((end - start) / step), 1)
        span, volume = (end - start) / count, 0.0
        for piece in range(count):
            moment = start + (piece + 0.5) * span - response.delay_s
            standing = next((value for begun, value in reversed(orders) if begun <= moment), orders[0][1])
            before = min(flow, most)
            flow = min(standing + (before - standing) * math.exp(-span / response.lag_s), most)
            volume += (before + flow) / 2 * span
        ratios.append(volume / (end - start) / scale / demand)
    return ratios


def driven_by_hand(trace, setup, edges, label):
    """Areas [m2] by rate error, then dry, sprayed twice and over the label: section after section, switch by switch."""
    response, ratios = setup.response, flow_by_hand(trace, setup)
    areas, others = [0.0] * 9, [0.0] * 3
    for place, (left, right) in enumerate(pairwise(edges)):
        lit_before, switched = None, float(trace.time_s[0])
        for i in range(1, trace.time_s.size):
            start, end = float(trace.time_s[i - 1]), float(trace.time_s[i])
            lit = bool(trace.sections_on[i] >> place & 1)
            switched = start if lit_before not in {None, lit} else switched
            swing = abs(1 - (left + right) / 2 * float(trace.curvature_radpm[i]))
            ground, error = 6.0 * swing * float(trace.distance_m[i]), ratios[i] / swing - 1
            late = (end - switched - response.open_s) if lit else (switched + response.close_s - start)
            wet = ground * min(max(late / (end - start), 0.0), 1.0)
            if lit:
                steps = sum(abs(error) > edge for edge in (0.025, 0.05, 0.1, 0.2))
                areas[4 + (steps if error > 0 else -steps)] += wet
                areas[0] += ground - wet
                others[0] += ground - wet
                others[2] += wet if error + 1 > label else 0.0
            else:
                others[1] += wet
            lit_before = lit
    return np.array(areas), *others


@pytest.mark.parametrize("shut_off", list(ShutOff))
@pytest.mark.parametrize("seed", range(4))
def test_the_whole_replay_equals_a_machine_driven_in_small_steps(seed, shut_off):
    rng = np.random.default_rng(seed)
    count = 120
    on = np.repeat(rng.integers(1, 16, count // 8), 8)
    on[:2] = 15
    width = np.array([6.0 * int(bits).bit_count() for bits in on])
    speed = np.interp(np.arange(count), np.arange(0, count, 10), rng.uniform(1.0, 8.0, count // 10))
    trace = made_trace(
        speed,
        rng.uniform(0.1, 0.4, count),
        width=width,
        sections_on=on.astype(np.int64),
        sections=four_sections(),
        curvature_radpm=np.repeat(rng.uniform(-0.05, 0.05, count // 12), 12),
    )
    response = Response(lag_s=0.9, delay_s=0.35, open_s=0.4, close_s=0.6, shut_off=shut_off)
    setup = made_setup((6.0, 12.0, 18.0, 24.0), floor=3e-5, ceiling=9.5e-5, supply=9e-5, response=response)
    exact = exact_replay(trace, setup, ReplayMode.SAME_SPEED)
    found = section_tally(exact, boom_sections(trace, EDGES_M), response, tolerance_frac=0.05, label_ratio=1.15)
    # Sections of one instant share its area by what they sweep; on a boom that is partly off that is their own ground.
    areas, dry, over, label = driven_by_hand(trace, setup, EDGES_M, 1.15)
    total = areas.sum()
    assert found.total_cm2 / 1e4 == pytest.approx(total, rel=1e-4)
    assert found.error_cm2 / 1e4 == pytest.approx(areas, abs=0.003 * total)
    assert found.dry_cm2 / 1e4 == pytest.approx(dry, rel=1e-3)
    assert found.over_spray_cm2 / 1e4 == pytest.approx(over, rel=1e-3)
    assert found.over_label_cm2 / 1e4 == pytest.approx(label, abs=0.003 * total)


def test_the_worst_places_are_those_of_a_plain_search():
    rng = np.random.default_rng(9)
    speed = np.repeat(rng.uniform(1.0, 8.0, 30), 10)
    trace = made_trace(speed, np.full(300, 0.2), curvature_radpm=np.zeros(300))
    response = Response(lag_s=1.0, delay_s=0.2)
    setup = made_setup(floor=3e-5, response=response)
    exact = exact_replay(trace, setup, ReplayMode.SAME_SPEED)
    tally = section_tally(exact, boom_sections(trace, EDGES_M), response, tolerance_frac=0.05)
    last = -math.inf
    runs: list[list[int]] = []
    for i in np.flatnonzero(tally.instant_off_cm2).tolist():
        start = float(trace.time_s[i] - trace.interval_s[i])
        if start - last > 1.0:
            runs.append([])
        runs[-1].append(i)
        last = float(trace.time_s[i])
    weights = [sum(float(tally.instant_size[i]) for i in run) for run in runs]
    expected = sorted(range(len(runs)), key=lambda run: -weights[run])[:5]
    places = worst_places(exact, tally, most=5)
    assert [place.area_cm2 for place in places] == [int(tally.instant_off_cm2[runs[run]].sum()) for run in expected]
    assert [place.start_s for place in places] == pytest.approx(
        [float(trace.time_s[runs[run][0] - 1]) for run in expected]
    )
    every = worst_places(exact, tally, most=10_000)
    assert sum(place.area_cm2 for place in every) == tally.off_cm2
    assert worst_places(exact, tally, most=0) == ()
