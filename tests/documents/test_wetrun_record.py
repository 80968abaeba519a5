"""What a wet-run file says of how a catch was made, and swap tests: each reaches the verdict or the uncertainty."""

from __future__ import annotations

import re

import pytest

from wetrun.documents.wetrun_example import example_wetrun
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.proving.catch_diagnosis import TipFault
from wetrun.proving.catch_remedy import Remedy
from wetrun.proving.session import Part, wet_run_result
from wetrun.proving.swap import SwapOutcome
from wetrun.proving.verdict import Verdict
from wetrun.quantity import Kind, read

TIPS = 54
FRESH = 25.9
"""Fluid ounces that a new tip gives in the example's 30 s at 40 psi, to a tenth or so."""


@pytest.fixture
def proved(tmp_path):
    """Write the example with other readings and edits, and return its file and result."""

    def make(readings, *edits, swaps=""):
        text = example_wetrun()
        start = text.index("readings = [", text.index("[catch]"))
        text = text[:start] + f"readings = {readings}" + text[text.index("]", start) + 1 :]
        text = text.replace("[[steady]]", f"{swaps}\n[[steady]]", 1)
        for old, new in edits:
            assert old in text, f"the example has no {old!r} any more"
            text = text.replace(old, new, 1)
        path = tmp_path / "wetrun.toml"
        path.write_text(text, encoding="utf-8")
        file = read_wetrun(path)
        return file, wet_run_result(file.run)

    return make


def boom(odd=None, level=1.012):
    """Readings along the boom, spread by ±0.8 %."""
    ratios = (
        level * (1.0 + 0.008 * (((n * 37) % 11) / 5.0 - 1.0)) * (odd or {}).get(n, 1.0) for n in range(1, TIPS + 1)
    )
    return [round(FRESH * ratio, 1) for ratio in ratios]


def swap(odd, good, at_odd, at_good, *more):
    readings = f"{{ {odd} = {at_odd}, {good} = {at_good} }}"
    return f"[[catch.swap]]\nodd = {odd}\nwith = {good}\nreadings = {readings}\n" + "\n".join((*more, ""))


def catch_of(result):
    assert result.findings.catch is not None
    return result.findings.catch


def line(result, place, part=Part.CATCH):
    return next(each for each in result.evidence if each.part is part and (each.place or each.thing) == place)


# ---------------------------------------------------------------------------------------------------------- swap tests


def test_a_fault_that_follows_the_tip_replaces_it(proved):
    readings = boom({23: 1.15})
    file, result = proved(readings, swaps=swap(23, 24, readings[23], readings[22]))
    assert [test.odd for test in file.run.catch.swaps] == [23]
    assert result.findings.swaps[0].verdict.outcome is SwapOutcome.TIP
    assert any("replace the tip" in step for step in result.next_steps)
    assert not any("stay with the body?" in step for step in result.next_steps)
    told = line(result, "swap of tip 23 with 24")
    assert told.value == pytest.approx(1.0, abs=0.02)
    assert told.expanded > 0.0
    assert not told.counts
    assert told.verdict is None


def test_each_odd_tip_has_one_step_of_its_own(proved):
    readings = boom({23: 1.15, 41: 0.80})
    _, result = proved(readings, swaps=swap(23, 24, readings[23], readings[22]))
    for tip in ("23", "41"):
        assert len([step for step in result.next_steps if f"ip {tip} " in step]) == 1
    assert not any("after the swap test" in step for step in result.next_steps)


def test_a_fault_that_stays_sends_the_reader_to_the_body(proved):
    readings = boom({23: 0.80})
    _, result = proved(readings, swaps=swap(23, 24, readings[22], readings[23]))
    assert result.tips[0].fault is TipFault.BODY
    assert catch_of(result).remedy is Remedy.BODIES
    assert any("body, screen, check valve, hose" in step for step in result.next_steps)
    assert result.sentence.startswith("Tip 23 ")
    assert "body at fault, not the tip" in result.sentence
    assert line(result, "tip 23").verdict is Verdict.FAIL  # what was caught was caught


