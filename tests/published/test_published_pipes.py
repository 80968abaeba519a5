"""Friction factors, lines with equal outlets, and the manifold of one section solved and by hand."""

import tomllib
from pathlib import Path

import pytest
from fluids.friction import Colebrook, Haaland, Swamee_Jain_1976

from wetrun.spray.boom_flow import boom_flow
from wetrun.spray.friction import Pipe, equal_outlets_ratio, friction_factor, pipe_loss_pa, reynolds_number
from wetrun.spray.line_liquid import WATER_IN_LINE
from wetrun.spray.orifice import OrificeLaw
from wetrun.spray.plumbing import Feed, PlumbedBoom, SectionLine

TABLES = ["checks_pipes"]


def equal_outlets(i):
    return equal_outlets_ratio(i["outlets"], i["exponent"])


def factor(i):
    return friction_factor(i["reynolds"], i["roughness"])


def pipe(i):
    return Pipe(i["bore"], i["roughness"])


def through_loss(i):
    """Loss if the flow of all tips ran the whole length: the first tip stands a spacing from the inlet."""
    return pipe_loss_pa(i["outlets"] * i["flow"], i["outlets"] * i["spacing"], pipe(i))


def solved(i):
    tips = (OrificeLaw(i["flow"] / i["pressure"] ** 0.5, "flow and pressure of the example"),) * i["outlets"]
    line = SectionLine(laws=tips, spacing_m=i["spacing"], pipe=pipe(i), feed=Feed.LEFT, lead_m=i["spacing"])
    return boom_flow(PlumbedBoom(sections=(line,)), i["pressure"])


def solved_loss(i):
    return i["pressure"] - float(solved(i).pressures_pa[-1])


ANSWERS = {
    ("christiansen-1.852", "loss_ratio"): equal_outlets,
    ("christiansen-2", "loss_ratio"): equal_outlets,
    ("christiansen-1.75", "loss_ratio"): equal_outlets,
    ("christiansen-exact-sum", "loss_ratio"): equal_outlets,
    ("a-third", "loss_ratio"): equal_outlets,
    ("factor-at-1e5", "swamee_jain"): factor,
    ("factor-at-1e5", "haaland"): factor,
    ("factor-at-1e5", "colebrook"): factor,
    ("section-of-18-tips", "reynolds"): lambda i: reynolds_number(i["outlets"] * i["flow"], pipe(i), WATER_IN_LINE),
    ("section-of-18-tips", "through_loss"): through_loss,
    ("section-of-18-tips", "christiansen_loss"): lambda i: through_loss(i) * equal_outlets(i),
    ("section-of-18-tips", "solved_loss"): solved_loss,
    ("section-of-18-tips", "solved_loss_by_hand"): solved_loss,
    ("section-of-18-tips", "last_over_inlet"): lambda i: float(solved(i).flows_m3s[-1]) / i["flow"],
}


def test_pipes_and_lines(check, answer):
    check.compare(answer(check.inputs))


def test_twice_the_flow_costs_about_three_and_a_half_times_the_loss():
    # The same section with tips of twice the size; the reference says about 3.5.
    once = {"outlets": 18, "spacing": 0.5, "bore": 0.0191, "roughness": 1.5e-6, "flow": 2e-5, "pressure": 3e5}
    ratio = solved_loss({**once, "flow": 4e-5}) / solved_loss(once)
    assert 3.3 < ratio < 3.6


@pytest.mark.parametrize("exponent", [1.75, 1.852, 2.0])
def test_christiansens_three_terms_give_every_print_and_stand_for_our_sum(exponent):
    table = tomllib.loads((Path(__file__).parent / "data" / "checks_pipes.toml").read_text(encoding="utf-8"))["check"]
    prints = [row for row in table if row["case"] == f"christiansen-{exponent:g}"]
    assert len(prints) == 12
    for row in prints:
        n = row["inputs"]["outlets"]
        terms = 1.0 / (exponent + 1.0) + 1.0 / (2.0 * n) + (exponent - 1.0) ** 0.5 / (6.0 * n**2)
        # Half a digit; 1.852 was read off a print that is one in the last digit off in places.
        assert terms == pytest.approx(float(row["printed"]), abs=0.00051 if exponent != 1.852 else 0.0011)
        assert terms == pytest.approx(equal_outlets_ratio(n, exponent), abs=0.005 / n**2)


def test_the_factors_are_copied_right_from_the_package_they_are_printed_by():
    assert round(Haaland(1e5, 1e-4), 7) == 0.0182651
    assert round(Colebrook(1e5, 1e-4), 7) == 0.0185139
    assert round(Swamee_Jain_1976(1e5, 1e-4), 7) == 0.0184524
