"""A wet run on a boom whose plumbing is known: its own fall is named as such, and what exceeds it is found."""

import re
from dataclasses import replace

import numpy as np
import pytest

from wetrun.documents.wetrun_example import example_wetrun
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.machine.boom_pipes import plumbed_boom
from wetrun.proving.catch_boom import BoomFault
from wetrun.proving.catch_remedy import Remedy
from wetrun.proving.expected_boom import expected_flow_ratios, expected_losses_pa, straightened
from wetrun.proving.pressure import PressurePair, pressure_result
from wetrun.proving.pressure_plumbing import losses_against
from wetrun.proving.session import wet_run_result
from wetrun.quantity import Kind, read
from wetrun.spray.boom_flow import boom_flow, sensor_pressure_pa
from wetrun.spray.orifice import law_of_iso_size

PLUMBING = """
[machine.plumbing]
line = "0.75 in"
feed = "middle"
hose = "0.5 in"
hose_length = ["20 ft", "9 ft", "3 ft", "3 ft", "9 ft", "20 ft"]
"""
LAW = law_of_iso_size("04")
FLOW = 54 * 2.4e-5


def text_of(caught_ml=None, plumbing=PLUMBING, gauges=None):
    """The example on a boom that is plumbed so; the season's gauges left out, as they know nothing of these hoses."""
    text = example_wetrun()
    start, end = text.index("[machine.loss]"), text.index("[tips]")
    text = f"{text[:start]}{plumbing}\n{text[end:]}"
    if caught_ml is not None:
        listed = ", ".join(f"{each:.1f}" for each in caught_ml)
        sheet = r'^unit = "fl oz" .*\n(#.*\n)*readings = \[[^\]]*\n\]'
        text, times = re.subn(sheet, f'unit = "mL"\nreadings = [{listed}]', text, flags=re.MULTILINE)
        assert times == 1, "the example's sheet of the catch stands elsewhere now"
    if gauges is not None:
        begin, stop = text.index("[[pressure.gauge]]"), text.index("# ----", text.index("[[pressure.gauge]]"))
        text = f"{text[:begin]}{gauges}\n{text[stop:]}"
    return text


@pytest.fixture
def run_of(tmp_path):
    def read_text(text):
        path = tmp_path / "wetrun.toml"
        path.write_text(text, encoding="utf-8")
        return read_wetrun(path).run

    return read_text


@pytest.fixture
def machine(run_of):
    return run_of(text_of()).machine


def boom_of(machine):
    return plumbed_boom(machine.pipes, machine.boom, LAW, {})


def blocked(boom, section, extra):
    sections = list(boom.sections)
    sections[section - 1] = replace(sections[section - 1], inlet_paps2m6=extra)
    return replace(boom, sections=tuple(sections))


def scaled_bores(boom, ratio):
    def wider(pipe):
        return replace(pipe, bore_m=pipe.bore_m * ratio)

    sections = [
        replace(each, pipe=wider(each.pipe), hose=replace(each.hose, pipe=wider(each.hose.pipe)))
        for each in boom.sections
    ]
    return replace(boom, sections=tuple(sections))


def caught_ml(boom, *, spread=0.006, seed=3, scale=1.0):
    """What each tip gives in 30 s with the tips at 40 psi on the mean, with the spread of ordinary tips."""
    at_pa = read("40 psi", Kind.PRESSURE).si_value
    solved = boom_flow(boom, sensor_pressure_pa(boom, 54 * float(LAW.flow_m3s(at_pa))))
    noise = 1.0 + spread * np.random.default_rng(seed).standard_normal(54)
    return solved.flows_m3s * scale * noise * 30.0 * 1e6


def gauges_of(boom, *, extra_pa=0.0):
    """Two flows in every section, read by a gauge at the middle of it, as text of a file."""
    rows = []
    for share in (1.0, 0.7):
        sensor = sensor_pressure_pa(boom, share * FLOW)
        solved = boom_flow(boom, sensor)
        for section in range(6):
            tip = float(np.mean(solved.pressures_pa[solved.section_of == section])) - extra_pa * share**2
            flow = f"{share * FLOW / read('1 L/min', Kind.BOOM_FLOW).si_value:.4f} L/min"
            cab, at_tip = f"{sensor / 1e5:.4f} bar", f"{tip / 1e5:.4f} bar"
            rows.append(
                f'[[pressure.gauge]]\nsection = {section + 1}\nflow = "{flow}"\ncab = "{cab}"\ntip = "{at_tip}"\n'
            )
    return "\n".join(rows)


