"""The replay against a loop in plain Python, one instant after the other, and both kernels against NumPy."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.fieldlog import kernels
from wetrun.fieldlog.ledger import demand_tallies
from wetrun.fieldlog.replay import ABOVE, BELOW, HELD, ReplayMode, SteadySetup, levels_of, replay, replay_areas
from wetrun.fieldlog.tally import entries_of
from wetrun.fieldlog.trace import LogFacts, Trace, whole_cm2
from wetrun.fieldlog.turns import turn_tally

WIDTHS_M = [6.0, 12.0, 24.0]
LEVELS_M = np.array(WIDTHS_M)
INSTANT = st.tuples(
    st.one_of(st.just(float("nan")), st.floats(0.0, 12.0)),
    st.sampled_from(WIDTHS_M),
    st.one_of(st.just(float("nan")), st.floats(1e-6, 5e-5)),
    st.one_of(st.just(float("nan")), st.floats(1e-6, 5e-5)),
)
FLOWS = st.lists(st.floats(1e-6, 5e-4), min_size=3, max_size=3).map(np.array)
NO_FACTS = LogFacts("made.csv", "made", 0, 0, 1, (), 0, 0, 0.0, (), (), (), (), ())


def trace_of(instants, curvature=None) -> Trace:
    speed, width, target, applied = (np.array(column) for column in zip(*instants, strict=True))
    interval = np.full(speed.size, 0.2)
    none = np.full(speed.size, np.nan)
    return Trace(
        time_s=np.cumsum(interval),
        interval_s=interval,
        distance_m=speed * interval,
        speed_mps=speed,
        shown_speed_mps=none,
        width_m=width,
        target_m3pm2=target,
        applied_m3pm2=applied,
        heading_rad=none,
        curvature_radpm=none if curvature is None else curvature,
        area_m2=speed * interval * width,
        east_m=none,
        north_m=none,
        sections_on=np.zeros(speed.size, dtype=np.int64),
        full_width_m=24.0,
        sections=(),
        facts=NO_FACTS,
    )


def driven(trace: Trace, setup: SteadySetup, mode: ReplayMode):
    """Area [cm2] held, below, above and over the label, and the good area at 5 %, by a plain loop."""
    held = below = above = over = good = 0
    for i in range(trace.time_s.size):
        wanted = setup.rate_m3pm2 if setup.rate_m3pm2 is not None else float(trace.target_m3pm2[i])
        speed = float(trace.speed_mps[i])
        logged = float(trace.applied_m3pm2[i])
        logged = logged if not math.isnan(logged) else float(trace.target_m3pm2[i])
        demand = speed * wanted if mode is ReplayMode.SAME_SPEED else logged * speed
        area = 0 if math.isnan(speed) else round(speed * 0.2 * float(trace.width_m[i]) * 10_000)
        if not demand > 0 or not speed * 0.2 * float(trace.width_m[i]) > 0:
            continue
        level = WIDTHS_M.index(float(trace.width_m[i]))
        asked = setup.gain_ratio * demand
        delivered = min(max(asked, float(setup.floor_m2ps[level])), float(setup.ceiling_m2ps[level]))
        if demand < setup.held_low_m2ps[level] or demand / wanted < setup.speed_low_mps:
            below += area
        elif demand > setup.held_high_m2ps[level] or demand / wanted > setup.speed_high_mps:
            above += area
        else:
            held += area
        if setup.label_ratio is not None and delivered / demand > setup.label_ratio:
            over += area
        if abs(delivered / demand - 1) <= 0.05:
            good += area
    return held, below, above, over, good


@given(
    st.lists(INSTANT, min_size=1, max_size=40),
    FLOWS,
    FLOWS,
    st.sampled_from(list(ReplayMode)),
    st.one_of(st.none(), st.floats(1e-6, 5e-5)),
    st.one_of(st.none(), st.floats(0.5, 3.0)),
    st.sampled_from([{}, {"gain_ratio": 1.15}, {"speed_low_mps": 2.0}, {"speed_high_mps": 5.0, "gain_ratio": 0.9}]),
)
def test_replay_equals_the_plain_loop(instants, one, two, mode, rate, label, machine):
    floor, ceiling = np.minimum(one, two), np.maximum(one, two)
    window = 1.1 * floor, 0.9 * ceiling
    setup = SteadySetup(LEVELS_M, floor, ceiling, *window, rate_m3pm2=rate, label_ratio=label, **machine)
    trace = trace_of(instants)
    found = replay(trace, setup, mode)
    held, below, above, over, good = driven(trace, setup, mode)
    sums = [int(areas.sum()) for areas in (found.held_cm2, found.below_cm2, found.above_cm2, found.over_label_cm2)]
    assert sums == [held, below, above, over]
    assert int(found.instant_cm2[found.code == HELD].sum()) == held
    assert found.total_cm2 + found.left_out_cm2 == int(whole_cm2(trace.area_m2).sum())
    if found.total_cm2:
        assert found.within(0.05) == good / found.total_cm2


def test_a_width_the_setup_does_not_know_is_refused():
    with pytest.raises(Exception, match="active width"):
        levels_of(np.array([6.0, 9.0]), LEVELS_M)


def test_codes_and_ratio_of_a_log_a_reader_can_check_by_hand():
    # 140 L/ha at 2, 4 and 8 m/s asks 28, 56 and 112 ml/s per metre; the set-up gives 40 to 80 ml/s.
    trace = trace_of([(speed, 24.0, 1.4e-5, np.nan) for speed in (2.0, 4.0, 8.0)])
    four, eight = np.full(3, 4e-5), np.full(3, 8e-5)
    found = replay(trace, SteadySetup(LEVELS_M, four, eight, four, eight, label_ratio=1.2), ReplayMode.SAME_SPEED)
    assert found.code.tolist() == [BELOW, HELD, ABOVE]
    assert found.ratio == pytest.approx([40 / 28, 1.0, 80 / 112])
    assert found.over_label_cm2.tolist() == [0, 0, round(2 * 0.2 * 24 * 1e4)]


def test_turns_equal_a_plain_loop_over_the_sections():
    rng = np.random.default_rng(5)
    curvature = rng.uniform(-0.1, 0.1, 50)
    trace = trace_of([(4.0, 24.0, 1e-5, np.nan)] * 50, curvature)
    edges = np.array([-12.0, -6.0, 0.0, 6.0, 12.0])
    turning = over = off = 0
    for bend in curvature:
        for left, right in pairwise(edges):
            local = 1 - (left + right) / 2 * bend
            area = round(abs(local) * (right - left) * 0.8 * 1e4)
            inside = abs(bend) * 12 > 0.05
            turning += area if inside else 0
            over += area if inside and 1 / abs(local) > 1.2 else 0
            off += area if inside and abs(1 / abs(local) - 1) > 0.1 else 0
    found = turn_tally(trace, edges, 1.2)
    assert (found.turning_cm2, found.over_label_cm2, found.off_by_a_tenth_cm2) == (turning, over, off)


@pytest.fixture(scope="module")
def many_rows():
    rng = np.random.default_rng(3)
    speed = np.concatenate([rng.normal(5, 1.5, 20_000).clip(0), [0.0, 5e-324, 1e-200, 700.0]])
    width = rng.choice(WIDTHS_M, speed.size)
    return speed, width, rng.uniform(0, 9, speed.size)


def test_the_compiled_ledger_has_the_bits_of_numpy(many_rows):
    speed, width, area = many_rows
    flow = speed[:20_000] * 1.4e-5
    compiled = kernels.binned_areas((speed[:20_000], flow), width[:20_000], area[:20_000])
    assert compiled is not None
    for values, entry in zip((speed[:20_000], flow), compiled, strict=True):
        plain = entries_of(values, width[:20_000], area[:20_000])
        assert [part.tobytes() for part in entry] == [part.tobytes() for part in plain]


def test_the_compiled_ledger_steps_back_where_its_table_would_not_fit(many_rows):
    speed, width, area = many_rows
    assert kernels.binned_areas((speed,), width, area) is None  # 1e-200 to 700: hundreds of octaves
    assert kernels.binned_areas((np.full(9, np.nan),), width[:9], area[:9]) is None
    assert kernels.binned_areas((np.full(9, -1.0),), width[:9], area[:9]) is None


def test_the_compiled_replay_has_the_bits_of_numpy(many_rows):
    speed, width, area = (column[:20_000] for column in many_rows)
    moving = speed > 0
    demand, level = 1.4e-5 * speed[moving], levels_of(width[moving], LEVELS_M)
    low, high = np.array([5e-5, 6e-5, 6.5e-5]), np.array([8e-5, 9e-5, 1e-4])
    for gain in (1.0, 1.04):
        setup = SteadySetup(LEVELS_M, 0.9 * low, 1.1 * high, low, high, label_ratio=1.06, gain_ratio=gain)
        arguments = demand, whole_cm2(area[moving]), level, setup
        compiled = kernels.replayed_areas(*arguments)
        assert compiled.tolist() == replay_areas(*arguments).tolist()
        assert (compiled.sum(axis=0) > 0).all()


def test_a_long_log_goes_through_the_kernel_and_gives_the_same_ledger(many_rows, monkeypatch):
    speed, width, area = (column[:20_000] for column in many_rows)
    flow = np.where(np.arange(speed.size) % 7 == 0, np.nan, 1.4e-5 * speed)
    plain = demand_tallies(speed, flow, width, area)
    monkeypatch.setattr("wetrun.fieldlog.tally.FEW_ROWS", 100)
    for compiled, by_numpy in zip(demand_tallies(speed, flow, width, area), plain, strict=True):
        assert compiled.area_cm2.tobytes() == by_numpy.area_cm2.tobytes()
        assert compiled.least.tobytes() == by_numpy.least.tobytes()
        assert compiled.levels_m.tobytes() == by_numpy.levels_m.tobytes()
