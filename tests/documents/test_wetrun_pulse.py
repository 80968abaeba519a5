"""A pulse-width machine from file to verdict: full and low duty, a ramp in duties, and its minimum hold as a duty."""

from __future__ import annotations

import json
import tomllib

import jsonschema
import numpy as np
import pytest

from wetrun.cli.plain_prove import plain_wet_run
from wetrun.documents.wetrun_example import example_wetrun
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.documents.wetrun_schema import wetrun_schema
from wetrun.errors import InputProblems
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_boom import boom_data
from wetrun.papers.wet_run_ramp import ramp_data
from wetrun.proving.ramp_reading import Shown
from wetrun.proving.session import Part, wet_run_result
from wetrun.proving.swap import SwapOutcome
from wetrun.proving.verdict import Verdict
from wetrun.quantity import System
from wetrun.spray.limits import Limit

TIPS = 54
FULL_OZ = 25.6
"""What a size 04 gives in 30 s at 40 psi, fl oz: 0.4 gal/min."""
LOW, SET_PSI = 0.35, 44.0
GALLON_RATE = 5940.0
"""Trade constant of gal/min, gal/ac, mph and inches: an independent way to the demand."""


def sheet(duty, weak, seed):
    ratios = np.exp(np.random.default_rng(8).normal(0.0, 0.008, TIPS))
    noise = np.exp(np.random.default_rng(seed).normal(0.0, 0.003, TIPS))
    for tip, ratio in weak.items():
        ratios[tip - 1] *= ratio
    seconds = 1.0 if duty == 1.0 else 2.0  # low duty is caught for a minute
    return [round(float(each), 1) for each in FULL_OZ * seconds * duty * ratios * noise]


def demand(mph, rate=15.0):
    """Flow of one tip that a rate takes at a speed [gal/min]."""
    return rate * mph * 20.0 / GALLON_RATE


def open_flow(tip_flow):
    """What an open tip passes [gal/min] by the example's pair of gauges: 4 psi lost at 24 gal/min."""
    return 0.4 * ((SET_PSI - 4.0 * (TIPS * tip_flow / 24.0) ** 2) / 40.0) ** 0.5


def duty_at(mph):
    """Duty that the rate takes at a speed."""
    return demand(mph) / open_flow(demand(mph))


def flow_at(duty):
    """Flow of one tip at a duty [gal/min]."""
    flow = 0.4 * duty
    for _ in range(50):
        flow = duty * open_flow(flow)
    return flow


def ramp(speeds=(4.0, 6.0, 8.0, 10.0), least=0.0, off=1.0):
    """A ramp as a monitor shows it, with a floor by duty; `off` is shown duty over what is needed."""
    steps = []
    for place, mph in enumerate((*speeds, speeds[-2])):
        duty = max(duty_at(mph), least)
        flow = TIPS * flow_at(duty)
        shown = 15.0 * flow_at(duty) / demand(mph)
        steps.append(
            f'[[ramp.step]]\nname = "step {place}"\nspeed = "{mph} mph"\nsections_on = 6\n'
            f'rate = ["{shown:.1f} gal/ac"]\nflow = ["{flow:.2f} gal/min", "{flow + 0.02:.2f} gal/min"]\n'
            f'cab = ["{SET_PSI} psi"]\nduty = ["{100.0 * duty * off:.0f} %"]\n'
        )
    instruments = (
        'of = "shown rate"\nrate_step = "0.1 gal/ac"',
        'of = "meter flow"\nshare = "0.5 %"\nflow_step = "0.01 gal/min"',
        'of = "cab pressure"\nshare = "1 %"\npressure_step = "1 psi"',
        'of = "shown duty"\nduty_step = "1 %"',
    )
    head = '[ramp]\nrate = "15 gal/ac"\nsimulated_speed_off = true\nwater_density_by = "B. Ash"\n'
    head += 'density_restored = { typed = "8.34", by = "B. Ash" }\n'
    return "\n".join([head, *(f"[[ramp.instrument]]\n{each}\n" for each in instruments), *steps])


