"""Plans on a typical machine: why they are what they are, what skipping does, and what cannot be reached."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wetrun.changeover.dilution import dilution
from wetrun.changeover.network import loaded_state, network_of
from wetrun.changeover.next_crop import area_above_m2, usual_next_load
from wetrun.changeover.rinse import Rinse, Way, rinse_setup
from wetrun.changeover.rinse_plan import RemedyKind, plan_sentence, rinse_plan
from wetrun.changeover.rinse_task import RinseTask, WaterSupply, acres_after, plan_steps, prepared_task
from wetrun.changeover.skipping import skip_outcomes
from wetrun.changeover.steps import Drain, SprayOut
from wetrun.changeover.tolerated import PUBLISHED, Basis, label_level, user_level
from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.machine.typical_plumbing import typical_layout
from wetrun.machine.typical_volumes import MachineClass

RATE_M3PM2, OUT_M3S = 1.4e-5, 0.003


@pytest.fixture(scope="module")
def task():
    boom = Boom(spacing_m=0.508, section_tips=(24, 24))
    network = network_of(typical_layout(MachineClass.SELF_PROPELLED, boom, tank_m3=3.8))
    load = usual_next_load(network, 3.0, rate_m3pm2=RATE_M3PM2, out_m3s=OUT_M3S, old_rate_m3pm2=RATE_M3PM2)
    return RinseTask(
        setup=rinse_setup(network, OUT_M3S),
        load=load,
        tolerated=user_level(0.02, basis=Basis.MIX),
        supply=WaterSupply(rinse_tank_m3=0.38, refills=2, step_m3=0.076),
    )


@pytest.fixture(scope="module")
def prepared(task):
    return prepared_task(task)


def known(number):
    """A number that has to be there."""
    assert number is not None
    return float(number)


def with_level(prepared, tolerated):
    return replace(prepared, task=replace(prepared.task, tolerated=tolerated))


def test_a_plan_says_what_it_reaches_what_binds_and_what_more_water_gains(prepared):
    plan = rinse_plan(prepared)
    assert plan.reached
    assert plan.left_frac <= 0.02
    assert plan.acres.peak_frac == plan.left_frac
    assert sum(share.left_frac for share in plan.shares) == pytest.approx(plan.left_frac, rel=1e-9)
    assert plan.binding.startswith("section")
    assert plan.next_step_frac is not None
    assert plan.next_step_frac < plan.left_frac
    assert plan.above_m2 == {"section 1": 0.0, "section 2": 0.0}
    assert plan.refills == -(-round(plan.water_m3 / 0.076) // 5) - 1
    assert "if nothing is bound" in plan_sentence(plan)
    assert not {"clean", "safe"} & set(plan_sentence(plan).replace(",", "").replace(".", "").split())


def test_the_steps_of_a_plan_leave_in_the_machine_what_the_plan_says(prepared):
    plan = rinse_plan(prepared)
    steps = plan_steps(prepared.task, plan.rinses)
    done = dilution(prepared.task.setup.network, prepared.task.before, steps)
    assert isinstance(steps[0], Drain)
    assert done.balance_ratio == pytest.approx(1.0, rel=1e-9)
    assert done.water_m3 == pytest.approx(plan.water_m3, rel=1e-9)
    assert prepared.rows.out_frac(done.end.old_m3).max() == pytest.approx(plan.left_frac, rel=1e-9)
    gone = done.steps[-1].old_m3
    assert gone["out of section 1"] > gone["out of boom end 1"] > 0.0


@pytest.mark.parametrize("sections", [(24, 24), (8,) * 9])
def test_of_sections_alike_the_first_is_named_not_the_one_rounding_favours(sections):
    layout = typical_layout(MachineClass.SELF_PROPELLED, Boom(spacing_m=0.508, section_tips=sections), tank_m3=3.8)
    network = network_of(layout)
    task = RinseTask(
        setup=rinse_setup(network, OUT_M3S),
        load=usual_next_load(network, 3.0, rate_m3pm2=RATE_M3PM2, out_m3s=OUT_M3S, old_rate_m3pm2=RATE_M3PM2),
        tolerated=user_level(0.02, basis=Basis.MIX),
        supply=WaterSupply(rinse_tank_m3=0.38, step_m3=0.095),
    )
    plan = rinse_plan(prepared_task(task))
    peaks = plan.acres.old_frac.max(axis=0)
    assert peaks == pytest.approx(peaks[0], rel=1e-9)
    assert plan.acres.worst_section == plan.binding == "section 1"


def test_same_water_three_ways(prepared):
    once = acres_after(prepared, [Rinse(Way.BATCH, 0.6)])
    thrice = acres_after(prepared, [Rinse(Way.BATCH, 0.2)] * 3)
    forgot = acres_after(prepared, [Rinse(Way.BATCH, 0.2)] * 3, without=("eductor",))
    assert once.end_frac > thrice.end_frac  # the tank side gains from being divided
    # And what stood in the eductor goes over the whole field: 3 L of old mix in it and 2 L in its line, in 3 m3.
    assert forgot.end_frac - thrice.end_frac == pytest.approx(0.005 / 3.0, rel=0.1)


def test_what_a_skipped_circuit_does_is_shown_for_every_circuit(prepared):
    skipped = {entry.circuit: entry for entry in skip_outcomes(prepared, [Rinse(Way.BATCH, 0.38)] * 3)}
    assert not skipped["pump"].possible
    assert skipped["section 2"].worst_section == "section 2"
    assert known(skipped["section 2"].left_frac) == pytest.approx(1.0, abs=0.01)
    assert known(skipped["section 2"].above_m2) > 0.0
    assert known(skipped["eductor"].load_frac) > known(skipped["agitation line"].load_frac) > 0.0
    assert skipped["eductor"].load_frac == pytest.approx(0.005 / 3.0, rel=0.1)
    assert list(skipped)[-1] in {"sump", "suction strainer", "pump"}
    acres = skipped["eductor"].acres
    assert acres is not None
    assert acres.dose_frac.max() == skipped["eductor"].left_frac


def test_a_level_out_of_reach_says_how_near_it_gets_what_holds_it_up_and_what_helps(prepared):
    plan = rinse_plan(with_level(prepared, PUBLISHED["dicamba-soybean-symptoms"]))
    assert not plan.reached
    assert plan.left_frac > plan.level_frac == pytest.approx(5e-5)
    kinds = {remedy.kind: remedy for remedy in plan.remedies}
    assert kinds[RemedyKind.OPEN].circuits == ("section 1", "section 2")
    assert known(kinds[RemedyKind.OPEN].left_frac) < plan.left_frac
    assert RemedyKind.MEASURE in kinds
    words = plan_sentence(plan)
    assert "the clean water there is does not reach it. Held up by section" in words
    assert "drain by hand" in words


def test_one_more_refill_is_named_where_it_reaches_the_level(prepared):
    best = rinse_plan(with_level(prepared, user_level(1e-9, basis=Basis.MIX)))
    plan = rinse_plan(with_level(prepared, user_level(0.9 * best.left_frac, basis=Basis.MIX)))
    refill = next(remedy for remedy in plan.remedies if remedy.kind is RemedyKind.REFILL)
    assert refill.refills == 1
    assert known(refill.left_frac) <= plan.level_frac


def test_other_ways_join_the_plan_when_allowed(task):
    ways = (Way.BATCH, Way.BOOM)
    joined = rinse_plan(prepared_task(replace(task, ways=ways)))
    alone = rinse_plan(prepared_task(task))
    assert joined.water_m3 <= alone.water_m3


def test_the_next_crop_curve_starts_with_what_stands_in_the_boom(prepared):
    plan = rinse_plan(prepared)
    acres = plan.acres
    assert acres.areas_m2[0] == 0.0
    assert acres.strength_frac[0].max() < 0.01  # rinse water comes out first
    assert acres.strength_frac[-1].min() > 0.97
    assert (acres.old_frac[0] > acres.old_frac[-1]).all()
    boom_m3 = sum(c.volume_m3 for c in prepared.task.setup.network.layout.sections)
    last_m2 = max(known(area_m2) for area_m2 in area_above_m2(acres, acres.peak_frac * 0.3679).values())
    feed_m3 = sum(prepared.task.setup.network.layout.circuit(n).volume_m3 for n in ("boom valve body", "boom feed"))
    assert boom_m3 < last_m2 * RATE_M3PM2 < boom_m3 + feed_m3  # to 1/e after what boom and feed hold


def test_twice_the_carrier_rate_puts_twice_the_dose_down(prepared):
    plan = rinse_plan(prepared)
    double = replace(prepared.task.load, rate_m3pm2=2.0 * RATE_M3PM2)
    level = label_level(0.01, basis=Basis.DOSE)
    assert level.in_mix_frac(double.dose_ratio) == 0.005
    assert level.from_label
    assert plan.acres.dose_frac[3, 0] == plan.acres.old_frac[3, 0]


def test_a_step_that_sprays_keeps_what_the_open_ends_need(task):
    steps = [step for step in plan_steps(task, [Rinse(Way.BATCH, 0.3)]) if isinstance(step, SprayOut)]
    floor_m3 = task.setup.network.floor_m3[task.setup.network.tank]
    assert [step.down_to_m3 for step in steps] == [pytest.approx(floor_m3 + 0.06), None]


@pytest.mark.parametrize(
    ("supply", "words"),
    [
        (WaterSupply(rinse_tank_m3=0.0, step_m3=0.02), "clean water for rinsing is 0.0 m3.*nurse tank"),
        (WaterSupply(rinse_tank_m3=0.3, step_m3=0.0), "step of rinse water"),
        (WaterSupply(rinse_tank_m3=0.3, step_m3=0.5), "step of rinse water is 0.5 m3.*5 gal or 20 L"),
        (WaterSupply(rinse_tank_m3=0.3, refills=-1, step_m3=0.02), "refills"),
    ],
)
def test_water_that_cannot_be_is_refused(task, supply, words):
    with pytest.raises(OutOfRange, match=words):
        prepared_task(replace(task, supply=supply))


def test_mix_still_in_the_tank_is_refused_when_nobody_drains_it(task):
    network = task.setup.network
    kept = replace(task, setup=rinse_setup(network, OUT_M3S, drains=False), start=loaded_state(network, tank_m3=0.5))
    with pytest.raises(OutOfRange, match="Spray it out or drain it first"):
        prepared_task(kept)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.1, float("nan")])
def test_a_level_of_nothing_or_everything_is_refused(level):
    with pytest.raises(OutOfRange, match="no rinse reaches nothing at all"):
        user_level(level, basis=Basis.MIX)


def test_too_little_water_to_fill_the_lines_is_said_so(task):
    with pytest.raises(OutOfRange, match="draws air before the lines are full"):
        dilution(task.setup.network, task.before, plan_steps(task, [Rinse(Way.BATCH, 0.001)]))


@pytest.mark.parametrize(
    ("supply", "way", "words"),
    [
        (WaterSupply(rinse_tank_m3=0.02, step_m3=0.01), Way.BATCH, "draws air before the lines are full"),
        (WaterSupply(rinse_tank_m3=0.02, step_m3=0.01), Way.CONTINUOUS, "the water only fills the lines"),
        (WaterSupply(rinse_tank_m3=9.0, step_m3=4.5), Way.BATCH, "It would run over: add less"),
    ],
)
def test_water_no_rinse_can_be_done_with_is_refused_with_the_reason_not_planned_as_no_rinse(task, supply, way, words):
    with pytest.raises((OutOfRange, NotDefined), match=words):
        rinse_plan(prepared_task(replace(task, supply=supply, ways=(way,))))


def test_no_rinse_is_a_plan_where_none_is_needed_even_if_none_could_be_done(task):
    supply = WaterSupply(rinse_tank_m3=0.02, step_m3=0.01)
    plan = rinse_plan(prepared_task(replace(task, supply=supply, tolerated=user_level(0.9999, basis=Basis.MIX))))
    assert plan.reached
    assert not plan.rinses


def test_a_way_the_machine_has_no_line_for_is_refused(task):
    layout = task.setup.network.layout
    lines = tuple(line for line in layout.lines if not line.name.startswith("clean spray"))
    network = network_of(replace(layout, lines=lines))
    with pytest.raises(NotDefined, match="Rinse through the tank"):
        plan_steps(replace(task, setup=rinse_setup(network, OUT_M3S)), [Rinse(Way.BOOM, 0.1)])
