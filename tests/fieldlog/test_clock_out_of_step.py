"""A clock one row out of step with places and distances: told either way, and never of a log that is in step."""

from __future__ import annotations

import numpy as np
import pytest
from tests.log_reading import only_trace

from wetrun.fieldlog.crosscheck import clock_shift

DEGREES_PER_M = 8.99322e-6


def drive(*, shift, steps, places=True, distances=True, speeds=True, count=400, seed=2):
    """A drive at 3 to 6 m/s whose clock stands one row lower (1), one higher (-1) or where it belongs (0)."""
    chance = np.random.default_rng(seed)
    step_s = chance.choice(steps, count + 2)
    time_s = 1000 + np.cumsum(step_s)
    speed_mps = 4.5 + 1.5 * np.sin(time_s / 25)
    along_m = np.cumsum(step_s * speed_mps)
    rows = []
    for i in range(1, count + 1):
        cells = {"time (s)": f"{time_s[i - shift]:.2f}", "swath width (m)": 24}
        if distances:
            cells["distance (m)"] = f"{along_m[i] - along_m[i - 1]:.2f}"
        if speeds:
            cells["speed (m/s)"] = f"{speed_mps[i]:.2f}"
        if places:
            cells |= {"lon": 10, "lat": f"{50 + along_m[i] * DEGREES_PER_M:.7f}"}
        rows.append(cells)
    return rows


def doubts(trace):
    return [doubt for doubt in trace.facts.doubts if "time column may be one row out of step" in doubt.words]


UNEVEN = ([0.2, 0.2, 0.2, 1.0], [1.0, 2.0], [0.19, 0.2, 0.21, 0.4], [1, 2, 3, 4])
TOLD_BY: tuple[dict[str, bool], ...] = (
    {},
    {"speeds": False},
    {"distances": False},
    {"distances": False, "speeds": False},
    {"places": False},
    {"places": False, "speeds": False},
)


@pytest.mark.parametrize("columns", TOLD_BY)
@pytest.mark.parametrize("steps", UNEVEN)
@pytest.mark.parametrize(("shift", "where"), [(1, "row below"), (-1, "row above")])
def test_a_clock_one_row_out_of_step_is_doubted(write_rows, steps, shift, where, columns):
    (doubt,) = doubts(only_trace(write_rows(drive(shift=shift, steps=steps, **columns))))
    assert f"The clock of the {where} fits" in doubt.words
    assert "Export the log again" in doubt.remedy


@pytest.mark.parametrize("columns", TOLD_BY)
@pytest.mark.parametrize("steps", [*UNEVEN, [0.2]])
def test_a_clock_in_step_is_not_doubted(write_rows, steps, columns):
    assert not doubts(only_trace(write_rows(drive(shift=0, steps=steps, **columns))))


@pytest.mark.parametrize("shift", [-1, 1])
def test_an_even_clock_out_of_step_shows_nothing_and_does_no_harm(write_rows, shift):
    trace = only_trace(write_rows(drive(shift=shift, steps=[0.2])))
    assert not doubts(trace)
    assert np.nanmedian(trace.speed_mps) == pytest.approx(np.nanmedian(trace.shown_speed_mps), rel=0.02)


def test_a_distance_column_out_of_step_is_told_as_that_and_not_as_the_clock(write_rows):
    rows = drive(shift=0, steps=[0.2, 0.2, 1.0])
    moved = [row["distance (m)"] for row in rows]
    for row, cell in zip(rows, [moved[-1], *moved[:-1]], strict=True):
        row["distance (m)"] = cell
    trace = only_trace(write_rows(rows))
    assert not doubts(trace)
    assert any("The distance column fits the positions" in doubt.words for doubt in trace.facts.doubts)


@pytest.mark.parametrize("seed", range(10))
def test_places_rough_as_a_cheap_receivers_raise_no_false_alarm(seed):
    chance = np.random.default_rng(seed)
    interval_s = chance.choice([0.9, 1.0, 1.1, 2.0], 2000)
    step_m = np.abs(interval_s * 5 + chance.normal(0, 1.5, interval_s.size))
    assert clock_shift(step_m, interval_s, np.full(interval_s.size, np.nan)) is None
    assert clock_shift(chance.exponential(3, 2000), interval_s, np.full(interval_s.size, 5.0)) is None


@pytest.mark.parametrize("count", [2, 5, 9, 49])
def test_a_few_rows_tell_nothing(write_rows, count):
    assert not doubts(only_trace(write_rows(drive(shift=1, steps=[0.2, 0.2, 1.0], count=count))))


def test_the_clock_of_the_real_log_is_in_step(real_trace):
    assert not doubts(real_trace)