def machine():
    text = example_wetrun()
    start, end = text.index("[machine.control]"), text.index("[machine.loss]")
    control = (
        '[machine.control]\nloop = "pulse width"\nhold = { duty = "30 %" }\n\n[machine.control.pulse]\n'
        f'frequency = "10 Hz"\nset_pressure = "{SET_PSI} psi"\nleast_duty = "25 %"\nduty_from = "flow meter"\n\n'
    )
    return text[: text.index("[course]")].replace(text[start:end], control)


def catch(full, low, more=""):
    return (
        '[catch]\nrule = "boom-10"\npressure = "40 psi"\ntime = "30 s"\njug = "0.1 fl oz"\ngauge = "0.5 psi"\n'
        f'mode = "manual"\nagitation = true\nduty = "100 %"\nunit = "fl oz"\nreadings = {full}\n\n'
        f'[catch.low]\nduty = "{LOW:.0%}"\ntime = "60 s"\npressure = "40 psi"\nbefore = "40 psi"\nafter = "40 psi"\n'
        f'{more}unit = "fl oz"\nreadings = {low}\n\n'
    )


@pytest.fixture
def proved(tmp_path):
    """Write a file of parts and return it with its result."""

    def make(*parts):
        path = tmp_path / "wetrun.toml"
        path.write_text("\n".join((machine(), *parts)), encoding="utf-8")
        file = read_wetrun(path)
        return file, wet_run_result(file.run)

    return make


def lines(result, part):
    return {each.place or each.thing: each for each in result.evidence if each.part is part}


def test_one_weak_solenoid_is_found_by_position_though_it_passes_at_full_duty(proved):
    file, result = proved(catch(sheet(1.0, {}, 1), sheet(LOW, {30: 0.80}, 2)))
    assert file.run.catch.low.law.flow_m3s(3e5) == pytest.approx(LOW * file.run.catch.run.law.flow_m3s(3e5))
    assert result.verdict is Verdict.FAIL
    assert result.sentence.startswith("Tip 30 gives 2")
    assert "at low duty, though it passes at full duty" in result.sentence
    assert result.tips == ()  # no tip has to go
    assert any("Swap the solenoid" in step for step in result.next_steps)
    low = lines(result, Part.LOW_DUTY)
    assert low["tips that pulse unlike their boom"].value == 1.0
    assert low["tip 30"].value == pytest.approx(-0.20, abs=0.02)
    assert 0.0 < low["tip 30"].expanded < 0.03
    assert low["tips at low duty"].verdict is Verdict.FAIL
    assert "beyond the limit: 30" in low["tips at low duty"].thing
    assert lines(result, Part.CATCH)["tips within the limit"].verdict is Verdict.PASS


def test_the_answer_for_machines_holds_the_weak_solenoid(proved):
    file, result = proved(catch(sheet(1.0, {}, 1), sheet(LOW, {30: 0.80}, 2)))
    found = json.loads(json.dumps(plain_wet_run(file, result, (), (), system=System.US)))
    assert [weak["tip"] for weak in found["weak_at_low_duty"]] == [30]


def test_a_worn_tip_is_worn_at_both_and_no_solenoid_is_accused(proved):
    worn = {12: 1.15}
    _, result = proved(catch(sheet(1.0, worn, 1), sheet(LOW, worn, 2)))
    assert [tip.caught.tip for tip in result.tips] == [12]
    assert result.findings.low_duty == ()


def test_delays_of_all_solenoids_are_told_as_the_level_of_the_boom_and_fail_no_tip(proved):
    late = dict.fromkeys(range(1, TIPS + 1), 0.88)
    parts = catch(sheet(1.0, {}, 1), sheet(LOW, late, 2)).replace('rule = "boom-10"', 'rule = "stated-5"')
    _, result = proved(parts)
    low = lines(result, Part.LOW_DUTY)
    assert low["whole set against duty times new"].value == pytest.approx(-0.12, abs=0.02)
    assert low["tips that pulse unlike their boom"].verdict is Verdict.PASS
    assert low["tips at low duty"].verdict is Verdict.PASS


