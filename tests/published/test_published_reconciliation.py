"""The textbook's heat exchanger with bypass: reconciled, tested globally, by reading, by balance, by likelihood."""

import numpy as np

from wetrun.proving.elimination import serially_eliminated
from wetrun.proving.gross_error import global_limit, likelihood_of, measurement_test, nodal_test, sidak_limit
from wetrun.proving.reconcile import Balances, reconciled

TABLES = ["checks_reconciliation"]

# 1 = 2 + 3, 2 = 4, 3 = 5, 4 + 5 = 6
EXCHANGER = Balances.of(
    np.array(
        [
            [1.0, -1.0, -1.0, 0.0, 0.0, 0.0],
            [0.0, 1.0, 0.0, -1.0, 0.0, 0.0],
            [0.0, 0.0, 1.0, 0.0, -1.0, 0.0],
            [0.0, 0.0, 0.0, 1.0, 1.0, -1.0],
        ]
    )
)
STREAM_2 = np.eye(6)[1]


def found(i):
    return reconciled(np.array(i["measured"]), np.eye(6), EXCHANGER)


def first_left_out(i):
    return serially_eliminated(found(i))[0]


def by_stream(name, many, answer):
    return {(name[0], f"{name[1]}_{n}"): answer for n in range(1, many + 1)}


ANSWERS = {
    **by_stream(("exchanger-reconciled", "flow"), 6, lambda i: found(i).reconciled[i["stream"] - 1]),
    ("exchanger-global-good", "statistic"): lambda i: found(i).statistic,
    ("exchanger-global-good", "limit"): lambda i: global_limit(found(i).redundancy),
    **by_stream(("exchanger-residuals", "residual"), 4, lambda i: found(i).residuals[i["balance"] - 1]),
    ("exchanger-global-bad", "statistic"): lambda i: found(i).statistic,
    **by_stream(("exchanger-measurement-test", "deviate"), 6, lambda i: measurement_test(found(i))[i["stream"] - 1]),
    ("exchanger-sidak", "limit"): lambda i: sidak_limit(i["readings"]),
    **by_stream(("exchanger-nodal-test", "deviate"), 4, lambda i: nodal_test(found(i))[i["balance"] - 1]),
    ("exchanger-likelihood", "statistic"): lambda i: likelihood_of(found(i), STREAM_2).statistic,
    ("exchanger-likelihood", "bias"): lambda i: likelihood_of(found(i), STREAM_2).size,
    ("exchanger-left-out", "statistic"): lambda i: first_left_out(i).statistic,
    ("exchanger-left-out", "limit"): lambda i: first_left_out(i).limit,
}


def test_the_heat_exchanger_with_bypass(check, answer):
    check.compare(answer(check.inputs))


def test_the_biased_stream_is_found_and_nothing_else_is_left_out():
    bad = reconciled(np.array([101.91, 68.45, 34.65, 64.20, 36.44, 98.88]), np.eye(6), EXCHANGER)
    assert [step.readings for step in serially_eliminated(bad)] == [(1,)]
    good = np.array([101.91, 64.45, 34.65, 64.20, 36.44, 98.88])
    assert serially_eliminated(reconciled(good, np.eye(6), EXCHANGER)) == ()
