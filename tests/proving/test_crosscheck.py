"""The cross-check on readings without noise: what it names, what it cannot tell, what it cannot see."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from proof import crosscheck_cases as cases
from proof.crosscheck_power import Bench

from wetrun.errors import NotDefined
from wetrun.machine.boom import Boom
from wetrun.proving.balances import assembled, machine_balances
from wetrun.proving.budget import Budget, Component
from wetrun.proving.candidates import candidates
from wetrun.proving.crosscheck import crosschecked
from wetrun.proving.curvature import residual_bends
from wetrun.proving.faults import Fault, FaultKind
from wetrun.proving.further import SCREEN, further_for_unseen, further_reading
from wetrun.proving.identify import scene_of
from wetrun.proving.identity import identity_of
from wetrun.proving.instruments import Truth, shown, truth_told
from wetrun.proving.power import readings_shown
from wetrun.proving.readings_evidence import readings_evidence
from wetrun.proving.reconcile import projected
from wetrun.proving.redundant import Kind, Reading, Rig, Tool, cause_table
from wetrun.proving.sentence import answer
from wetrun.proving.steady import points_of
from wetrun.quantity.registry import registry
from wetrun.spray.controller import Loop
from wetrun.spray.orifice import FlowRows, law_of_iso_size

PLACES = list(product(cases.SETS, cases.LEVELS))
BAR = registry().Quantity(1.0, "bar").to("Pa").magnitude


def checked(reading_set, faults=(), *, width_off=0.0, level="careful"):
    plan = cases.plan_of(reading_set, level)
    readings = readings_shown(plan, faults)
    screen = None if plan.screen is None else cases.screen_of(readings, level, width_off=width_off, tape_off=0.0)
    return crosschecked(cases.RIG, readings, screen=screen)


def kinds(unseen):
    return {fault.kind for fault in unseen.faults}


def names(explanation):
    return {sized.fault for sized in explanation.faults}


@pytest.mark.parametrize(("reading_set", "level"), PLACES)
def test_exact_readings_leave_nothing(reading_set, level):
    found = checked(reading_set, level=level)
    assert found.statistic == pytest.approx(0.0, abs=1e-9)
    assert not found.alarm
    assert found.named == ()
    assert answer(found).sentence == "All readings agree within their uncertainties."


@pytest.mark.parametrize("state", ["speed_mps", "tip_pa", "hose_ratio", "section_ratios"])
def test_nothing_the_machine_may_really_do_breaks_a_balance(state):
    # The balances are written down as relations, the instruments run forward: two ways to one machine.
    plan = cases.plan_of("full", "careful")
    points = points_of(cases.RIG, plan.readings)
    rows, right = projected(assembled(plan.readings, machine_balances(cases.RIG, points))[0])
    truth = plan.truth
    moved = {
        "speed_mps": replace(truth, speed_mps=1.3 * truth.speed_mps),
        "tip_pa": replace(truth, tip_pa={1: 2.0 * BAR * 1.001, 2: 4.0 * BAR * 0.998}),
        "hose_ratio": replace(truth, hose_ratio=1.01),
        "section_ratios": replace(truth, section_ratios=(1.001, 1.0, 0.999, 1.0, 1.002, 1.0, 0.998)),
    }[state]
    logs = shown(cases.RIG, plan.readings, moved)
    # What chart and hose figure say follows the truth here: they are read, and right.
    ratios = {Kind.HOSE: lambda _: moved.hose_ratio, Kind.CHART: lambda n: moved.section_ratios[n - 1]}
    right_logs = [
        np.log(ratios[r.kind](r.section)) if r.kind in ratios else log
        for r, log in zip(plan.readings, logs, strict=True)
    ]
    assert rows @ np.array(right_logs) == pytest.approx(right, abs=3e-6)


def test_each_fault_is_named_alone_by_the_full_set():
    for case in cases.SINGLES:
        found = checked("full", case.faults, width_off=case.width_off)
        wanted = case.faults[0] if case.faults else (Fault(FaultKind.WIDTH), case.width_off)
        assert names(found.named[0]) == {wanted[0]}, case.words
        sized = found.named[0].faults[0]
        assert abs(sized.size - wanted[1]) < (0.002 if not case.faults else 3e-3 * abs(wanted[1])), case.words
        assert sized.expanded > 0.0
        assert len(found.named) == 1


def test_pairs_are_named_together_by_the_full_set():
    for case in cases.PAIRS:
        found = checked("full", case.faults, width_off=case.width_off)
        wanted = {fault for fault, _ in case.faults} | ({Fault(FaultKind.WIDTH)} if case.width_off else set())
        assert {fault for explanation in found.named for fault in names(explanation)} == wanted, case.words
        assert found.or_pairs == ()


def test_one_pressure_cannot_tell_wear_from_an_offset_and_a_gauge_at_the_tip_can():
    found = checked("usual", (cases.WORN,))
    assert names(found.named[0]) == {Fault(FaultKind.TIPS), Fault(FaultKind.SENSOR)}
    further = further_reading(found)
    assert further is not None
    assert further.words == "a gauge at a tip at pressure 1"
    assert further.apart == further.pairs == 1
    said = answer(found, pressure_words=lambda pa: f"{pa / BAR:.2f} bar").sentence
    assert said.startswith("Either the tips let through 8.0 % more than their chart")
    assert "the cab pressure sensor shows 0.51 bar too low" in said
    assert said.endswith("these readings cannot tell which, and a gauge at a tip at pressure 1 would tell.")


def test_two_pressures_alone_part_an_additive_offset_from_wear():
    plan = cases.plan_of("full", "careful")
    kept = tuple(r for r in plan.readings if r.kind not in {Kind.GAUGE, Kind.TANK})
    scene = scene_of(cases.RIG, kept)
    assert not any({Fault(FaultKind.TIPS), Fault(FaultKind.SENSOR)} <= set(group.faults) for group in scene.groups)
    one = scene_of(cases.RIG, tuple(r for r in kept if r.point != 2))
    assert any({Fault(FaultKind.TIPS), Fault(FaultKind.SENSOR)} <= set(group.faults) for group in one.groups)


def test_a_sign_that_cannot_be_takes_a_fault_out_of_its_group():
    more = checked("minimal", ((Fault(FaultKind.TIPS), 0.10),))
    assert Fault(FaultKind.STRAINER, section=3) not in names(more.named[0])
    less = checked("minimal", ((Fault(FaultKind.TIPS), -0.10),))
    assert Fault(FaultKind.STRAINER, section=3) in names(less.named[0])


def test_density_and_tip_count_leave_no_trace_in_a_water_run_under_flow_feedback():
    found = checked("full")
    assert {fault.kind for fault in found.unseen} == {FaultKind.DENSITY, FaultKind.COUNT}
    assert [unseen.words for unseen in further_for_unseen(found) if FaultKind.WIDTH not in kinds(unseen)] == [""]
    bare = checked("minimal")
    assert Fault(FaultKind.WIDTH) in bare.unseen
    shown_by = {unseen.words: kinds(unseen) for unseen in further_for_unseen(bare)}
    assert shown_by == {SCREEN: {FaultKind.WIDTH}, "": {FaultKind.DENSITY, FaultKind.COUNT}}


def test_what_these_readings_cannot_see_is_shown_by_the_most_useful_reading_first():
    plan = cases.plan_of("minimal", "careful")
    found = crosschecked(cases.RIG, [r for r in plan.readings if r.kind is not Kind.METER])
    first, *_, last = further_for_unseen(found)
    assert first.words == "catches of every section at pressure 1"
    assert kinds(first) == {FaultKind.TIPS, FaultKind.STRAINER, FaultKind.SENSOR}
    assert first.sentence.endswith(
        "a plugged section strainer (any of 7): catches of every section at pressure 1 would show it"
    )
    assert last.sentence.endswith("no reading on water shows it; look it up in the monitor")
    told = [fault for unseen in further_for_unseen(found) for fault in unseen.faults]
    assert sorted(told, key=str) == sorted(found.unseen, key=str)


def test_the_reading_that_would_show_it_does():
    plan = cases.plan_of("minimal", "careful")
    found = crosschecked(cases.RIG, [r for r in plan.readings if r.kind is not Kind.CAB])
    more = {each.words: each.scene for each in candidates(found.scene)}
    for unseen in further_for_unseen(found):
        if unseen.words in more:
            assert not set(unseen.faults) & set(more[unseen.words].unseen)


def test_nothing_is_asked_for_that_the_machine_has_not():
    plan = cases.plan_of("minimal", "careful")
    dry = [r for r in plan.readings if r.kind not in {Kind.METER, Kind.CAB}]
    pumped = replace(cases.RIG, loop=Loop.PRESSURE, high_pa=5.0 * BAR)
    gauge = readings_shown(cases.plan_of("full", "careful"), ())
    kept = (*dry, *(r for r in gauge if r.kind is Kind.GAUGE and r.point == 1))  # at 2 bar
    asked = [each.words for each in candidates(scene_of(pumped, kept))]
    assert not any("flow meter" in words for words in asked)
    assert "the same readings at twice the pressure" in asked
    asked = [each.words for each in candidates(scene_of(replace(pumped, low_pa=BAR, high_pa=3.0 * BAR), kept))]
    assert "the same readings at half the pressure" in asked
    asked = [each.words for each in candidates(scene_of(replace(pumped, low_pa=1.5 * BAR, high_pa=3.0 * BAR), kept))]
    assert not any("the same readings" in words for words in asked)


def test_a_tip_known_by_its_rows_is_not_sent_beyond_them():
    rows = FlowRows((1.0 * BAR, 2.0 * BAR, 3.0 * BAR), (1e-5, 1.4e-5, 1.7e-5), 1000.0, "caught")
    plan = cases.plan_of("full", "careful")
    kept = [r for r in plan.readings if r.kind in {Kind.GAUGE, Kind.CHART} and r.point != 2]
    asked = [each.words for each in candidates(scene_of(replace(cases.RIG, law=rows), kept))]
    assert asked
    assert "the same readings at twice the pressure" not in asked


def test_the_monitors_rate_is_never_a_row_and_its_identity_finds_the_width():
    found = checked("usual", width_off=cases.WIDTH_OFF)
    assert found.statistic < found.limit
    assert found.alarm
    assert names(found.named[0]) == {Fault(FaultKind.WIDTH)}
    assert found.identity is not None
    assert found.identity.low_m < 42.0 < found.identity.high_m  # 84 bodies typed as 50 cm apart


def test_an_exact_screen_raises_no_alarm_whatever_the_last_digits():
    plan = cases.plan_of("usual", "careful")
    for n in range(200):
        readings = tuple(replace(r, value=r.value * (1.0 + 0.001 * n)) for r in plan.readings)
        seen = identity_of(cases.screen_of(readings, "careful", width_off=0.0, tape_off=0.0))
        assert seen.excess == 0.0
        assert seen.chance_frac == 1.0


def test_without_a_meter_the_identity_cannot_tell_width_density_and_count():
    plan = cases.plan_of("usual", "careful")
    screen = cases.screen_of(plan.readings, "careful", width_off=-0.05, tape_off=0.0)
    found = crosschecked(cases.RIG, plan.readings, screen=replace(screen, loop=Loop.PRESSURE))
    assert {fault.kind for fault in names(found.named[0])} == {FaultKind.WIDTH, FaultKind.DENSITY, FaultKind.COUNT}


def test_three_ways_to_one_flow_cannot_tell_which_two_are_wrong():
    found = checked("usual", (cases.METER, cases.WORN))
    pairs = [{fault for e in pair for fault in names(e)} for pair in (found.named, *found.or_pairs)]
    assert len(pairs) == 3
    assert {Fault(FaultKind.METER), Fault(FaultKind.TIPS), Fault(FaultKind.SENSOR)} in pairs
    assert {Fault(FaultKind.METER), Fault(FaultKind.TOOL, tool=Tool.SCALE)} in pairs
    assert "cannot tell which two" in answer(found).sentence


def test_any_subset_of_the_readings_is_taken():
    plan = cases.plan_of("full", "typical")
    for n in range(len(plan.readings)):
        rest = plan.readings[:n] + plan.readings[n + 1 :]
        assert not crosschecked(cases.RIG, rest).alarm
    speeds = [r for r in plan.readings if r.kind in {Kind.COURSE, Kind.SPEED}]
    assert crosschecked(cases.RIG, speeds).scene.found.redundancy == 3
    assert crosschecked(cases.RIG, speeds[:1]).scene.found.redundancy == 0
    caught = [r for r in plan.readings if r.kind in {Kind.CATCH, Kind.TANK, Kind.CHART}]
    assert not crosschecked(cases.RIG, caught).alarm


def test_the_answer_does_not_depend_on_the_order_of_the_readings():
    plan = cases.plan_of("full", "careful")
    readings = readings_shown(plan, (cases.SENSOR,))
    there, back = crosschecked(cases.RIG, readings), crosschecked(cases.RIG, readings[::-1])
    assert back.statistic == pytest.approx(there.statistic, rel=1e-9)
    assert names(back.named[0]) == names(there.named[0])
    assert back.named[0].faults[0].size == pytest.approx(there.named[0].faults[0].size, rel=1e-6)


def test_shared_causes_are_covariances_and_a_common_scale_hides_nothing_between_sections():
    plan = cases.plan_of("usual", "typical")
    table = cause_table(plan.readings)
    caught = [n for n, r in enumerate(plan.readings) if r.kind is Kind.CATCH]
    course = next(n for n, r in enumerate(plan.readings) if r.kind is Kind.COURSE)
    scale, watch = (cases.NOISE[name].percent[1] / 100.0 for name in ("scale", "stopwatch"))
    assert table.covariance[caught[0], caught[1]] == pytest.approx(scale**2 + watch**2)
    assert table.covariance[course, caught[0]] == pytest.approx(watch**2)


def test_the_trace_of_a_fault_does_not_depend_on_where_the_loop_has_put_the_pressure():
    # A controller would answer wear with less pressure: along the balances, which nothing here can see.
    plan = cases.plan_of("full", "careful")
    points = points_of(cases.RIG, plan.readings)
    truth = truth_told(cases.RIG, plan.readings, points)
    scene = scene_of(cases.RIG, plan.readings)
    worn = shown(cases.RIG, plan.readings, truth, [(Fault(FaultKind.TIPS), 1e-4)])
    eased = replace(truth, tip_pa={n: pa / (1.0 + 1e-4) ** 2 for n, pa in truth.tip_pa.items()})
    held = shown(cases.RIG, plan.readings, eased, [(Fault(FaultKind.TIPS), 1e-4)])
    assert scene.whitened(held) == pytest.approx(scene.whitened(worn), abs=1e-4)
    flows = [n for n, r in enumerate(plan.readings) if r.kind is Kind.METER]
    assert held[flows] == pytest.approx(shown(cases.RIG, plan.readings, truth)[flows], abs=1e-9)


def test_only_the_loss_of_the_hoses_bends_the_residuals():
    plan = cases.plan_of("usual", "typical")
    scene = scene_of(plan.rig, plan.readings)
    bends = np.linalg.norm(residual_bends(scene, plan.truth, ()), axis=0)
    hose = next(n for n, r in enumerate(plan.readings) if r.kind is Kind.HOSE)
    column = int(np.argmax(np.abs(scene.table.effects[hose])))
    assert int(np.argmax(bends)) == column
    assert 0.03 < bends[column] < 0.15
    assert np.delete(bends, column).max() < 0.2 * bends[column]


def test_bad_readings_are_refused_with_a_remedy():
    sure = Budget((Component("all", 0.01),))
    with pytest.raises(NotDefined, match="above zero"):
        Reading(Kind.METER, 0.0, sure, 1)
    with pytest.raises(NotDefined, match="no uncertainty"):
        Reading(Kind.METER, 1.0, Budget(()), 1)
    rig = Rig(boom=Boom(spacing_m=0.5, section_tips=(12, 12)), law=law_of_iso_size("04"))
    with pytest.raises(NotDefined, match="no such section"):
        crosschecked(rig, [Reading(Kind.CATCH, 1e-4, sure, 1, 3), Reading(Kind.CAB, 3e5, sure, 1)])
    parts = [Component("watch", 0.01, freedom=n, cause="watch") for n in (3.0, 4.0)]
    two = [Reading(Kind.SPEED, 1.0, Budget((part,)), name=str(n)) for n, part in enumerate(parts)]
    with pytest.raises(ValueError, match="degrees of freedom differ"):
        cause_table(two)


def test_the_truth_is_found_again_from_faultless_readings():
    plan = cases.plan_of("full", "careful")
    told = truth_told(cases.RIG, plan.readings, points_of(cases.RIG, plan.readings))
    assert isinstance(told, Truth)
    assert told.tip_pa == pytest.approx(plan.truth.tip_pa)
    cab_only = [r for r in plan.readings if r.kind is Kind.CAB]
    assert points_of(cases.RIG, cab_only)[0].tip_pa == pytest.approx(2.0 * BAR, rel=1e-9)
    metered = [r for r in plan.readings if r.kind is Kind.METER]
    assert points_of(cases.RIG, metered)[1].tip_pa == pytest.approx(4.0 * BAR, rel=1e-9)


def test_the_evidence_shows_every_reading_beside_what_it_becomes():
    found = checked("full", (cases.SPEED,))
    shown_evidence = readings_evidence(found.scene)
    out = [line.reading.name for line in shown_evidence if line.stands_out]
    assert "GPS" in out
    worst = max(shown_evidence, key=lambda line: line.deviate)
    assert worst.reading.name == "GPS"
    assert -0.04 < worst.off_ratio < -0.02
    assert all(0.0 <= line.adjustability_frac < 1.0 for line in shown_evidence)
    alone = crosschecked(cases.RIG, [found.scene.readings[0]])
    assert readings_evidence(alone.scene)[0].deviate == 0.0


def test_the_stated_interval_covers_the_size_of_the_fault():
    bench = Bench(cases.plan_of("full", "careful"), "careful", np.random.default_rng(7))
    covered, named = 0, 0
    for _ in range(150):
        readings, screen = bench.run(cases.SINGLES[4])
        first = crosschecked(cases.RIG, readings, screen=screen).named[0]
        named += 1
        covered += abs(first.faults[0].size - cases.SENSOR[1]) <= first.faults[0].expanded
    assert named == 150
    assert covered / named > 0.95 - 3.0 * (0.95 * 0.05 / named) ** 0.5
