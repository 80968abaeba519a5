"""The evidence sheet of a wet run: every part of it, any part missing, both unit systems, the same bytes twice."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from pypdf import PdfReader
from tests.paper_reading import text_of

from wetrun.machine.boom import Boom
from wetrun.papers.papers import Paper
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_budget import Budgeted, budget_rows, budgets_of, used
from wetrun.papers.wet_run_changes import changed_data
from wetrun.papers.wet_run_data import wet_run_data
from wetrun.papers.wet_run_paper import wet_run_pdf, write_wet_run
from wetrun.papers.wet_run_values import HAIR
from wetrun.proving.budget import Budget, Component
from wetrun.proving.catch_rules import rule_of
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.proving.confirmation import AsLeft, Confirmed
from wetrun.proving.course import Course, Direction, Run, SourceKind, SourceReading, SpeedSource
from wetrun.proving.evenness import tray_result
from wetrun.proving.evenness_stack import stack_result
from wetrun.proving.gates import STATEMENT, Answer, Gate, GateAnswer, start_of_run
from wetrun.proving.meter import Basis, Meter, MeterCatch, MeterTest, MeterTools
from wetrun.proving.monitor import (
    DENSITY_FORMS,
    METER_FORMS,
    SPEED_FORMS,
    Entry,
    Moment,
    Profile,
    Setting,
    SettingForm,
    Snapshot,
)
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.pressure import PressurePair
from wetrun.proving.ramp_reading import Instrument, Reading, Shown
from wetrun.proving.ramp_record import ExpectedStep, Ramp, RampStep
from wetrun.proving.section_timing import Antenna, Delay
from wetrun.proving.sections import SectionSeen
from wetrun.proving.session import in_words_of, wet_run_result
from wetrun.proving.session_evidence_boom import boom_lines
from wetrun.proving.session_record import (
    CatchTest,
    CourseTest,
    MonitorTest,
    PressureTest,
    ProvenMachine,
    SectionsTest,
    WetRun,
)
from wetrun.proving.session_result import Findings, Part
from wetrun.proving.session_steady import SteadyRead
from wetrun.proving.settings import DensityRecord, Wanted
from wetrun.proving.verdict import Verdict
from wetrun.quantity import Kind, System, read
from wetrun.sources import source
from wetrun.spray.carrier import water
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.fan_patterns import Trapezoid
from wetrun.spray.limits import Limit
from wetrun.spray.losses import SensorLoss
from wetrun.spray.orifice import law_of_iso_size
from wetrun.spray.overlap import IN_USE
from wetrun.units import RATIO

BAR = read("1 bar", Kind.PRESSURE).si_value
LITRE, MINUTE = 1e-3, 60.0
WITHOUT_DUTY = (Shown.RATE, Shown.METER, Shown.CAB, Shown.TIP)
LAW, SECTIONS = law_of_iso_size("04"), (12,) * 7
NEW = float(LAW.flow_m3s(3 * BAR))
WHOLE = 84 * NEW
BOOM = Boom(spacing_m=0.508, section_tips=SECTIONS)
LOSS = SensorLoss(boom_paps2m6=0.2 * BAR / WHOLE**2)
SETUP = Hydraulics(loop=Loop.METER, law=LAW, low_pa=1.5 * BAR, high_pa=6 * BAR, tips=84, loss=LOSS)
WHO = Confirmed("M. Invented", at="2 March, 8:10", remark="looked at, #panic(1) *not bold* <b>")
NASTY = ('#panic("x")', "*bold* _under_ `code`", "$ x^2 $ \\u{1F4A9} @label", "<tags> & 'quotes'", "= Heading // gone")
WORDS = {System.US: ("psi", "gal/min", "mph"), System.SI: ("bar", "L/min", "km/h")}


def catch_test():
    """A boom of 84 tips: one worn, one plugged, one of another size, one slip of ten, one near the limit, one blank."""
    ratios = 1.03 * np.exp(np.random.default_rng(3).normal(0.0, 0.010, 84))
    for tip, ratio in {7: 1.14, 20: 10.3, 33: 1.082, 40: 0.55, 63: 1.29, 84: np.nan}.items():
        ratios[tip - 1] = ratio
    amounts = [None if np.isnan(ratio) else float(60 * NEW * ratio) for ratio in ratios]
    tools = CatchInstruments(jug_m3=5e-6, gauge_pa=0.05 * BAR, measure_frac=0.003)
    run = CatchRun(
        readings=tuple(TipReading(tip=n, volume_m3=amount) for n, amount in enumerate(amounts, 1)),
        section_tips=SECTIONS,
        law=LAW,
        pressure_pa=3 * BAR,
        time_s=60.0,
        instruments=tools,
        size="04",
        conditions="By hand, agitation on",
    )
    return CatchTest(run=run, rule=rule_of("boom-5"))


def meter_test(k=642.0):
    def jug(name, level, litres):
        pulses = round(1.05 * k * litres / 3.785411784)
        return MeterCatch(
            name=name, level=level, basis=Basis.VESSEL, time_s=60.0, pulses=pulses, volume_m3=litres * LITRE
        )

    catches = (jug("1", "low", 60.0), jug("2", "low", 60.4), jug("3", "high", 150.0), jug("4", "high", 149.0))
    number = TypedNumber("642", METER_FORMS[0])
    return MeterTest(
        meter=Meter(number=number, tag=TypedNumber("650", METER_FORMS[0])),
        catches=catches,
        tools=MeterTools(vessel_m3=2e-4, measure_frac=0.003),
        carrier=water(288.0),
    )


def course_test():
    radar = SpeedSource(name="radar", kind=SourceKind.RADAR, number=TypedNumber("99.0", SPEED_FORMS[0]))
    ways = (Direction.OUT, Direction.BACK) * 2
    times, pulses = (20.0, 20.3, 19.9, 20.2), (9650.0, 9655.0, 9649.0, 9651.0)
    runs = [
        Run(name=f"run {n}", direction=way, time_s=time, readings=(SourceReading(source="radar", pulses=count),))
        for n, (way, time, count) in enumerate(zip(ways, times, pulses, strict=True), 1)
    ]
    return CourseTest(Course(length_m=100.0), tuple(runs), (radar,))


def ramp_test():
    rate, spacing = 1.4e-5, 0.508

    def step(name, speed, tips=84, *, limit=None, off=1.0):
        flow = rate * speed * spacing * tips
        tip_pa = LAW.pressure_pa(flow / tips)
        truth = (rate, flow, tip_pa + LOSS.boom_paps2m6 * flow**2, tip_pa)
        wanted = ExpectedStep(
            rate_m3pm2=rate, boom_flow_m3s=flow, cab_pa=truth[2], tip_pa=tip_pa, flow_standard_frac=0.002, limit=limit
        )
        readings = tuple(Reading(what, (value * off,)) for what, value in zip(WITHOUT_DUTY, truth, strict=True))
        return RampStep(
            name=name, speed_mps=speed, sections_on=tips // 12, tips_on=tips, readings=readings, expected=wanted
        )

    steps = (
        step("slow", 2.5, limit=Limit.HOLD, off=1.09),
        step("usual", 4.5),
        step("fast", 6.0, off=0.94),
        step("usual, half off", 4.5, 36),
        step("one on", 4.5, 12),
        step("slow again", 2.5),
    )
    tools = tuple(Instrument(what=what, relative_frac=0.01) for what in Shown)
    left = AsLeft("density", "10.65", WHO)
    return Ramp(
        steps=steps,
        rate_m3pm2=rate,
        spacing_m=spacing,
        simulated_speed_off=False,
        instruments=tools,
        water_density_set=WHO,
        density_restored=left,
    )


def monitor_test():
    kept = (
        SettingForm(setting=Setting.METER_NUMBER, form=METER_FORMS[0], step="1", low=1, high=9999),
        SettingForm(setting=Setting.SPEED_NUMBER, form=SPEED_FORMS[0], step="0.1"),
        SettingForm(setting=Setting.DENSITY, form=DENSITY_FORMS[2], step="0.01"),
    )

    def entries(moment, meter):
        shown = (
            (Setting.METER_NUMBER, TypedNumber(meter, METER_FORMS[0])),
            (Setting.SPEED_NUMBER, TypedNumber("99.0", SPEED_FORMS[0])),
            (Setting.DENSITY, TypedNumber("1.00", DENSITY_FORMS[2])),
        )
        return Snapshot(moment, tuple(Entry(setting, typed) for setting, typed in shown))

    as_water = TypedNumber("1.00", DENSITY_FORMS[2])
    density = DensityRecord(during=as_water, left=as_water, signed_by="", product_kgpm3=1278.0)
    wanted = (Wanted(setting=Setting.DENSITY, quantity=1278.0, why="the plan: UAN"),)
    found, left = entries(Moment.AS_FOUND, "642"), entries(Moment.AS_LEFT, "674")
    return MonitorTest(profile=Profile("plain", kept), as_found=found, as_left=left, wanted=wanted, density=density)


def sections_test():
    seen = [
        SectionSeen(opened=(n,), tips=12, typed_tips=12 if n != 3 else 11, width_m=6.10, typed_width_m=6.10)
        for n in range(1, 8)
    ]
    seen[6] = replace(seen[6], drips_until_s=9.0)
    delay = Delay(timed_s=(0.42, 0.45, 0.40), ahead_s=0.3)
    return SectionsTest(
        seen=tuple(seen), opening=delay, antenna=Antenna(taped_m=4.0, typed_m=4.2), speed_mps=4.5, allowed_m=0.5
    )


def whole_run():
    pairs = [
        PressurePair(section, flow, 3.2 * BAR * part + 0.1 * BAR, 3.0 * BAR * part - (0.3 * BAR if section == 5 else 0))
        for section in range(1, 8)
        for flow, part in ((WHOLE, 1.0), (0.7 * WHOLE, 0.49))
    ]
    return WetRun(
        machine=ProvenMachine(name="Number 7", boom=BOOM, setup=SETUP, tip="flat fan 110", size="04"),
        on="2 March 2027",
        by="M. Invented",
        customer="Low Field Farm",
        gates=tuple(GateAnswer(gate, Answer.SAFE, WHO) for gate in Gate if gate is not Gate.BACKFLOW),
        course=course_test(),
        meter=meter_test(),
        catch=catch_test(),
        pressure=PressureTest(pairs=tuple(pairs), reading_pa=0.03 * BAR, gauge_pa=0.05 * BAR),
        ramp=ramp_test(),
        sections=sections_test(),
        monitor=monitor_test(),
        steady=(SteadyRead(name="3 bar", meter_m3s=1.05 * 1.03 * WHOLE, cab_pa=3.2 * BAR, caught=True),),
    )


@pytest.fixture(scope="module")
def whole():
    return wet_run_result(whole_run())


def sheet(result, system=System.US, paper=Paper.LETTER):
    return wet_run_pdf(result, Reader(system), paper, "The Shop")


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("system", System)
def test_both_unit_systems_on_both_sizes(whole, system, paper):
    pdf = sheet(whole, system, paper)
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == {"letter": (612, 792), "a4": (595, 842)}[paper.value]
    said = text_of(pdf)
    other = System.SI if system is System.US else System.US
    assert all(unit in said for unit in WORDS[system])
    assert not any(f" {unit}" in said for unit in WORDS[other])


def test_equal_results_give_equal_bytes(whole):
    assert sheet(whole) == sheet(wet_run_result(whole_run()))


def test_the_sentence_opens_the_sheet_and_every_part_follows(whole):
    said = text_of(sheet(whole))
    order = [
        "the flow meter reads 5.0 % high (±",
        "What to do, first things first",
        "Questions that await an answer",
        "Tip 20 reads 10 times its boom",
        "Verdicts",
        "+5.00 ± 0.38 % −5 to +5 %",
        "The boom, tip by tip",
        "78 pass, 3 fail, 1 undecided, 1 in question, 1 not caught",
        "Tips to change or to look at",
        "New calibration numbers",
        "pulses per US gal pulses per amount 642",
        "Monitor settings, as found and as left",
        "rate −4.8 % at every speed",
        "Ramp: every step against its predicted window",
        "16.31 ± 0.32 14.22–15.72",
        "Loss from cab to tips at the greatest flow",
        "Not proven by this run",
        "evenness across the boom",
        "Readings against each other",
        "One reading by the others, balance by balance",
        "Error budget: what each ± is made of",
        "vessel or scale throughout",
        "whole set against new: +3.0 ± 1.1 %",
        "Gates before water flows",
        "nobody has confirmed it",
        "Cautions",
        "Tested by",
        "ramp-1",
    ]
    place = 0
    for words in order:
        found = said.lower().find(words.lower(), place)
        assert found >= 0, f"{words} does not stand after {said[place : place + 60]}"
        place = found


def test_other_explanations_are_ranked_and_the_reading_that_tells_is_named(whole):
    found = replace(whole.findings.answer, alternatives=("first", "second"))
    changed = replace(whole, findings=replace(whole.findings, answer=found))
    assert wet_run_data(changed, Reader(System.US))["alternatives"] == ["first", "second"]
    # With tips and meter only, several faults explain the misfit: all are on the sheet, in the answer's order.
    run = whole_run()
    few = wet_run_result(replace(run, meter=None, course=None, screen=None))
    answer = few.findings.answer
    assert answer is not None
    assert answer.alternatives or " or " in answer.sentence
    said = text_of(sheet(few))
    assert [words for words in answer.alternatives if words not in said] == []
    if answer.further is not None:
        assert answer.further.words in said


def test_it_says_that_it_is_no_statutory_inspection_and_who_did_not_sign(whole):
    said = text_of(sheet(whole))
    assert said.count(STATEMENT) == 2
    assert "The gates were not all confirmed." in said
    assert "Never clear a tip by mouth" in said
    assert "Simulated speed is not confirmed off" in said
    assert "nobody signed that the product's density was put back" in said


def test_every_limit_shows_how_its_source_was_read(whole):
    said = text_of(sheet(whole))
    for line in in_words_of(whole, pressure_words=Reader(System.US).difference).evidence:
        if line.rule and line.counts:
            assert line.rule in said
            assert f"source: {source(line.source_key).status}" in said


def test_undecided_is_a_word_and_a_mark_like_the_others(whole):
    assert {line.verdict for line in whole.evidence if line.counts} >= set(Verdict)
    said = text_of(sheet(whole))
    for verdict in Verdict:
        # The letter stands inside the shape, the word beside it.
        assert f"{verdict.value[0].upper()} {verdict.value}" in said


def test_every_verdict_with_a_doubt_has_its_budget(whole):
    things = {each.thing for each in budgets_of(whole)}
    makes = {(used(each.budget), each.margin is not None) for each in budgets_of(whole)}
    assert "whole set against new" in things
    parts = set()
    for line in whole.evidence:
        if line.expanded is None or line.expanded <= HAIR or line.verdict is None or line.part is Part.SETTINGS:
            continue
        if line.part is not Part.CATCH:  # of the tips one stands for all
            assert line.thing in things or (used(line.budget), bool(line.margin)) in makes, line.thing
            parts.add(line.part)
        if line.budget.components:
            assert line.budget.expanded() == pytest.approx(line.expanded)
    assert {Part.COURSE, Part.METER, Part.PRESSURE, Part.RAMP, Part.SECTIONS} <= parts


def test_evenness_has_its_budget_or_says_that_it_is_a_margin(whole):
    tray = tray_result(np.array([90.0, 100.0, 110.0, 100.0] * 5), IN_USE, reading_frac=0.01)
    stack = stack_result(np.full(24, 2e-5), Trapezoid(1.0), 0.5, IN_USE)
    lines = list(boom_lines(Findings(start=start_of_run(()), tray=tray, stack=stack)))
    assert {line.margin for line in lines if line.thing.startswith("variation of the tips")} == {
        "margin of the assumed patterns"
    }
    by_tray = next(line for line in lines if line.thing.startswith("variation over the tray"))
    assert by_tray.budget.expanded() == pytest.approx(by_tray.expanded)
    rows = budget_rows(
        replace(wet_run_result(WetRun(machine=whole.run.machine)), evidence=tuple(lines)), Reader(System.SI)
    )
    stacked = next(row for row in rows if row["thing"].startswith("variation of the tips"))
    assert [part["source"] for part in stacked["parts"]] == ["our own choice"]
    assert "a margin, not an uncertainty" in stacked["note"]


def test_the_shares_of_a_budget_add_to_one_and_zero_doubt_is_told(whole):
    data = wet_run_data(whole, Reader(System.US))
    assert len(data["budgets"]) >= 6
    for each in budgets_of(whole):
        assert sum(each.budget.shares.values()) == pytest.approx(0.0 if each.margin else 1.0)
    for row in data["budgets"]:
        names = [part["name"] for part in row["parts"]]
        assert len(set(names)) == len(names)  # an input once, however many readings it enters by
        assert all(part["standard"] != "0" for part in row["parts"])
    assert any(row["exact"] for row in data["budgets"])


def test_an_input_of_two_readings_is_told_once_with_all_that_it_does(whole, monkeypatch):
    display = Component("display", 3.0), Component("display", 4.0), Component("zero", 0.0)
    two = Budgeted("pressure when sections close", 0.0, Budget(display), RATIO)
    monkeypatch.setattr("wetrun.papers.wet_run_budget.budgets_of", lambda _: iter([two]))
    (row,) = budget_rows(whole, Reader(System.SI))
    assert [(part["name"], part["share"], part["standard"]) for part in row["parts"]] == [("display", "100 %", "500")]
    assert row["exact"] == "zero"


@pytest.mark.parametrize(
    "missing", ["course", "meter", "catch", "pressure", "ramp", "sections", "monitor", "steady", "gates"]
)
def test_any_part_may_be_missing(missing):
    run = replace(whole_run(), **{missing: () if missing in {"steady", "gates"} else None})
    result = wet_run_result(run)
    said = text_of(sheet(result))
    # The sentence may wrap: compare it by its words.
    assert result.sentence.split()[0] in said
    assert all(left.unproven in said for left in result.untested)
    assert ("The boom, tip by tip" in said) is (missing != "catch")


def test_a_run_of_nothing_is_a_sheet_too(tmp_path):
    run = whole_run()
    empty = wet_run_result(WetRun(machine=run.machine))
    written = write_wet_run(empty, tmp_path, system=System.SI)
    assert [path.name for path in written] == ["wet-run.pdf"]
    said = text_of(written[0].read_bytes())
    assert "Nothing was tested." in said
    assert "Not proven by this run" in said
    assert "Not started" in said


def test_what_a_person_typed_is_shown_and_never_obeyed():
    run = whole_run()
    machine = replace(run.machine, name=NASTY[0], tip=NASTY[1])
    result = wet_run_result(replace(run, machine=machine, customer=NASTY[2], by=NASTY[3], on=NASTY[4]))
    said = text_of(sheet(result))
    for words in (*NASTY, WHO.remark):
        assert words in said


def test_the_sentence_takes_the_units_of_the_paper(whole):
    section = whole.findings.pressure.sections[4]
    assert section.unlike
    readers = (Reader(system) for system in (System.US, System.SI))
    us, si = (" ".join(in_words_of(whole, pressure_words=reader.difference).next_steps) for reader in readers)
    assert "Section 5 loses 7.4 psi at the greatest flow, 5.2 psi more" in us
    assert "Section 5 loses 0.51 bar at the greatest flow, 0.36 bar more" in si


def test_a_plans_papers_in_the_same_folder_are_left_alone(whole, tmp_path):
    plan, stale = tmp_path / "tip-plan.pdf", tmp_path / "boom-us.svg"
    plan.write_text("a plan")
    stale.write_text("an older boom")
    empty = wet_run_result(WetRun(machine=whole.run.machine))
    write_wet_run(empty, tmp_path, system=System.US)
    assert plan.read_text() == "a plan"
    assert not stale.exists()


def test_a_second_run_says_what_changed(whole):
    run = whole_run()
    rows = tuple(replace(row, volume_m3=60 * NEW * 1.03) if row.tip == 40 else row for row in run.catch.run.readings)
    mended = replace(run, on="9 March 2027", catch=replace(run.catch, run=replace(run.catch.run, readings=rows)))
    later = wet_run_result(mended)
    data = changed_data(whole, later, Reader(System.US))
    assert data["since"] == "2 March 2027"
    # Tip 40 was mended and nothing else: the only line, and it moved by what the catch of both days says.
    (tip,) = data["changed"]
    assert (tip["thing"], tip["verdict-then"], tip["verdict-now"], tip["beyond"]) == ("tip 40", "fail", "pass", True)
    assert tip["moved"].startswith("+46.6")
    said = text_of(wet_run_pdf(later, Reader(System.US), Paper.LETTER, before=whole))
    assert "What changed since 2 March 2027" in said
    assert "What changed" not in text_of(sheet(later))
