"""What follows a catch: swap test, new reference tips, pulse width, plan of the catch, cost of wear, next check."""

from dataclasses import replace

import numpy as np
import pytest

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.catch import catch_result
from wetrun.proving.catch_flow import caught_tips
from wetrun.proving.catch_plan import CatchJob, CatchWay, catch_plan, catch_plans
from wetrun.proving.catch_pulse import pulse_findings, run_at_duty
from wetrun.proving.catch_reference import reference_wear
from wetrun.proving.catch_remedy import BoomState, Remedy, remedy_for
from wetrun.proving.catch_rules import rule_of
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.proving.catch_wear import SeasonUse, next_check, wear_cost
from wetrun.proving.swap import SwapDoubt, SwapOutcome, SwapReading, swap_verdict
from wetrun.proving.uncertainty import Budget, judged
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.orifice import law_of_us_size
from wetrun.spray.pulse import DutySource, PulseSetting

LAW = law_of_us_size("05")
GALLON = 231 * 0.0254**3
PRESSURE = 275_790.29
SEASON = SeasonUse(sprayed_m2=2e7, rate_m3pm2=1.4e-5, product_cents=12_000_000)


# ---------------------------------------------------------------------------------------------------------- swap test


@pytest.mark.parametrize(
    ("after", "outcome"),
    [
        ((1.00, 1.12), SwapOutcome.TIP),
        ((1.12, 1.00), SwapOutcome.BODY),
        ((1.00, 1.01), SwapOutcome.GONE),
        ((1.06, 1.06), SwapOutcome.BOTH),
    ],
)
def test_the_fault_follows_the_tip_or_stays_with_the_body(after, outcome):
    found = swap_verdict(SwapReading(1.12, 1.00), SwapReading(*after), SwapDoubt(0.005, 0.005, spread_frac=0.012))
    assert found.outcome is outcome


def test_a_fault_within_the_reading_cannot_be_told():
    found = swap_verdict(SwapReading(1.02, 1.00), SwapReading(1.01, 1.01), SwapDoubt(0.02, 0.02, spread_frac=0.012))
    assert found.outcome is SwapOutcome.UNDECIDED
    assert set(found.possible) >= {SwapOutcome.TIP, SwapOutcome.BODY}


def test_a_dry_place_needs_no_swap():
    with pytest.raises(NotDefined, match="no flow"):
        swap_verdict(SwapReading(0.0, 1.0), SwapReading(1.0, 1.0), SwapDoubt(0.005, 0.005, spread_frac=0.01))


# ----------------------------------------------------------------------------------------------------- reference tips


def test_new_tips_on_the_same_boom_show_wear_whatever_the_gauge_says():
    ratios = np.full(24, 1.08)
    ratios[[3, 12, 20]] = (1.002, 0.998, 1.000)
    flow = LAW.flow_m3s(PRESSURE, 998.2)
    rows = tuple(TipReading(tip=n, volume_m3=float(60 * flow * r)) for n, r in enumerate(ratios, 1))
    run = CatchRun(readings=rows, section_tips=(24,), law=LAW, pressure_pa=PRESSURE, time_s=60.0)
    by_gauge = [reference_of(replace(run, pressure_pa=shown)) for shown in (PRESSURE, 0.8 * PRESSURE)]
    assert [found.wear_ratio for found in by_gauge] == pytest.approx([1.08, 1.08], rel=1e-3)
    assert by_gauge[0].doubt.expanded() < 0.01


def reference_of(run, new=(4, 13, 21)):
    tips = caught_tips(run)
    return reference_wear([t for t in tips if t.tip not in new], [t for t in tips if t.tip in new])


def test_one_new_tip_says_nothing_of_how_new_tips_scatter():
    with pytest.raises(NotDefined):
        reference_of(pulsed_run(1.0), new=(4,))


# -------------------------------------------------------------------------------------------------------- pulse width


def pulsed_run(duty, weak=None):
    ratios = np.exp(np.random.default_rng(4).normal(0.0, 0.01, 72))
    flows = ratios * LAW.flow_m3s(PRESSURE, 998.2) * duty
    noise = np.exp(np.random.default_rng(round(100 * duty)).normal(0.0, 0.004, 72))
    for tip, factor in (weak or {}).items():
        flows[tip - 1] *= factor
    rows = tuple(TipReading(tip=n, volume_m3=float(60 * q)) for n, q in enumerate(flows * noise, 1))
    tools = CatchInstruments(jug_m3=5e-6)
    return CatchRun(
        readings=rows, section_tips=(12,) * 6, law=LAW, pressure_pa=PRESSURE, time_s=60.0, instruments=tools
    )


def test_a_weak_solenoid_passes_at_full_and_fails_at_low_duty():
    full = catch_result(pulsed_run(1.0), rule_of("boom-5"))
    low = catch_result(run_at_duty(pulsed_run(0.35, {30: 0.88, 50: 0.0}), 0.35), rule_of("boom-5"))
    assert not any(tip.unlike for tip in full.tips)
    late, silent = pulse_findings(full, low)
    assert (late.tip, silent.tip) == (30, 50)
    assert late.passes_full
    assert "opens late" in late.words
    assert low.level.value == pytest.approx(1.0, abs=0.01)


