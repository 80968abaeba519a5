"""The answer to a clean-out holds together: same water in three ways, every step told, yard list by its plan."""

from dataclasses import replace

import numpy as np
import pytest

from wetrun.changeover.answer import changeover_answer
from wetrun.changeover.network import network_of
from wetrun.changeover.question import ChangeoverQuestion, TankUse, WinterWish, Written, rinse_task
from wetrun.changeover.rinse_plan import planned
from wetrun.changeover.rinse_task import WaterSupply
from wetrun.changeover.same_water import forgotten_circuit
from wetrun.changeover.tolerated import PUBLISHED, Basis, user_level
from wetrun.changeover.yard_circuits import circuit_flushes
from wetrun.changeover.yard_job import Cleaner
from wetrun.changeover.yard_step import StepKind
from wetrun.errors import NotDefined
from wetrun.machine.boom import Boom
from wetrun.machine.circuits import CircuitKind
from wetrun.machine.typical_plumbing import layout_with_extra, typical_layout
from wetrun.machine.typical_volumes import MachineClass

BOOM = Boom(spacing_m=0.5, section_tips=(12, 18))


def layout_of(**options):
    return typical_layout(MachineClass.TRAILED, BOOM, tank_m3=2.0, rinse_tank_m3=0.2, **options)


def asked(**changes):
    rate_m3pm2, speed_mps = 1.5e-5, 3.0
    question = ChangeoverQuestion(
        machine="Number 3",
        earlier=TankUse(name="Post", crop="soybeans", contents=("Grassend",), rate_m3pm2=rate_m3pm2),
        later=TankUse(name="Fungicide", crop="corn", contents=("Leafguard",), rate_m3pm2=rate_m3pm2),
        layout=layout_of(),
        section_tips=BOOM.section_tips,
        tolerated=PUBLISHED["nozzle-rinsate-denmark"],
        supply=WaterSupply(rinse_tank_m3=0.2, refills=1, step_m3=0.02),
        load_m3=1.8,
        out_m3s=rate_m3pm2 * BOOM.width_m * speed_mps,
        speed_mps=speed_mps,
        most_rinses=3,
    )
    return replace(question, **changes)


@pytest.fixture(scope="module")
def answer():
    return changeover_answer(asked())


def test_the_plan_is_that_of_the_task_alone(answer):
    question = answer.question
    alone = planned(rinse_task(question, network_of(question.layout)))
    assert answer.plan.rinses == alone.rinses
    assert answer.plan.left_frac == alone.left_frac <= alone.level_frac
    assert answer.plan.reached


def test_the_same_water_is_the_same_water(answer):
    assert [way.key for way in answer.three_ways] == ["one rinse", "equal rinses", "one forgotten"]
    for way in answer.three_ways:
        assert way.water_m3 == pytest.approx(answer.plan.water_m3)
        assert way.cannot == ""
        assert way.mean_frac <= way.peak_frac
        assert way.peak_frac == pytest.approx(way.worst_curve_frac.max())
    one, equal, forgotten = answer.three_ways
    assert one.mean_frac > equal.mean_frac
    assert forgotten.without == ("eductor",)
    assert forgotten.end_frac > equal.end_frac
    assert forgotten.mean_frac > equal.mean_frac


def test_the_mean_over_the_load_is_the_old_mix_that_leaves_over_the_mix_that_leaves(answer):
    """By hand: each section's curve integrated over what it sprays, its tips being its share of the boom."""
    way = answer.three_ways[1]
    tips = np.array(BOOM.section_tips, dtype=float)
    total = sum(
        share * np.trapezoid(way.acres.old_frac[:, n], way.areas_m2) for n, share in enumerate(tips / tips.sum())
    )
    assert way.mean_frac == pytest.approx(total / way.areas_m2[-1])


def test_a_way_that_cannot_be_done_says_why():
    """All of the water at once does not fit a tank this small; in parts it does."""
    small = layout_of()
    tank = replace(small.tank, volume_m3=0.15)
    layout = replace(small, circuits=(tank, *small.circuits[1:]))
    found = changeover_answer(asked(layout=layout, load_m3=0.13))
    one = found.three_ways[0]
    assert found.plan.water_m3 > tank.volume_m3
    assert one.acres is None
    assert one.cannot
    assert one.mean_frac is one.peak_frac is one.above_m2 is None
    assert one.areas_m2.size == 0