def test_an_undecided_swap_says_how_many_repeats_and_is_drawn_as_undecided(proved):
    readings = boom({23: 1.09})
    rough = (('jug = "0.2 fl oz"', 'jug = "0.7 fl oz"'), ('rule = "boom-10"', 'rule = "boom-5"'))
    middle = round((readings[22] + readings[23]) / 2.0, 1)
    _, result = proved(readings, *rough, swaps=swap(23, 24, middle, middle))
    found = result.findings.swaps[0]
    assert found.verdict.outcome is SwapOutcome.UNDECIDED
    assert found.verdict.rounds >= 2
    assert f"catch both places {found.verdict.rounds} times in all" in found.words
    assert any(found.words in step for step in result.next_steps)
    told = line(result, "swap of tip 23 with 24")
    assert (told.verdict, told.counts) == (Verdict.UNDECIDED, False)


def test_a_swap_of_a_tip_that_is_not_odd_is_a_question_that_holds_nothing_up(proved):
    readings = boom({23: 1.15})
    _, result = proved(readings, swaps=swap(30, 31, readings[29], readings[30]))
    asked = [question for question in result.questions if question.row == "swap of tip 30"]
    assert [question.first for question in asked] == [False]
    assert "tip 30 is not odd" in asked[0].words
    assert [tip.caught.tip for tip in result.tips] == [23]


def test_the_swap_takes_time_unit_and_pressure_of_the_catch_unless_it_has_its_own(proved):
    readings = boom({23: 1.15})
    own = 'unit = "mL"\ntime = "60 s"\npressure = "38 psi"'
    millilitres = [round(2.0 * each * 29.5735 * (38 / 40) ** 0.5, 1) for each in (readings[23], readings[22])]
    file, result = proved(readings, swaps=swap(23, 24, millilitres[0], millilitres[1], own))
    row = file.run.catch.swaps[0].after[0]
    assert row.time_s == 60.0
    assert row.pressure_pa == pytest.approx(read("38 psi", Kind.PRESSURE).si_value)
    assert result.findings.swaps[0].verdict.with_tip_frac == pytest.approx(1.0, abs=0.02)


def test_the_pressure_of_its_section_and_the_time_of_its_tip_hold_at_the_swap_too(proved):
    readings = boom({23: 1.15})
    edits = (
        (
            "# section_pressures = [",
            'section_pressures = ["40 psi", "40 psi", "39 psi", "40 psi", "40 psi", "40 psi"] # [',
        ),
        ('# times = { 7 = "31 s" }', 'times = { 23 = "31 s" }'),
    )
    file, _ = proved(readings, *edits, swaps=swap(23, 24, readings[23], readings[22]))
    odd, good = file.run.catch.swaps[0].after
    assert (odd.time_s, good.time_s) == (31.0, None)
    assert odd.pressure_pa == good.pressure_pa == pytest.approx(read("39 psi", Kind.PRESSURE).si_value)


# ------------------------------------------------------------------------------------------- how the catch was made


def test_mode_agitation_and_jugs_stand_on_the_sheet(proved):
    edits = (("# jugs = 9", "jugs = 9"), ('# conditions = "wind from the left"', 'conditions = "wind from the left"'))
    file, _ = proved(boom(), *edits)
    assert file.run.catch.run.conditions == "manual mode; agitation on; 9 jugs at once; wind from the left"


def test_pressure_that_moved_widens_every_tip_and_one_far_from_the_test_pressure_is_asked_about(proved):
    steady, moved = (proved(boom(), ('after = "40 psi"', f'after = "{after} psi"'))[1] for after in ("40", "38.5"))
    still, blurred = (catch_of(result).tips[0].caught.own.combined for result in (steady, moved))
    assert blurred > still
    _, result = proved(boom(), ('before = "40 psi"', 'before = "46 psi"'), ('after = "40 psi"', 'after = "46 psi"'))
    assert any("which of them stood at the tips" in question.words for question in result.questions)