def test_a_worn_tip_is_worn_at_every_duty_and_no_weak_solenoid():
    full = catch_result(pulsed_run(1.0, {30: 1.12}), rule_of("boom-5"))
    low = catch_result(run_at_duty(pulsed_run(0.35, {30: 1.12}), 0.35), rule_of("boom-5"))
    assert [tip.caught.tip for tip in full.tips if tip.unlike] == [30]
    assert pulse_findings(full, low) == ()


def test_a_duty_in_per_cent_is_refused():
    with pytest.raises(OutOfRange, match="duty"):
        run_at_duty(pulsed_run(1.0), 35.0)


# ------------------------------------------------------------------------------------------------------ plan of a catch


JOB = CatchJob(section_tips=(12,) * 6, tip_flow_m3s=LAW.flow_m3s(PRESSURE), catch_s=60.0, between_s=30.0)


def test_one_jug_under_72_tips_of_size_05_takes_about_2600_gallons():
    plan = catch_plan(JOB)
    assert plan.catches == 72
    assert plan.water_m3 / GALLON == pytest.approx(2592, abs=1)
    assert plan.time_s == 72 * 90


def test_twelve_jugs_take_a_twelfth_and_sections_take_a_sixth_of_one_jug():
    assert catch_plan(replace(JOB, jugs=12)).water_m3 == pytest.approx(catch_plan(JOB).water_m3 / 12)
    assert catch_plan(replace(JOB, way=CatchWay.BY_SECTION)).water_m3 == pytest.approx(catch_plan(JOB).water_m3 / 6)


def test_a_boom_left_on_between_catches_runs_water_then_too():
    assert catch_plan(replace(JOB, runs_between=True)).water_m3 == pytest.approx(catch_plan(JOB).water_m3 * 1.5)


def test_the_ways_to_catch_come_with_the_least_water_first():
    plans = catch_plans(JOB)
    assert [plan.water_m3 for plan in plans] == sorted(plan.water_m3 for plan in plans)
    assert {plan.way for plan in plans} == set(CatchWay)
    assert plans[-1].jugs == 1


@pytest.mark.parametrize("wrong", [{"jugs": 0}, {"catch_s": 0.0}, {"tip_flow_m3s": 0.0}, {"between_s": -1.0}])
def test_a_plan_of_nothing_is_refused(wrong):
    with pytest.raises(OutOfRange):
        catch_plan(replace(JOB, **wrong))


# --------------------------------------------------------------------------------------------------------- cost of wear


def machine(loop, pulse=None):
    return Hydraulics(loop=loop, law=LAW, low_pa=1e5, high_pa=6e5, tips=72, pulse=pulse)


@pytest.mark.parametrize("loop", [Loop.PRESSURE, Loop.FIXED])
def test_where_nothing_holds_the_rate_wear_costs_product(loop):
    cost = wear_cost(machine(loop), 1.08, SEASON)
    assert cost.over_m3 == pytest.approx(0.08 * 2e7 * 1.4e-5)
    assert cost.over_cents == 960_000


def test_under_a_flow_meter_wear_costs_pressure_class_range_and_evenness_but_no_product():
    cost = wear_cost(machine(Loop.METER), 1.10, SEASON, cv_frac=0.04)
    assert cost.over_m3 is cost.over_cents is None
    assert cost.pressure_ratio == pytest.approx(0.826, abs=5e-4)  # reference value of the trade rules
    assert cost.least_speed_ratio == pytest.approx(1.10)
    for lost in ("pressure", "coarser", "slow", "4.0 %"):
        assert lost in cost.words


def test_pulse_width_from_the_meter_costs_no_product_either():
    from_meter = PulseSetting(frequency_hz=10.0, set_pressure_pa=2.8e5, duty_from=DutySource.METER)
    cost = wear_cost(machine(Loop.PULSE, from_meter), 1.05, SEASON)
    assert cost.over_cents is None
    assert "duty" in cost.words


def test_the_next_check_is_before_the_limit_by_either_law():
    check = next_check(3.6e5, 1.05, 1.10, expanded=0.01)
    assert check.expected_s == pytest.approx(4 * 3.6e5)
    assert check.earliest_s == pytest.approx(3.6e5 * 0.10 / 0.06)
    assert check.earliest_s < check.expected_s
    assert "within its own doubt" in next_check(3.6e5, 1.005, 1.10, expanded=0.01).words
    with pytest.raises(OutOfRange, match="wear over new"):
        next_check(3.6e5, 1.12, 1.10)


def test_plumbing_comes_before_tips_and_questions_before_plumbing():
    level = judged(1.02, Budget(()), high=1.10)
    state = BoomState(level, (3,), 72, plumbing=True, asked=True)
    assert remedy_for(state)[0] is Remedy.ASK
    assert remedy_for(replace(state, asked=False))[0] is Remedy.PLUMBING
    assert remedy_for(replace(state, asked=False, plumbing=False))[0] is Remedy.TIPS