def test_a_slip_on_the_low_sheet_is_asked_about_and_is_no_weak_solenoid(proved):
    readings = sheet(LOW, {}, 2)
    readings[6] *= 10.0
    _, result = proved(catch(sheet(1.0, {}, 1), readings))
    asked = [question for question in result.questions if question.part is Part.LOW_DUTY]
    assert [(question.row, question.first) for question in asked] == [("tip 7", True)]
    assert result.findings.low_duty == ()


def test_the_low_sheet_has_its_own_times_and_pressures(proved):
    readings = sheet(LOW, {}, 2)
    readings[4] = round(readings[4] * 1.5, 1)
    readings[9:18] = [round(each * 0.95, 1) for each in readings[9:18]]
    more = (
        'times = { 5 = "90 s" }\nsection_pressures = ["40 psi", "36.1 psi", "40 psi", "40 psi", "40 psi", "40 psi"]\n'
    )
    file, result = proved(catch(sheet(1.0, {}, 1), readings, more))
    assert file.run.catch.low.before_pa == pytest.approx(file.run.catch.low.after_pa)
    assert result.findings.low_duty == ()


def test_low_duty_left_out_is_told_as_unproven(proved):
    whole = catch(sheet(1.0, {}, 1), [])
    _, result = proved(whole[: whole.index("[catch.low]")])
    assert any(each.part is Part.LOW_DUTY for each in result.untested)


def test_the_schema_takes_the_whole_file():
    text = "\n".join((machine(), catch(sheet(1.0, {}, 1), sheet(LOW, {}, 2)), ramp()))
    jsonschema.validate(json.loads(json.dumps(tomllib.loads(text), default=str)), wetrun_schema())


# ---------------------------------------------------------------------------------------------------------------- ramp


def test_a_ramp_in_duties_is_held_against_the_duty_each_step_needs(proved):
    file, result = proved(ramp(speeds=(6.0, 7.0, 7.5, 7.9)))
    expected = [step.expected.duty_frac for step in file.run.ramp.steps]
    # A generic size 04 gives within 2 % of 0.4 gal/min at 40 psi.
    assert expected == pytest.approx([duty_at(mph) for mph in (6.0, 7.0, 7.5, 7.9, 7.5)], rel=0.02)
    shown = lines(result, Part.RAMP)["shown duty against the prediction"]
    assert shown.verdict is Verdict.PASS
    data = ramp_data(result.findings.ramp, file.run, Reader(System.US))
    assert data is not None
    assert data["columns"][-1] == "shown duty, %"


def test_a_duty_a_quarter_above_the_prediction_fails(proved):
    _, result = proved(ramp(speeds=(5.0, 5.5, 6.0, 6.3), off=1.25))
    assert lines(result, Part.RAMP)["shown duty against the prediction"].verdict is Verdict.FAIL


def test_the_real_minimum_hold_is_told_as_a_duty(proved):
    file, result = proved(ramp(speeds=(1.5, 2.0, 3.0, 5.0, 6.0, 7.0), least=0.30))
    assert file.run.ramp.steps[0].expected.limit is Limit.HOLD
    told = lines(result, Part.RAMP)
    assert told[f"minimum hold with {TIPS} tips on, duty shown"].value == pytest.approx(0.30, abs=0.005)
    assert told[f"minimum hold with {TIPS} tips on, boom flow"].value == pytest.approx(
        TIPS * flow_at(0.30) * 6.309e-5, rel=0.01
    )
    data = ramp_data(result.findings.ramp, file.run, Reader(System.US))
    assert data is not None
    assert any("Minimum hold" in words and "duty 30 %" in words for words in data["ends"])


