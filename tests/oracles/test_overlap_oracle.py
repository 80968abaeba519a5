"""Closed forms and exact groove catches against direct superposition on a fine grid."""

import math

import numpy as np
import pytest
from scipy import stats

from wetrun.spray.fan_patterns import Bell, MeasuredPattern, Trapezoid
from wetrun.spray.overlap import endless_boom_cv_frac, stacked_boom

SPACING = 0.5


def trapezoid_density(base, top):
    """Density of a trapezoid written as scipy's trapezoidal distribution."""
    law = stats.trapezoid(0.5 - top / base / 2.0, 0.5 + top / base / 2.0, loc=-base / 2.0, scale=base)
    return law.pdf


def direct_cv(density, reach, groove=0.0):
    """Sum the neighbours at every place of one spacing; a groove averages over its width by a fine sum."""
    places = (np.arange(2000) + 0.5) / 2000 * SPACING
    across = (np.arange(400) + 0.5) / 400 * groove - groove / 2.0 if groove else np.zeros(1)
    count = math.ceil((reach + groove) / SPACING) + 1
    total = np.zeros(places.size)
    for shift in across:
        for n in range(-count, count + 2):
            total += density(places + shift - n * SPACING)
    return float(np.std(total) / np.mean(total))


@pytest.mark.parametrize("width", [0.6, 0.9, 1.0, 1.13, 1.6, 2.0])
@pytest.mark.parametrize("top", [0.0, 0.4, 0.8])
@pytest.mark.parametrize("groove", [0.0, 0.1])
def test_trapezoids_stack_as_summed_one_by_one(width, top, groove):
    ours = endless_boom_cv_frac(Trapezoid(width, top * width), SPACING, groove_m=groove)
    assert ours == pytest.approx(direct_cv(trapezoid_density(width, top * width), width / 2.0, groove), abs=5e-5)


@pytest.mark.parametrize("sigma", [0.1, 0.17, 0.25])
@pytest.mark.parametrize("groove", [0.0, 0.1])
def test_bells_stack_as_summed_one_by_one(sigma, groove):
    ours = endless_boom_cv_frac(Bell(sigma), SPACING, groove_m=groove)
    assert ours == pytest.approx(direct_cv(stats.norm(0.0, sigma).pdf, 10.0 * sigma, groove), abs=1e-6)


MEASURED = MeasuredPattern((0.0, 3.0, 9.0, 14.0, 15.5, 16.0, 13.0, 8.5, 4.0, 1.0), 0.1, 0.52)


@pytest.mark.parametrize("groove", [0.0, 0.1])
def test_measured_grooves_stack_as_summed_one_by_one(groove):
    def density(offsets):
        cell = np.floor((offsets + MEASURED.tip_m) / MEASURED.groove_m).astype(int)
        inside = (cell >= 0) & (cell < len(MEASURED.caught))
        return np.where(inside, np.array(MEASURED.caught)[np.clip(cell, 0, len(MEASURED.caught) - 1)], 0.0)

    ours = endless_boom_cv_frac(MEASURED, SPACING, groove_m=groove)
    assert ours == pytest.approx(direct_cv(density, 1.0, groove), abs=1e-3)


@pytest.mark.parametrize(
    ("pattern", "density"),
    [
        (Trapezoid(1.1, 0.5), trapezoid_density(1.1, 0.5)),
        (Trapezoid(0.9), trapezoid_density(0.9, 0.0)),
        (Bell(0.2), stats.norm(0.0, 0.2).pdf),
    ],
    ids=["trapezoid", "triangle", "bell"],
)
def test_grooves_of_a_real_boom_are_summed_density(pattern, density):
    rng = np.random.default_rng(20)
    flows = 2e-5 * (1.0 + 0.1 * rng.standard_normal(17))
    flows[6] = 0.0
    stack = stacked_boom(flows, pattern, SPACING)
    fine = 500
    for left, right, caught in zip(stack.edges_m, stack.edges_m[1:], stack.caught_m3s, strict=False):
        places = left + (np.arange(fine) + 0.5) / fine * (right - left)
        landed = sum(flow * density(places - n * SPACING) for n, flow in enumerate(flows))
        assert caught == pytest.approx(float(np.mean(landed)) * (right - left), abs=2e-5 * flows.max())
    judged = stack.caught_m3s[(stack.edges_m[:-1] > -0.2501) & (stack.edges_m[1:] < 16 * SPACING + 0.2501)]
    assert stack.whole.grooves == judged.size
    assert stack.whole.cv_frac == pytest.approx(float(stats.variation(judged, ddof=1)), rel=1e-12)
    assert stack.whole.most_frac == pytest.approx(float(judged.max() / judged.mean()) - 1.0, rel=1e-12)