def test_jugs_side_by_side_blur_tips_against_each_other_and_less_the_whole_set(proved):
    measure = ('measure = "0.5 %"', 'measure = "2 %"')
    one, many = (catch_of(proved(boom(), measure, ("# jugs = 9", f"jugs = {jugs}"))[1]) for jugs in (1, 9))
    assert many.reading_frac > one.reading_frac
    assert many.level.expanded < one.level.expanded


def test_a_section_with_its_own_pressure_is_no_section_that_is_low(proved):
    low = dict.fromkeys(range(19, 28), 0.95)
    told = (
        "# section_pressures = [",
        'section_pressures = ["40 psi", "40 psi", "36.1 psi", "40 psi", "40 psi", "40 psi"] # [',
    )
    blind, seen = proved(boom(low))[1], proved(boom(low), told)[1]
    assert any("section 3" in finding.words for finding in catch_of(blind).boom)
    assert not any("section 3" in finding.words for finding in catch_of(seen).boom)


def test_an_instrument_that_shows_flow_brings_its_own_doubt(proved):
    flows = [round(ratio / FRESH * 0.4048, 3) for ratio in boom({23: 1.15})]
    unit = ('unit = "fl oz" ', 'unit = "gal/min" ')
    doubts = []
    for share in ("1 %", "4 %"):
        _, result = proved(flows, unit, ('# instrument = "2 %"', f'instrument = "{share}"'))
        doubts.append(
            line(result, "tip 23").expanded if share == "1 %" else catch_of(result).tips[0].caught.own.expanded()
        )
        assert abs(catch_of(result).level.value - 1.012) < 0.02
    assert doubts[1] > 2.0 * doubts[0]


# ------------------------------------------------------------------------------------------------------ reference tips


def test_new_tips_are_no_part_of_the_set_and_decide_its_wear(proved):
    new = {5: 1 / 1.12, 23: 1 / 1.12, 40: 1 / 1.12}
    gauge = ('gauge = "0.5 psi"', 'gauge = "4 psi"')
    _, blind = proved(boom(new, level=1.12), gauge)
    assert {tip.caught.tip for tip in blind.tips} == set(new)  # taken for restricted tips
    _, result = proved(boom(new, level=1.12), gauge, ('# new_tips = "5,23,40"', 'new_tips = "5,23,40"'))
    catch = catch_of(result)
    assert result.tips == ()
    assert [tip.caught.tip for tip in catch.tips if tip.fault is TipFault.NEW] == [5, 23, 40]
    assert line(blind, "whole set against new").verdict is Verdict.UNDECIDED
    chart, by_new = line(result, "whole set against new"), line(result, "whole set against new tips on the same boom")
    assert (chart.counts, by_new.counts) == (False, True)
    assert by_new.expanded < chart.expanded
    assert by_new.value == pytest.approx(0.12, abs=0.01)


def test_a_gauge_that_lies_is_told_from_a_worn_set_by_new_tips(proved):
    # All tips are new and the gauge reads 12 % low: only the new tips on the same boom can know.
    _, result = proved(boom(level=1.06), ('# new_tips = "5,23,40"', 'new_tips = "5,23,40"'))
    words = " ".join(finding.words for finding in catch_of(result).boom)
    assert "the gauge reads low" in words
    assert re.search(r"The set gives 0\.\d % (more|less) \(± 0\.\d %\) than 3 new tips on the same boom", words)


def test_two_new_tips_that_scatter_leave_the_chart_to_decide(proved):
    new = {5: 0.97 / 1.05, 40: 1.03 / 1.05}
    _, result = proved(boom(new, level=1.05), ('# new_tips = "5,23,40"', 'new_tips = "5,40"'))
    assert line(result, "whole set against new").counts
    assert not line(result, "whole set against new tips on the same boom").counts
