"""Reconciliation against general-purpose solvers: least squares over what is free, and SLSQP under the balances."""

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, minimize
from scipy.stats import chi2, f, t

from wetrun.proving.elimination import left_out
from wetrun.proving.gross_error import global_limit, likelihood_of, sidak_limit
from wetrun.proving.reconcile import Balances, reconciled
from wetrun.proving.reference import KNOWN, coverage_factor, direction_chance, statistic_chance, statistic_limit

SEEDS = range(6)


def case(seed, *, unmeasured=2):
    rng = np.random.default_rng(seed)
    measured, hidden = rng.standard_normal((5, 7)), rng.standard_normal((5, unmeasured))
    spread = rng.standard_normal((7, 7))
    balances = Balances.of(measured, rng.standard_normal(5), hidden)
    return rng.standard_normal(7) * 3.0, spread @ spread.T + np.eye(7), balances


@pytest.mark.parametrize("seed", SEEDS)
def test_least_squares_over_what_is_left_free_gives_the_same(seed):
    readings, covariance, balances = case(seed)
    both = np.hstack((balances.measured, balances.unmeasured))
    start = np.linalg.lstsq(both, balances.constant, rcond=None)[0]
    _, sizes, right = np.linalg.svd(both)
    free = right[len(sizes) :].T
    weight = np.linalg.inv(np.linalg.cholesky(covariance))
    steps = np.linalg.lstsq(weight @ free[:7], weight @ (readings - start[:7]), rcond=None)[0]
    expected = (start + free @ steps)[:7]
    found = reconciled(readings, covariance, balances)
    assert found.reconciled == pytest.approx(expected, abs=1e-8)
    misfit = weight @ (readings - expected)
    assert found.statistic == pytest.approx(misfit @ misfit, rel=1e-8)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_general_solver_under_the_balances_gives_the_same(seed):
    readings, covariance, balances = case(seed)
    inverse = np.linalg.inv(covariance)

    def misfit(both):
        return (readings - both[:7]) @ inverse @ (readings - both[:7])

    both = np.hstack((balances.measured, balances.unmeasured))
    held = LinearConstraint(both, balances.constant, balances.constant)
    done = minimize(misfit, np.zeros(9), method="SLSQP", constraints=held, tol=1e-14)
    assert done.success
    assert reconciled(readings, covariance, balances).reconciled == pytest.approx(done.x[:7], abs=2e-5)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_likelihood_of_is_what_leaving_the_reading_out_saves(seed):
    readings, covariance, balances = case(seed)
    covariance = np.diag(np.diag(covariance))  # a reading with shared causes tells of the others even when it is off
    found = reconciled(readings, covariance, balances)
    for n in range(7):
        saved = found.statistic - left_out(found, (n,)).statistic
        assert likelihood_of(found, np.eye(7)[n]).statistic == pytest.approx(saved, rel=1e-6)


def test_limits_are_those_of_the_general_library():
    assert global_limit(7, 0.03) == pytest.approx(chi2.isf(0.03, 7))
    assert statistic_limit(5, KNOWN, 0.05) == pytest.approx(chi2.isf(0.05, 5), rel=1e-6)
    # Hotelling's statistic of one estimated covariance: the textbook relation to F.
    assert statistic_limit(3, 20.0, 0.05) == pytest.approx(20.0 * 3 / 18.0 * f.isf(0.05, 3, 18.0))
    assert statistic_chance(9.0, 3, 20.0) == pytest.approx(f.sf(9.0 * 18.0 / 60.0, 3, 18.0))
    assert direction_chance(2.5**2, 7.0) == pytest.approx(2.0 * t.sf(2.5, 7.0))
    assert coverage_factor(7.0, 0.9) == pytest.approx(t.isf(0.05, 7.0))
    assert (1.0 - 2.0 * t.sf(sidak_limit(9, 0.05), 1e12)) ** 9 == pytest.approx(0.95, rel=1e-6)