def there(found):
    assert found is not None
    return found


def catch_of(text, run_of):
    return there(wet_run_result(run_of(text)).findings.catch)


def faults(findings):
    return {(finding.fault, finding.section) for finding in findings}


def test_the_plumbings_own_fall_is_seen_and_is_no_fault(run_of, machine):
    run = run_of(text_of(caught_ml(boom_of(machine))))
    result = wet_run_result(run)
    catch = there(result.findings.catch)
    assert faults(catch.boom) <= {(BoomFault.SET_OVER, None), (BoomFault.SET_UNDER, None)}
    assert catch.as_predicted
    assert all(finding.fault is BoomFault.AS_PREDICTED for finding in catch.as_predicted)
    assert "not a fault" in catch.as_predicted[0].words
    assert catch.remedy is not Remedy.PLUMBING
    # It stands in the evidence, and asks for nothing.
    lines = [line for line in result.evidence if "as this plumbing predicts, not a fault" in line.thing]
    assert lines
    assert not any(line.counts for line in lines)
    assert not any("as this plumbing" in step for step in result.next_steps)


def test_without_its_plumbing_the_same_boom_is_a_finding(run_of, machine):
    with_it, without = (run_of(text_of(caught_ml(boom_of(machine)), plumbing=each)) for each in (PLUMBING, ""))
    found = there(wet_run_result(without).findings.catch)
    assert found.remedy is Remedy.PLUMBING
    assert found.as_predicted == ()
    # The set's own level is the same either way.
    assert there(wet_run_result(with_it).findings.catch).level.value == pytest.approx(found.level.value, rel=0.01)


def test_a_blocked_strainer_beyond_the_prediction_is_the_finding(run_of, machine):
    boom = blocked(boom_of(machine), 5, 8e11)
    found = catch_of(text_of(caught_ml(boom)), run_of)
    low = [finding for finding in found.boom if finding.section == 5]
    assert [finding.fault for finding in low] == [BoomFault.SECTION_LOW]
    assert low[0].words.startswith("Beyond what this plumbing predicts (")
    assert "strainer" in low[0].words
    assert found.remedy is Remedy.PLUMBING


@pytest.mark.parametrize("ratio", [0.98, 1.02])
def test_bores_a_little_off_what_is_printed_are_no_finding(run_of, machine, ratio):
    found = catch_of(text_of(caught_ml(scaled_bores(boom_of(machine), ratio))), run_of)
    assert faults(found.boom) <= {(BoomFault.SET_OVER, None), (BoomFault.SET_UNDER, None)}
    assert found.as_predicted


def test_a_boom_that_is_more_even_than_typed_asks_about_the_file(run_of, machine):
    # Caught on a boom with hoses and lines so wide that nothing falls.
    found = catch_of(text_of(900.0 + np.arange(54) % 3), run_of)
    typed = [finding for finding in found.boom if finding.fault is BoomFault.NOT_AS_TYPED]
    assert typed
    assert "diameters" in typed[0].words
    assert found.remedy is not Remedy.PLUMBING


def test_expected_flows_mirror_on_a_mirrored_boom_and_keep_the_level(machine, run_of):
    caught = run_of(text_of()).catch.run
    ratios = np.array(list(expected_flow_ratios(machine, caught).values()))
    assert ratios == pytest.approx(ratios[::-1], rel=1e-9)
    assert np.mean(np.log(ratios)) == pytest.approx(0.0, abs=1e-12)
    assert ratios[0] < 1.0 < ratios[26]
    assert expected_flow_ratios(replace(machine, pipes=None), caught) == {}


