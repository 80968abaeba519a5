"""Laws of the ledger: it loses no area, merges in any order to the same bits, and brackets the exact replay."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.fieldlog.ledger import (
    Ledger,
    demand_tallies,
    ledger_as_arrays,
    ledger_from_arrays,
    merged,
)
from wetrun.fieldlog.replay import SteadySetup, replay_areas
from wetrun.fieldlog.tally import GUARD, entries_of, tally_of
from wetrun.fieldlog.trace import whole_cm2

SPEEDS = st.one_of(st.floats(1e-6, 30.0), st.sampled_from([0.0, 1.0, 3.0, 3.0000000001, 5.0, 1e-9]))
ROWS = st.lists(st.tuples(SPEEDS, st.sampled_from([6.0, 12.0, 24.0]), st.floats(0.01, 50.0)), min_size=1, max_size=60)
RATE_M3PM2 = 1.4e-5


def columns(rows):
    speed, width, area = (np.array(column) for column in zip(*rows, strict=True))
    return speed, width, area


def ledger(rows) -> Ledger:
    speed, width, area = columns(rows)
    tallies = demand_tallies(speed, speed * RATE_M3PM2, width, area)
    return Ledger(*tallies, flow_applied_cm2=0, left_out_cm2=0, instants=len(rows), logs=1)


def bits(found: Ledger) -> dict[str, bytes]:
    return {name: np.asarray(value).tobytes() for name, value in ledger_as_arrays(found).items()}


@given(ROWS)
def test_no_area_is_lost(rows):
    found = ledger(rows)
    area_cm2 = int(whole_cm2(columns(rows)[2]).sum())
    assert found.speed.total_cm2 == found.flow_per_width.total_cm2 == area_cm2


@given(st.lists(ROWS, min_size=3, max_size=3))
def test_parts_merge_in_any_order_to_the_bits_of_the_whole(parts):
    whole = ledger([row for part in parts for row in part])
    ledgers = [ledger(part) for part in parts]
    for order in itertools.permutations(ledgers):
        together = merged(order)
        for name in ("speed", "flow_per_width"):
            assert getattr(together, name).area_cm2.tobytes() == getattr(whole, name).area_cm2.tobytes()
            assert getattr(together, name).least.tobytes() == getattr(whole, name).least.tobytes()
            assert getattr(together, name).greatest.tobytes() == getattr(whole, name).greatest.tobytes()
    assert bits(merged([merged(ledgers[:2]), ledgers[2]])) == bits(merged(ledgers))


@given(ROWS)
def test_arrays_give_the_same_ledger_back(rows):
    found = ledger(rows)
    assert bits(ledger_from_arrays(ledger_as_arrays(found))) == bits(found)


def test_a_ledger_of_a_later_version_is_refused():
    plain = ledger_as_arrays(ledger([(3.0, 24.0, 1.0)])) | {"format_version": 99}
    with pytest.raises(ValueError, match="format_version 99"):
        ledger_from_arrays(plain)


@given(ROWS, st.data())
def test_the_bracket_holds_the_exact_replay_at_every_threshold(rows, data):
    speed, width, area = columns(rows)
    tally = tally_of(speed, width, area)
    near = st.sampled_from(speed.tolist()).map(lambda value: float(np.nextafter(value, data.draw(st.floats(0, 40)))))
    limit = st.one_of(st.floats(0.0, 35.0), st.sampled_from(speed.tolist()), near)
    levels = tally.levels_m.size
    low = np.array([data.draw(limit) for _ in range(levels)]) * RATE_M3PM2
    high = np.array([data.draw(limit) for _ in range(levels)]) * RATE_M3PM2
    setup = SteadySetup(tally.levels_m, low, high, low, high)
    level = np.searchsorted(np.round(tally.levels_m, 2), np.round(width, 2))
    moving = speed > 0  # a replay leaves out what asks for nothing
    demand = speed * RATE_M3PM2
    areas = replay_areas(demand[moving], whole_cm2(area)[moving], level[moving], setup)
    standing = int(whole_cm2(area)[~moving & (low[level] <= 0) & (high[level] >= 0)].sum())
    lower, upper = tally.area_within(low / RATE_M3PM2, high / RATE_M3PM2)
    assert lower <= areas[:, 1].sum() + standing <= upper


@given(ROWS, st.floats(0.001, 35.0))
def test_below_within_and_above_share_out_the_area(rows, threshold):
    tally = tally_of(*columns(rows))
    limits = np.full(tally.levels_m.size, threshold)
    below, above = tally.areas_below(limits), tally.areas_above(limits)
    within = tally.area_within(limits, np.full_like(limits, np.inf))
    assert below[0] + within[1] == tally.total_cm2
    assert below[1] + within[0] == tally.total_cm2
    speed, _, area = columns(rows)
    slower, faster = (int(whole_cm2(area[chosen]).sum()) for chosen in (speed < threshold, speed > threshold))
    assert below[0] <= slower <= below[1]
    assert above[0] <= faster <= above[1]


@given(ROWS, st.floats(0.1, 35.0))
def test_the_bracket_is_closed_where_no_value_is_near_the_threshold(rows, threshold):
    speed = columns(rows)[0]
    if (np.abs(speed / threshold - 1) < 2**-13).any():
        return
    tally = tally_of(*columns(rows))
    lower, upper = tally.areas_below(np.full(tally.levels_m.size, threshold))
    assert lower == upper == int(whole_cm2(columns(rows)[2][speed < threshold]).sum())


@given(ROWS)
def test_percentiles_bracket_those_of_the_sorted_rows(rows):
    speed, width, area = columns(rows)
    tally = tally_of(speed, width, area)
    order = np.argsort(speed)
    reached = np.cumsum(whole_cm2(area)[order])
    for share in (0.05, 0.5, 0.95):
        exact = speed[order][np.searchsorted(reached, share * reached[-1])]
        low, high = (bound[0] for bound in tally.percentiles([share]))
        assert low <= exact <= high
        assert high - low <= exact * 2**-13 + 1e-300


@given(ROWS, st.lists(st.tuples(st.floats(0, 30), st.floats(0, 30)), min_size=2, max_size=5))
def test_candidates_judged_together_are_judged_as_each_alone(rows, windows):
    tally = tally_of(*columns(rows))
    low = np.array([[a] * tally.levels_m.size for a, _ in windows])
    high = np.array([[b] * tally.levels_m.size for _, b in windows])
    together = tally.area_within(low, high)
    alone = [tally.area_within(a, b) for a, b in zip(low, high, strict=True)]
    assert [int(x) for x in together[0]] == [int(lower) for lower, _ in alone]
    assert [int(x) for x in together[1]] == [int(upper) for _, upper in alone]


def test_the_median_bracket_of_a_long_log_without_repeated_speeds_is_under_a_ten_thousandth():
    rng = np.random.default_rng(11)
    speed = rng.normal(5.0, 1.0, 400_000).clip(0.5)
    tally = tally_of(speed, np.full(speed.size, 24.0), np.full(speed.size, 20.0))
    low = rng.uniform(2.0, 8.0, (500, 1))
    lower, upper = tally.area_within(low, 1.6 * low)
    assert np.median(upper - lower) / tally.total_cm2 <= 1e-4
    assert GUARD < 2**-46


WHOLE_LOG = 200_000
"""Rows enough that the kernel looks at a sample of them only."""


def long_log(seed: int):
    """Speed, flow, width and area of a log that the kernel samples."""
    rng = np.random.default_rng(seed)
    speed = rng.normal(5.0, 0.4, WHOLE_LOG).clip(2.0)
    width = rng.choice([6.0, 12.0, 24.0], WHOLE_LOG)
    return speed, speed * rng.normal(RATE_M3PM2, 1e-7, WHOLE_LOG), width, rng.uniform(0.0, 9.0, WHOLE_LOG)


def check_kernel_gives_the_bits_of_numpy(speed, flow, width, area):
    from wetrun.fieldlog.kernels import binned_areas

    compiled = binned_areas((speed, flow), width, area)
    assert compiled is not None
    for values, entries in zip((speed, flow), compiled, strict=True):
        plain = entries_of(values, width, area)
        assert [(part.dtype, part.tobytes()) for part in entries] == [(part.dtype, part.tobytes()) for part in plain]


def rows_between_the_sampled(count: int) -> np.ndarray:
    from wetrun.fieldlog.places import SAMPLE_STRETCH_ROWS, SAMPLE_STRETCHES

    step = WHOLE_LOG // SAMPLE_STRETCHES
    assert step > SAMPLE_STRETCH_ROWS
    unseen = np.setdiff1d(np.arange(WHOLE_LOG), np.add.outer(np.arange(0, WHOLE_LOG, step), np.arange(step // 2)))
    return np.random.default_rng(count).choice(unseen, count, replace=False)


def test_what_the_kernel_never_saw_in_its_sample_is_counted_all_the_same():
    speed, flow, width, area = long_log(1)
    rows = rows_between_the_sampled(60)
    speed[rows[:30]] = np.repeat([0.0, -0.0, 5e-324, 1e-200, 1e-3, 60.0, 60.0, 1.9, 8.5, 300.0], 3)
    flow[rows[20:40]] = np.linspace(0.0, 1.0, 20)
    width[rows[30:50]] = np.tile([3.0, 18.0, 36.0, 200.0, 0.0, -1.0, np.nan, np.inf, 163.83, 163.84], 2)
    area[rows[45:60]] = np.tile([0.0, -4.0, np.nan, np.inf, 1e9], 3)
    check_kernel_gives_the_bits_of_numpy(speed, flow, width, area)


def test_a_log_unlike_its_sample_is_counted_all_the_same():
    speed, flow, width, area = long_log(2)
    rows = rows_between_the_sampled(40_000)
    speed[rows] += 9.0
    width[rows[::2]] = 30.0
    check_kernel_gives_the_bits_of_numpy(speed, flow, width, area)


@pytest.mark.parametrize("value", [np.nan, -1.0, np.inf])
def test_a_value_no_ledger_takes_is_left_to_numpy_wherever_it_stands(value):
    from wetrun.fieldlog.kernels import binned_areas

    speed, flow, width, area = long_log(3)
    for row in (0, rows_between_the_sampled(1)[0]):
        odd = flow.copy()
        odd[row] = value
        assert binned_areas((speed, odd), width, area) is None


@pytest.mark.parametrize("threads", [1, 2, 3])
def test_the_number_of_threads_does_not_change_a_bit(threads, monkeypatch):
    monkeypatch.setattr("wetrun.fieldlog.kernels.threads", lambda: threads)
    check_kernel_gives_the_bits_of_numpy(*long_log(4))
