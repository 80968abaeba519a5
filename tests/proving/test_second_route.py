"""The second way to what lies: whole instruments left out, beside the name by likelihood."""

from itertools import combinations

import numpy as np
import pytest
from proof import crosscheck_cases as cases
from proof.crosscheck_power import Bench, outcome_of
from scipy.stats import chi2

from wetrun.proving.covariance import squared_length
from wetrun.proving.crosscheck import crosschecked
from wetrun.proving.elimination import _seldom, left_out, serially_eliminated
from wetrun.proving.faults import Fault, FaultKind
from wetrun.proving.power import readings_shown
from wetrun.proving.readings_evidence import balances_evidence, readings_evidence
from wetrun.proving.redundant import Kind
from wetrun.proving.second_route import Ends, second_route
from wetrun.proving.sentence import answer


def checked(reading_set, faults=(), *, width_off=0.0):
    plan = cases.plan_of(reading_set, "careful")
    readings = readings_shown(plan, faults)
    screen = cases.screen_of(readings, "careful", width_off=width_off, tape_off=0.0) if width_off else None
    return crosschecked(cases.RIG, readings, screen=screen)


WANTED = {
    "meter +5 %": ("the flow meter",),
    "speed −4 %": ("the speed source GPS",),
    "worn set +8 %": ("the tips' chart",),
    "plugged section −10 %": ("the tips' chart of section 3", "the catches of section 3"),
    "sensor +0.3 bar": ("the cab pressure",),
}


@pytest.mark.parametrize("case", cases.SINGLES[:5], ids=lambda case: case.words)
def test_without_noise_each_fault_of_the_full_set_is_reached_both_ways(case):
    route = second_route(checked("full", case.faults))
    assert route is not None
    assert route.ends is Ends.SAME
    assert len(route.dropped) == 1
    assert set(route.dropped[0]) <= set(WANTED[case.words])
    assert route.words.endswith("the rest agrees.")
    assert route.steps[-1].statistic <= route.steps[-1].limit


def test_it_asks_about_the_readings_only():
    assert second_route(checked("full")) is None
    only_width = checked("full", width_off=cases.WIDTH_OFF)
    assert only_width.named
    assert second_route(only_width) is None


def test_it_changes_nothing_of_what_is_named():
    found = checked("full", (cases.METER,))
    before = (found.named, found.statistic, found.limit)
    said = answer(found)
    assert (found.named, found.statistic, found.limit) == before
    assert said.second is not None
    assert "the rest agrees" not in said.sentence


def test_where_two_readings_only_check_each_other_both_are_listed():
    route = second_route(checked("minimal", (cases.SPEED,)))
    assert route is not None
    assert route.dropped == (("the timed course", "the speed source GPS"),)


def test_with_too_few_readings_left_no_second_way_is_claimed():
    route = second_route(checked("minimal", (cases.METER, cases.SPEED)))
    assert route is not None
    assert route.ends is Ends.NOWHERE
    assert "settles nothing" in route.words


def test_three_faults_of_which_two_can_be_named_make_the_name_less_sure():
    plan = cases.plan_of("full", "careful")
    off = [
        (Fault(FaultKind.METER), 0.06),
        (Fault(FaultKind.SPEED, name="wheel"), 0.04),
        (Fault(FaultKind.SENSOR), 0.5e5),
    ]
    found = crosschecked(cases.RIG, readings_shown(plan, off))
    route = second_route(found)
    assert route is not None
    assert len(found.named) == 2
    assert len(route.dropped) == 3
    assert route.ends is Ends.ELSEWHERE
    assert "less sure" in route.words


def test_among_right_names_it_agrees_and_among_wrong_ones_less_often():
    right: list[bool] = []
    wrong: list[bool] = []
    for level, case, runs in (("careful", cases.SINGLES[0], 60), ("typical", cases.PAIRS[0], 120)):
        bench = Bench(cases.plan_of("full", level), level, np.random.default_rng(5))
        for _ in range(runs):
            found = crosschecked(cases.RIG, bench.run(case)[0])
            route = second_route(found)
            if route is not None:
                (right if outcome_of(found, case) == "first" else wrong).append(route.ends is Ends.SAME)
    assert np.mean(right) > 0.85
    assert np.mean(wrong) <= np.mean(right)


def test_leaving_out_a_set_is_leaving_out_its_readings_one_by_one():
    found = checked("full", cases.PAIRS[0].faults).scene.found
    for pair in combinations(range(4), 2):
        one_by_one = left_out(left_out(found, pair[1:]), pair[:1])
        together = left_out(found, pair)
        assert together.redundancy == one_by_one.redundancy
        assert together.statistic == pytest.approx(one_by_one.statistic, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("cost", [1, 2, 7])
def test_far_out_the_chance_of_a_fall_goes_on_as_the_general_library_says(cost):
    falls = [0.0, 1.0, 30.0, 900.0, 1300.0, 1400.0, 1e4]
    found = [_seldom(fall, cost) for fall in falls]
    assert found == sorted(found)
    for fall, seldom in zip(falls[:5], found[:5], strict=True):
        assert seldom == pytest.approx(-chi2.logsf(fall, cost), rel=1e-3, abs=1e-9)


def test_readings_one_by_one_end_at_the_meter_too():
    found = checked("full", (cases.METER,)).scene
    gone = {found.readings[n].kind for step in serially_eliminated(found.found) for n in step.readings}
    assert gone == {Kind.METER}


@pytest.mark.parametrize("reading_set", cases.SETS)
def test_the_balances_are_as_many_as_can_break_and_hold_what_the_global_test_holds(reading_set):
    check = checked(reading_set, (cases.METER,))
    found, balances = check.scene.found, balances_evidence(check.scene)
    assert len(balances) == found.redundancy
    own = [balance.reading.place for balance in balances]
    assert len(set(own)) == len(own)
    for balance in balances:  # each has a reading that no other holds
        assert not any(balance.reading in other.others for other in balances)
    beyond = {balance.reading.kind for balance in balances if balance.stands_out}
    assert beyond == {Kind.METER}
    assert squared_length(found.residual_covariance, found.residuals) >= max(b.deviate for b in balances) ** 2


def test_a_balance_says_by_how_much_a_reading_is_off():
    by_words = {balance.reading.words: balance for balance in balances_evidence(checked("usual", (cases.METER,)).scene)}
    meter = by_words["flow meter at pressure 1"]
    assert meter.off_ratio == pytest.approx(0.05, abs=1e-6)
    assert {other.kind for other in meter.others} == {Kind.CATCH}
    assert by_words["speed source GPS"].off_ratio == pytest.approx(0.0, abs=1e-9)
    assert by_words["speed source GPS"].deviate == pytest.approx(0.0, abs=1e-6)


def test_the_limit_of_a_reading_counts_all_that_are_checked():
    few, many = (readings_evidence(checked(name).scene)[0].limit for name in ("minimal", "full"))
    assert 1.96 < few < many