def test_a_duty_nobody_put_a_doubt_to_never_passes(proved):
    text = ramp(speeds=(6.0, 7.0, 7.5, 7.9)).replace('[[ramp.instrument]]\nof = "shown duty"\nduty_step = "1 %"\n', "")
    _, result = proved(text)
    assert result.findings.ramp.verdict is not Verdict.PASS
    assert Shown.DUTY.value in str(result.findings.ramp.findings)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('duty = "35%"', 'duty = "0.2 %"', "catch.low.duty"),
        ('duty = "35%"', "duty = 35", "catch.low.duty"),
        ('duty = "35%"\n', "", "catch.low.duty"),
        ('duty = "100 %"', 'duty = "30 %"', "catch.low.duty"),
    ],
)
def test_a_duty_that_cannot_be_is_refused(proved, old, new, key):
    whole = catch(sheet(1.0, {}, 1), sheet(LOW, {}, 2))
    assert old in whole
    with pytest.raises(InputProblems) as caught:
        proved(whole.replace(old, new, 1))
    assert key in {problem.key for problem in caught.value.problems}


# --------------------------------------------------------------------------------------------------------------- sheet


def test_the_sheet_says_what_low_duty_showed(proved):
    weak, sound = (
        boom_data(proved(catch(sheet(1.0, {}, 1), sheet(LOW, odd, 2)))[1], Reader(System.US))
        for odd in ({30: 0.80}, {})
    )
    assert weak is not None
    assert sound is not None
    assert [words.startswith("At duty 35%: Tip 30 gives 2") for words in weak["low"]] == [True]
    assert sound["low"] == ["At duty 35%: no tip pulses unlike its boom."]


# ------------------------------------------------------------------------------------------------ swapping solenoids


@pytest.mark.parametrize(
    ("after", "outcome", "said"),
    [
        ((1.0, 0.80), SwapOutcome.TIP, "follows the solenoid: replace the solenoid"),
        ((0.80, 1.0), SwapOutcome.BODY, "check valve, plug and wiring; keep the solenoid"),
    ],
)
def test_a_weak_solenoid_that_changed_places_is_told_from_its_body(proved, after, outcome, said):
    low = sheet(LOW, {30: 0.80}, 2)
    usual = low[30]  # of tip 31
    readings = f"readings = {{ 30 = {usual * after[0]:.1f}, 31 = {usual * after[1]:.1f} }}"
    swap = f"[[catch.low.swap]]\nodd = 30\nwith = 31\n{readings}\n"
    file, result = proved(catch(sheet(1.0, {}, 1), low) + swap)
    assert file.run.catch.swaps == ()
    assert [each.verdict.outcome for each in result.findings.low_swaps] == [outcome]
    assert any(said in step for step in result.next_steps)
    assert not any("Swap the solenoid" in step for step in result.next_steps)
    told = lines(result, Part.LOW_DUTY)["swap of tip 30 with 31"]
    assert "share that went with the solenoid" in told.thing
    found = json.loads(json.dumps(plain_wet_run(file, result, (), (), system=System.US)))
    assert [each["odd"] for each in found["swap_tests_at_low_duty"]] == [30]


def test_a_solenoid_that_is_not_weak_is_asked_about(proved):
    low = sheet(LOW, {30: 0.80}, 2)
    swap = f"[[catch.low.swap]]\nodd = 20\nwith = 21\nreadings = {{ 20 = {low[19]}, 21 = {low[20]} }}\n"
    _, result = proved(catch(sheet(1.0, {}, 1), low) + swap)
    asked = [question for question in result.questions if question.part is Part.LOW_DUTY]
    assert [question.row for question in asked] == ["swap at tip 20"]
    assert any("Swap the solenoid" in step for step in result.next_steps)


@pytest.mark.parametrize(("typed", "verdict"), [("30", Verdict.PASS), ("40", Verdict.FAIL), ("20", Verdict.FAIL)])
def test_a_minimum_hold_typed_as_a_duty_is_held_against_the_plan_s(proved, typed, verdict):
    monitor = (
        '[monitor]\nname = "cab"\n[monitor.profile]\nhold_duty = { form = "%", step = "1" }\n'
        f'[monitor.as_found]\nhold_duty = "{typed}"\n'
    )
    _, result = proved(monitor)
    found = lines(result, Part.SETTINGS)["minimum hold, duty, as found"]
    assert found.verdict is verdict
    assert found.value == pytest.approx(float(typed) / 30.0 - 1.0)
    assert ("too early" in found.next_step) is (typed == "40")
