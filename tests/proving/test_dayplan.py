"""A day's plan: what the loop makes of it, what it takes, and what it leaves unproven."""

from math import sqrt

import pytest

from wetrun.errors import OutOfRange
from wetrun.proving.day_model import CATCH_S, UNPROVED, DayMachine, DayTest, Doubt, rate_sensitivities, work_loads
from wetrun.proving.dayplan import day_plan
from wetrun.quantity.registry import registry
from wetrun.sources import source
from wetrun.spray.controller import Loop
from wetrun.spray.pulse import DutySource

MINUTE = 60.0
METERED = DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1.5e-3)
BY_PRESSURE = DayMachine(loop=Loop.PRESSURE, tips=72, boom_flow_m3s=1.5e-3)


def effects(machine):
    return {d.name: float(e) for d, e in zip(Doubt, rate_sensitivities(machine), strict=True) if e != 0.0}


def test_what_matters_to_the_rate_depends_on_the_loop():
    common = {"SPEED": 1.0, "WIDTH": 1.0, "TYPED": 1.0}
    orifice = {"TIP_FLOW": 1.0, "CAB_PRESSURE": -0.5, "HOSE_LOSS": -0.5, "DENSITY": 0.5}
    assert effects(METERED) == {**common, "FOLLOWING": 1.0, "METER": -1.0}
    assert effects(BY_PRESSURE) == {**common, "FOLLOWING": 1.0, **orifice}
    by_meter = DayMachine(loop=Loop.PULSE, tips=72, boom_flow_m3s=1.5e-3)
    assert effects(by_meter) == effects(METERED)
    by_size = DayMachine(loop=Loop.PULSE, tips=72, boom_flow_m3s=1.5e-3, duty_from=DutySource.PRESSURE)
    assert effects(by_size) == {**effects(BY_PRESSURE), "DUTY": 1.0}
    assert effects(DayMachine(loop=Loop.FIXED, tips=72, boom_flow_m3s=1.5e-3)) == {**common, **orifice}


def test_a_rate_effect_is_the_slope_of_the_machine_itself():
    """The rate worked out with each error in turn; slopes by a small step."""
    step = 1e-6

    def rate(**error):
        flow = (1.0 + error.get("TIP_FLOW", 0.0)) * sqrt(
            (1.0 + error.get("DENSITY", 0.0))
            / ((1.0 + error.get("CAB_PRESSURE", 0.0)) * (1.0 + error.get("HOSE_LOSS", 0.0)))
        )
        return flow * (1.0 + error.get("SPEED", 0.0)) * (1.0 + error.get("WIDTH", 0.0))

    for name, effect in effects(BY_PRESSURE).items():
        if name not in {"TYPED", "FOLLOWING"}:
            assert (rate(**{name: step}) - 1.0) / step == pytest.approx(effect, rel=1e-5)


def test_the_catch_of_a_whole_boom_from_one_jug_takes_the_water_it_takes():
    """72 tips of size 05 at 40 psi for a minute each from one jug: about 2,600 gal, by arithmetic 2,592."""
    quantity = registry().Quantity
    flow = quantity(72 * 0.5, "gallon / minute").to_base_units().magnitude
    loads = {load.test: load for load in work_loads(DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=flow, jugs=1))}
    whole = loads[DayTest.CATCH_ALL]
    assert quantity(whole.water_m3, "m**3").to("gallon").magnitude == pytest.approx(2592.0)
    assert whole.time_s >= 72 * CATCH_S
    six = {load.test: load for load in work_loads(DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=flow, jugs=6))}
    assert six[DayTest.CATCH_ALL].water_m3 == pytest.approx(whole.water_m3 / 6)
    assert six[DayTest.CATCH_12].time_s == pytest.approx(six[DayTest.CATCH_ALL].time_s / 6)


def test_a_metered_machine_is_not_asked_to_weigh_its_carrier_for_the_rate():
    plan = day_plan(METERED, 300 * MINUTE)
    assert DayTest.WEIGHED_CARRIER not in plan.tests
    assert DayTest.WEIGHED_CARRIER in day_plan(BY_PRESSURE, 300 * MINUTE).tests
    assert plan.next_test is None
    assert plan.unproven == ()


def test_only_a_pulse_machine_is_caught_at_low_duty_and_only_a_meter_is_caught_against():
    assert DayTest.LOW_DUTY not in {load.test for load in work_loads(METERED)}
    without = DayMachine(loop=Loop.PRESSURE, tips=10, boom_flow_m3s=1e-3, has_meter=False)
    offered = {load.test for load in work_loads(without)}
    assert DayTest.METER_CATCH not in offered
    assert DayTest.CATCH_12 not in offered
    meter = list(Doubt).index(Doubt.METER)
    assert all(load.information[meter, meter] == 0.0 for load in work_loads(without))


@pytest.mark.parametrize("machine", [METERED, BY_PRESSURE])
@pytest.mark.parametrize("minutes", [20, 45, 90])
def test_what_stays_unproven_is_what_no_chosen_test_speaks_of(machine, minutes):
    plan = day_plan(machine, minutes * MINUTE)
    assert plan.time_s <= minutes * MINUTE
    for one in plan.unproven:
        assert not set(one.proved_by) & set(plan.tests)
        index = list(Doubt).index(one.doubt)
        part = (rate_sensitivities(machine)[index] * UNPROVED[one.doubt] / plan.after_frac) ** 2
        assert one.share_frac == pytest.approx(part)
    assert ("pressure along the boom, section by section" in plan.not_seen) == (DayTest.TIP_GAUGES not in plan.tests)


def test_a_machine_whose_doubt_is_all_speed_is_driven_over_a_course():
    little = dict.fromkeys(Doubt, 0.001) | {Doubt.SPEED: 0.05}
    plan = day_plan(METERED, 16 * MINUTE, unproved=little)
    assert plan.tests == (DayTest.COURSE,)
    assert plan.before_frac == pytest.approx(sqrt(0.05**2 + 4 * 0.001**2))
    assert plan.after_frac == pytest.approx(sqrt(1.0 / (1.0 / 0.05**2 + 1.0 / 0.005**2) + 4 * 0.001**2))


def test_without_water_only_dry_tests_are_chosen_and_no_time_goes_to_getting_ready():
    plan = day_plan(METERED, 90 * MINUTE, water_m3=0.0)
    assert set(plan.tests) == {DayTest.COURSE, DayTest.SETTINGS, DayTest.TAPE}
    assert (plan.water_m3, plan.time_s) == (0.0, 30 * MINUTE)


def test_bad_entries_are_refused_in_a_sentence():
    with pytest.raises(OutOfRange, match="time there is is -1"):
        day_plan(METERED, -1.0)
    with pytest.raises(OutOfRange, match="speed shown is 0"):
        day_plan(METERED, 60.0, unproved={Doubt.SPEED: 0.0})
    with pytest.raises(ValueError, match="0 jugs"):
        DayMachine(loop=Loop.METER, tips=72, boom_flow_m3s=1.0, jugs=0)


def test_the_numbers_behind_a_plan_are_called_our_own_choice():
    assert source("day-plan-own-choice").status == "common practice, no source"
