"""The vectorised outlier test and pattern fit against slow, separately written ones."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t as student

from wetrun.proving.catch_odd import odd_tips
from wetrun.proving.catch_pattern import BoomShape, boom_pattern


def slow_odd(values, most, alarm, floor):
    """Take the value furthest from the median out, one at a time; the last that fails its own Student test decides."""
    left = sorted(range(len(values)), key=lambda n: abs(values[n] - np.median(values)))
    taken, odd = [], []
    for _ in range(most):
        rest = np.array([values[n] for n in left])
        worst = left[-1]
        count = len(rest)
        # Grubbs' limit: the studentised deviate as a function of Student's t.
        q = student.isf(alarm / (2 * count), count - 2)
        limit = (count - 1) * q / np.sqrt(count * (count - 2 + q * q))
        taken.append(worst)
        if abs(values[worst] - rest.mean()) > limit * max(rest.std(ddof=1), floor):
            odd = list(taken)
        left = left[:-1]
    return set(odd)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(20, 120), st.integers(0, 6), st.sampled_from([0.0, 0.02]))
def test_odd_tips_are_those_of_the_slow_test(seed, tips, bad, floor):
    random = np.random.default_rng(seed)
    values = random.normal(0.0, 0.01, tips)
    values[:bad] += random.choice([-1, 1], bad) * random.uniform(0.02, 0.2, bad)
    found = odd_tips(values[None, :], reading_scatter=floor, alarm_frac=0.01).odd[0]
    assert set(np.flatnonzero(found)) == slow_odd(values, max(3, int(0.2 * tips)), 0.01, floor)


def test_many_booms_at_once_are_the_same_as_one_by_one():
    random = np.random.default_rng(2)
    booms = random.normal(0.0, 0.01, (40, 96))
    booms[:, 5] += 0.1
    shape = BoomShape(np.linspace(-1.0, 1.0, 96), np.repeat(np.arange(8), 12))
    booms[3, 12:24] -= 0.08
    together = boom_pattern(booms, shape)
    for n in range(40):
        alone = boom_pattern(booms[n : n + 1], shape)
        np.testing.assert_allclose(alone.shape[0], together.shape[n], atol=1e-12)
        found = odd_tips(booms[n : n + 1] - alone.shape, fitted=alone.terms).odd[0]
        whole = odd_tips(booms - together.shape, fitted=together.terms).odd[n]
        np.testing.assert_array_equal(found, whole)


@pytest.mark.parametrize("bend", [-0.06, -0.1])
def test_a_fall_without_bad_tips_is_that_of_ordinary_least_squares(bend):
    random = np.random.default_rng(6)
    places = np.linspace(-1.0, 1.0, 96)
    values = 0.03 + bend * places**2 + random.uniform(-0.015, 0.015, 96)  # uniform: nobody beyond three scatters
    shape = BoomShape(places, np.repeat(np.arange(8), 12))
    found = boom_pattern(values[None, :], shape)
    squares, tilt, level = np.polyfit(places, values, 2)
    assert found.level[0] == pytest.approx(level, abs=1e-8)
    assert found.falls[0] == pytest.approx([squares, tilt], abs=1e-7)


def test_a_step_without_bad_tips_is_the_difference_of_means():
    random = np.random.default_rng(7)
    sections = np.repeat(np.arange(8), 12)
    values = random.uniform(-0.01, 0.01, 96) - np.where(sections == 2, 0.08, 0.0)
    found = boom_pattern(values[None, :], BoomShape(np.linspace(-1.0, 1.0, 96), sections))
    rest = values[sections != 2].mean()
    assert found.level[0] == pytest.approx(rest, abs=1e-9)
    assert found.steps[0, 2] == pytest.approx(values[sections == 2].mean() - rest, abs=1e-9)
    assert np.count_nonzero(found.steps[0]) == 1
