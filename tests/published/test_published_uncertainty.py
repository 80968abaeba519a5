"""Uncertainty: the guide's own example, Student's t, and what a timed course and a catch are good for."""

from math import inf

from wetrun.proving.course import Course, expected_budget
from wetrun.proving.uncertainty import Budget, Component, rectangular

TABLES = ["checks_uncertainty"]


def end_gauge(i):
    pairs = zip(i["parts"], i["freedoms"], strict=True)
    return Budget(tuple(Component(f"part {n}", u, "A", freedom) for n, (u, freedom) in enumerate(pairs)))


def factor(i):
    return Budget((Component("repeats", 1.0, "A", i["freedom"]),)).coverage_factor(i["coverage"])


def course(i):
    ground = Course(
        length_m=i["length"], length_half_width_m=i["half_width"], reaction_s=i["reaction"], watch_step_s=0.0
    )
    return 2.0 * expected_budget(ground, i["length"] / i["time"], runs=i["runs"]).combined


def catch(i):
    """Two presses of the watch, one amount, and density where it was weighed."""
    press = i["reaction"] / i["time"]
    parts = [
        Component("start", press),
        Component("stop", press),
        Component("amount", rectangular(i["half_width"]) / i["amount"]),
        Component("density", -rectangular(i.get("density_half_width", 0.0)) / i.get("density", 1.0)),
    ]
    return 2.0 * Budget(tuple(parts)).combined


ANSWERS = {
    ("gum-h1", "combined"): lambda i: end_gauge(i).combined,
    ("gum-h1", "freedom"): lambda i: end_gauge(i).freedom,
    ("gum-h1", "expanded"): lambda i: end_gauge(i).expanded(0.99, whole_freedom=True),
    ("gum-h1", "factor"): factor,
    ("student-t", "factor"): factor,
    ("timed-course", "expanded"): course,
    ("weighed-catch", "expanded"): catch,
    ("jug-catch", "expanded"): catch,
}


def test_uncertainty(check, answer):
    check.compare(answer(check.inputs))


def test_the_guides_own_rounding_gives_its_own_figure():
    # 32 nm and 16 degrees of freedom, as the example rounds on its way.
    assert round(Budget((Component("rounded", 32.0, "A", 16.0),)).expanded(0.99)) == 93


def test_without_repeats_the_factor_is_the_normal_one():
    assert abs(Budget((Component("stated", 1.0, freedom=inf),)).coverage_factor(0.95) - 1.96) < 0.005
