"""Laws of reconciliation, whatever the balances."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from wetrun.errors import NotDefined
from wetrun.proving.elimination import left_out, serially_eliminated
from wetrun.proving.gross_error import likelihood_of, measurement_test
from wetrun.proving.reconcile import Balances, projected, reconciled

READINGS, RELATIONS, HIDDEN = 6, 4, 2
numbers = st.integers(-3, 3).map(float)
networks = arrays(float, (RELATIONS, READINGS), elements=numbers)
hidden = arrays(float, (RELATIONS, HIDDEN), elements=numbers)
states = arrays(float, READINGS, elements=st.floats(-10.0, 10.0))
spreads = arrays(float, READINGS, elements=st.floats(0.1, 3.0))
orders = st.permutations(range(READINGS))


def balances_of(network, unknown):
    return Balances.of(network, None, unknown)


@given(networks, hidden, states, spreads)
def test_reconciled_readings_satisfy_every_balance(network, unknown, state, spread):
    balances = balances_of(network, unknown)
    found = reconciled(state, np.diag(spread**2), balances)
    rows, right = projected(balances)
    assert rows @ found.reconciled == pytest.approx(right, abs=1e-6)
    # and some value of the unmeasured fits every relation as it came
    left = balances.constant - network @ found.reconciled
    fitted = unknown @ np.linalg.lstsq(unknown, left, rcond=None)[0]
    assert fitted == pytest.approx(left, abs=1e-6)


@given(networks, hidden, states, spreads)
def test_exact_readings_leave_nothing_and_are_not_changed(network, unknown, state, spread):
    balances = balances_of(network, unknown)
    rows, _ = projected(balances)
    exact = state - np.linalg.pinv(rows) @ rows @ state if len(rows) else state
    found = reconciled(exact, np.diag(spread**2), balances)
    assert found.statistic == pytest.approx(0.0, abs=1e-8)
    assert found.reconciled == pytest.approx(exact, abs=1e-6)


@given(networks, hidden, states, spreads, orders)
def test_the_order_of_readings_and_relations_does_not_matter(network, unknown, state, spread, order):
    straight = reconciled(state, np.diag(spread**2), balances_of(network, unknown))
    mixed = reconciled(state[order], np.diag(spread[order] ** 2), balances_of(network[::-1][:, order], unknown[::-1]))
    assert mixed.reconciled == pytest.approx(straight.reconciled[order], abs=1e-6)
    assert mixed.statistic == pytest.approx(straight.statistic, rel=1e-6, abs=1e-8)


@given(networks, hidden, states, spreads, st.floats(0.01, 100.0))
def test_the_unit_of_a_reading_does_not_matter(network, unknown, state, spread, unit):
    units = np.ones(READINGS)
    units[2] = unit
    straight = reconciled(state, np.diag(spread**2), balances_of(network, unknown))
    other = reconciled(state * units, np.diag((spread * units) ** 2), balances_of(network / units, unknown))
    assert other.reconciled / units == pytest.approx(straight.reconciled, abs=1e-5)
    assert other.statistic == pytest.approx(straight.statistic, rel=1e-5, abs=1e-7)


@given(networks, hidden, states, spreads)
def test_leaving_out_a_reading_that_nothing_checks_changes_nothing(network, unknown, state, spread):
    network[:, 3] = 0.0  # no balance speaks of it
    balances = balances_of(network, unknown)
    found = reconciled(state, np.diag(spread**2), balances)
    assert not found.redundant[3]
    assert found.adjustability[3] == pytest.approx(0.0)
    assert measurement_test(found)[3] == 0.0
    rest = left_out(found, (3,))
    assert rest.reconciled == pytest.approx(np.delete(found.reconciled, 3), abs=1e-6)
    assert rest.statistic == pytest.approx(found.statistic, rel=1e-6, abs=1e-8)


def test_a_reading_that_alone_closes_a_balance_with_something_unmeasured_is_not_checked():
    chain = Balances.of(np.array([[1.0, -1.0, 0.0], [0.0, 0.0, 1.0]]), None, np.array([[0.0], [-1.0]]))
    found = reconciled(np.array([1.0, 2.0, 7.0]), np.eye(3), chain)
    assert found.redundant.tolist() == [True, True, False]
    assert found.reconciled[2] == 7.0
    with pytest.raises(NotDefined, match="leaves every balance"):
        likelihood_of(found, np.eye(3)[2])


@given(states, spreads)
def test_readings_reconciled_twice_stay(state, spread):
    balances = Balances.of(np.array([[1.0, 1.0, -1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 1.0, -1.0, -1.0]]))
    once = reconciled(state, np.diag(spread**2), balances)
    again = reconciled(once.reconciled, np.diag(spread**2), balances)
    assert again.reconciled == pytest.approx(once.reconciled, abs=1e-8)


def test_readings_without_any_uncertainty_are_refused_with_the_remedy():
    with pytest.raises(NotDefined, match="uncertainty above zero"):
        reconciled(np.array([1.0, 2.0]), np.zeros((2, 2)), Balances.of(np.array([[1.0, -1.0]])))


def test_two_readings_that_disagree_are_never_settled_by_leaving_one_out():
    # One relation: whichever goes, nothing is left to check, so nobody is accused.
    pair = Balances.of(np.array([[1.0, -1.0]]))
    assert serially_eliminated(reconciled(np.array([0.0, 50.0]), np.eye(2), pair)) == ()


def test_a_reading_far_beyond_any_chance_is_still_told_from_the_others():
    # Statistics of 1e24: what one thousandth tells apart at an honest size is lost in their last digit.
    clocks = Balances.of(np.array([[1.0, -1.0, 0.0, 0.0], [0.0, 1.0, -1.0, 0.0], [0.0, 0.0, 1.0, -1.0]]))
    far = reconciled(np.array([0.1, 1e12, 0.0, 0.2]), np.eye(4), clocks)
    assert [step.readings for step in serially_eliminated(far)] == [(1,)]