def test_where_each_sections_pressure_was_read_only_the_fall_inside_it_is_predicted(machine, run_of):
    caught = run_of(text_of()).catch.run
    rows = tuple(replace(reading, pressure_pa=caught.pressure_pa) for reading in caught.readings)
    ratios = np.array(list(expected_flow_ratios(machine, replace(caught, readings=rows)).values())).reshape(6, 9)
    assert np.mean(np.log(ratios), axis=1) == pytest.approx(np.zeros(6), abs=1e-12)
    assert np.all(ratios[:, 4] > ratios[:, 0])


def test_gauges_on_the_boom_as_typed_show_what_it_predicts(run_of, machine):
    result = wet_run_result(run_of(text_of(gauges=gauges_of(boom_of(machine)))))
    against = result.findings.plumbing
    assert [loss.section for loss in against] == [1, 2, 3, 4, 5, 6]
    for loss in against:
        assert not loss.beyond
        assert abs(loss.over_pa) < loss.expanded_pa
        assert loss.loss_paps2m6 == pytest.approx(loss.predicted_paps2m6, rel=0.02)
    # Friction's own curve is not taken for a sensor whose zero is off.
    assert abs(there(result.findings.pressure).offset_pa) < 300.0
    # The longest hoses lose most, and that is not held against them.
    assert against[0].predicted_paps2m6 > 2.0 * against[2].predicted_paps2m6


def test_one_section_far_above_its_prediction_is_its_strainer_or_hose(run_of, machine):
    boom = blocked(boom_of(machine), 3, 6e11)
    result = wet_run_result(run_of(text_of(gauges=gauges_of(boom))))
    assert [loss.section for loss in result.findings.plumbing if loss.beyond] == [3]
    words = next(loss.words for loss in result.findings.plumbing if loss.beyond)
    assert "the others do not: look at its strainer, valve and hose" in words
    assert any("Section 3 loses" in step for step in result.next_steps)


def test_what_all_sections_lose_more_lies_before_they_part(run_of, machine):
    result = wet_run_result(run_of(text_of(gauges=gauges_of(boom_of(machine), extra_pa=0.9e5))))
    against = result.findings.plumbing
    assert not any(loss.beyond for loss in against)
    assert any("before the sections part" in loss.words for loss in against)


@pytest.mark.parametrize("seed", range(20))
def test_readings_within_their_doubt_raise_no_alarm(machine, seed):
    """Gauges with noise, on a boom whose bores are 2 % off what is printed."""
    random = np.random.default_rng(seed)
    true = scaled_bores(boom_of(machine), 1.0 + random.uniform(-0.02, 0.02))
    pairs = []
    for flow in (FLOW, 0.6 * FLOW):
        sensor = sensor_pressure_pa(true, flow)
        solved = boom_flow(true, sensor)
        for n in range(6):
            tip = float(np.mean(solved.pressures_pa[solved.section_of == n]))
            pairs.append(PressurePair(n + 1, flow, sensor + random.normal(0, 1500.0), tip))
    found = pressure_result(straightened(machine, pairs), reading_pa=1500.0)
    assert not any(loss.beyond for loss in losses_against(found, expected_losses_pa(machine, FLOW)))


def test_a_tray_beside_the_tips_is_told_against_their_stack(run_of, machine):
    text = text_of(caught_ml(boom_of(machine)))
    text = text.replace('# reading = "2 %"', 'reading = "1 %"')

    def with_tray(grooves):
        begin, end = text.index("[evenness]"), text.index("[ramp]")
        tray = text[begin:end].replace("# grooves = [102, 98, 101]", f"grooves = {grooves}").replace("# unit", "unit")
        return wet_run_result(run_of(text[:begin] + tray + text[end:]))

    even, rough = with_tray([94, 106] * 20), with_tray([75, 125] * 20)
    assert there(even.findings.both).agree
    assert not there(rough.findings.both).agree
    assert any("height" in step for step in rough.next_steps)
    assert not any("Tray and stacked" in step for step in even.next_steps)
    assert any("they agree" in line.thing for line in even.evidence)
    assert any("they do not agree" in line.thing for line in rough.evidence)
    only = wet_run_result(run_of(text_of(caught_ml(boom_of(machine)))))
    assert only.findings.both is None
    assert only.findings.stack is not None