def test_every_step_of_the_plan_is_there_with_every_circuit(answer):
    names = {circuit.name for circuit in answer.circuits}
    assert all(set(step.concentrations_frac) == names for step in answer.steps)
    assert sum(step.after.water_m3 for step in answer.steps) == pytest.approx(answer.plan.water_m3)
    assert [step.rinse for step in answer.after_rinses] == list(range(1, len(answer.plan.rinses) + 1))
    assert answer.steps[0].rinse == 0
    tank = [step.concentrations_frac["tank"] for step in answer.after_rinses]
    assert tank == sorted(tank, reverse=True)


def test_the_yards_list_has_the_plans_water_and_every_setting_in_every_rinse(answer):
    fills = [step.water_m3 for step in answer.yard.steps if step.kind is StepKind.RINSE and step.water_m3]
    assert fills == [rinse.water_m3 for rinse in answer.plan.rinses]
    circuits = [step for step in answer.yard.steps if step.kind is StepKind.CIRCUIT]
    assert len(circuits) == len(answer.plan.rinses) * len(answer.flush_settings)
    assert answer.record is None
    assert answer.winter == answer.spring == ()


def test_what_no_valve_reaches_is_told_and_flushed_by_hand():
    layout = layout_with_extra(layout_of(ends_open=False), CircuitKind.FOAM_MARKER)
    by_hand = [flush for flush in circuit_flushes(layout) if "by hand" in flush.valves]
    assert [flush.circuit for flush in by_hand] == ["boom end 1 to 2", "foam marker"]
    found = changeover_answer(asked(layout=layout))
    assert [each.circuit for each in found.never_rinsed] == ["boom end 1", "boom end 2", "foam marker"]
    assert sum("is never rinsed" in caution for caution in found.cautions) == len(found.never_rinsed)


def test_a_level_out_of_reach_is_a_result():
    found = changeover_answer(asked(tolerated=user_level(1e-7, basis=Basis.MIX)))
    assert not found.plan.reached
    assert found.plan.left_frac > 1e-7
    assert found.plan.remedies
    assert found.three_ways


def test_one_rinse_enough_is_still_held_against_three():
    found = changeover_answer(asked(tolerated=user_level(0.5, basis=Basis.MIX)))
    assert len(found.plan.rinses) == 1
    assert [len(way.rinses) for way in found.three_ways] == [1, 3, 3]


def test_bleach_with_ammonia_is_refused_before_anything_is_worked_out():
    told: list[str] = []
    cleaners = (Cleaner(name="Chlorine bleach"), Cleaner(name="Household ammonia"))
    with pytest.raises(NotDefined, match="toxic gas"):
        changeover_answer(asked(cleaners=cleaners), progress=told.append)
    assert told == []


def test_winter_and_record_when_asked_for():
    found = changeover_answer(asked(winter=WinterWish(antifreeze="Frostline."), written=Written(signed_by="A. Reed")))
    assert any("Frostline." in step.do for step in found.winter)
    assert found.spring
    assert found.record is not None
    assert not found.record.complete


def test_new_mix_is_thin_at_first_and_near_full_later(answer):
    thin = answer.strength
    assert 0.0 <= thin.first_drop_frac < 0.5
    assert thin.first_drop_frac < thin.end_frac <= 1.0
    assert thin.full_after_m2 is not None
    at = np.searchsorted(answer.plan.acres.areas_m2, thin.full_after_m2)
    assert (answer.plan.acres.strength_frac[at:].min(axis=1) >= 0.99 * thin.end_frac).all()


def test_where_there_is_no_eductor_another_circuit_is_the_forgotten_one():
    layout = layout_of()
    lines = tuple(line for line in layout.lines if "eductor" not in line.through)
    assert forgotten_circuit(layout) == "eductor"
    assert forgotten_circuit(replace(layout, lines=lines)) == "load line"
    assert forgotten_circuit(replace(layout, lines=())) is None


@pytest.mark.parametrize(
    ("level", "words"),
    [
        (PUBLISHED["dicamba-soybean-yield"], "stay well below"),
        (PUBLISHED["nozzle-rinsate-france"], "not made for the next crop"),
    ],
)
def test_a_level_is_told_for_what_it_is(level, words):
    assert any(words in caution for caution in changeover_answer(asked(tolerated=level)).cautions)
