"""A whole wet run: what was put into the readings is found, what was not tested is told, two runs are compared."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wetrun.errors import NotDefined
from wetrun.machine.boom import Boom
from wetrun.proving.catch_rules import RULES
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.proving.confirmation import Confirmed
from wetrun.proving.course import Course, Direction, Run, SourceKind, SourceReading, SpeedSource
from wetrun.proving.gates import STATEMENT, Answer, Gate, GateAnswer
from wetrun.proving.meter import Basis, Meter, MeterCatch, MeterTest, MeterTools
from wetrun.proving.monitor import METER_FORMS, Entry, Moment, Profile, Setting, SettingForm, Snapshot
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.redundant import Kind, Tool
from wetrun.proving.session import Part, WetRun, changes_since, wet_run_result
from wetrun.proving.session_readings import MEASURE_OF_TIPS, readings_of
from wetrun.proving.session_record import CatchTest, CourseTest, MonitorTest, ProvenMachine
from wetrun.proving.session_steady import ReadingDoubts, SteadyRead
from wetrun.proving.verdict import Verdict
from wetrun.quantity.registry import registry
from wetrun.spray.carrier import water
from wetrun.spray.hydraulics import Hydraulics, Loop
from wetrun.spray.orifice import law_of_iso_size

BAR = registry().Quantity(1.0, "bar").to("Pa").magnitude
LAW = law_of_iso_size("04")
TIPS = 48
TEST_PA = 3.0 * BAR
PULSES_PER_L = 190.0
CAREFUL = ReadingDoubts(
    meter_number_frac=0.005, meter_reading_frac=0.003, cab_sensor_frac=0.008, cab_reading_frac=0.005,
    gauge_frac=0.007, gauge_reading_frac=0.004, catch_pressure_frac=0.0036, tips_frac=0.01,
)  # fmt: skip

MACHINE = ProvenMachine(
    name="Yard 3",
    boom=Boom(spacing_m=0.5, section_tips=(12,) * 4),
    setup=Hydraulics(loop=Loop.METER, law=LAW, low_pa=BAR, high_pa=6.0 * BAR, tips=float(TIPS)),
    size="04",
)
SAFE = tuple(GateAnswer(gate, Answer.SAFE, Confirmed("B. Ash", remark="seen")) for gate in Gate)


def there(thing):
    """Return a thing that must not be missing."""
    assert thing is not None
    return thing


def spread(tip):
    """A tip-to-tip spread that is the same in every run and looks like one: ±1 % in no order."""
    return 1.0 + 0.01 * (((tip * 37) % 11) / 5.0 - 1.0)


def catch_test(odd=None, rule="boom-10"):
    """48 tips caught by weight at 3 bar for 30 s; `odd` tells what some of them give of a good one."""
    flow = LAW.flow_m3s(TEST_PA)
    ratios = {tip: spread(tip) * (odd or {}).get(tip, 1.0) for tip in range(1, TIPS + 1)}
    density = water().density_kgpm3
    rows = tuple(TipReading(tip=tip, mass_kg=ratio * flow * 30.0 * density) for tip, ratio in ratios.items())
    tools = CatchInstruments(scale_kg=0.002, measure_frac=0.002, gauge_pa=0.02 * BAR)
    run = CatchRun(
        readings=rows, section_tips=(12,) * 4, law=LAW, pressure_pa=TEST_PA, time_s=30.0, instruments=tools, size="04"
    )
    return CatchTest(run=run, rule=RULES[rule])


def boom_flow_m3s(test, pressure_pa=TEST_PA):
    density = water().density_kgpm3
    at_test = sum(row.mass_kg for row in test.run.readings) / density / 30.0
    return at_test * (pressure_pa / TEST_PA) ** 0.5


def meter_test(reads_ratio=1.0, *, same_measure=False):
    """Two flows, twice each, weighed; the meter shows `reads_ratio` of what went through."""
    form = METER_FORMS[3]
    number = TypedNumber(f"{PULSES_PER_L:.1f}", form)
    wiggle = (1.001, 0.999, 1.0005, 0.9995)
    catches = tuple(
        MeterCatch(
            name=f"catch {n}",
            level=level,
            basis=Basis.SCALE,
            time_s=0.1 / flow,
            pulses=0.1 * number.quantity * reads_ratio * wiggle[n],
            gross_kg=0.1 * water().density_kgpm3 + 12.0,
            tare_kg=12.0,
        )
        for n, (level, flow) in enumerate([("slow", 0.7e-3), ("slow", 0.7e-3), ("fast", 1.4e-3), ("fast", 1.4e-3)])
    )
    tools = MeterTools(scale_kg=0.05, measure_frac=0.002)
    if same_measure:
        tools = replace(tools, measure_cause=MEASURE_OF_TIPS)
    return MeterTest(meter=Meter(number=number), catches=catches, tools=tools, carrier=water())


def course_test(shown_ratio=1.0):
    ways = [(Direction.OUT, 20.0), (Direction.BACK, 20.1), (Direction.OUT, 19.9), (Direction.BACK, 20.0)]
    runs = tuple(
        Run(f"run {n}", way, time_s, (SourceReading("GPS", shown_mps=shown_ratio * 100.0 / time_s),))
        for n, (way, time_s) in enumerate(ways, start=1)
    )
    return CourseTest(Course(length_m=100.0), runs, (SpeedSource(name="GPS", kind=SourceKind.GPS),))


def whole_run(odd=None, meter_ratio=1.0, speed_ratio=1.0):
    caught = catch_test(odd)
    pressures = (TEST_PA, 2.0 * BAR)
    flows = [boom_flow_m3s(caught, pressure) for pressure in pressures]
    steady = tuple(
        SteadyRead(name=f"{n}", meter_m3s=meter_ratio * flow, cab_pa=pressure, gauge_pa=pressure, caught=n == 0)
        for n, (pressure, flow) in enumerate(zip(pressures, flows, strict=True))
    )
    return WetRun(
        machine=MACHINE,
        gates=SAFE,
        course=course_test(speed_ratio),
        meter=meter_test(meter_ratio),
        catch=caught,
        steady=steady,
        doubts=CAREFUL,
    )


def lines(result, part):
    return {line.place or line.thing: line for line in result.evidence if line.part is part}


def test_a_sound_machine_passes_and_says_so():
    result = wet_run_result(whole_run())
    assert result.verdict is Verdict.PASS
    assert result.sentence.startswith("All readings agree")
    assert result.tips == ()
    assert result.numbers == ()
    assert result.statement == STATEMENT


def test_the_story_is_found_in_one_sentence():
    # A meter 4 % high, one tip nearly plugged, one worn: three things, each named once.
    result = wet_run_result(whole_run(odd={17: 0.3, 40: 1.15}, meter_ratio=1.04))
    assert result.verdict is Verdict.FAIL
    assert result.sentence.startswith("The flow meter reads ")
    assert "% high" in result.sentence
    assert [tip.caught.tip for tip in result.tips] == [17, 40]
    assert "tip 17" in result.sentence
    assert "tip 40" in result.sentence
    assert "strainer" not in result.sentence  # the plugged tip is not told a second time as its section
    assert result.sentence.count("flow meter") == 1


def test_the_new_number_is_in_the_form_of_the_old():
    (number,) = wet_run_result(whole_run(meter_ratio=1.04)).numbers
    assert number.found.text == "190.0"
    assert number.found.form.words == "pulses per L"
    assert number.new == pytest.approx(PULSES_PER_L * 1.04, rel=0.002)
    assert number.expanded_ratio < 0.01
    assert number.enter is None  # no profile says what the monitor takes


def test_an_error_inside_its_limit_is_told_when_nothing_fails():
    run = replace(whole_run(meter_ratio=1.02), steady=(), course=None, doubts=ReadingDoubts())
    result = wet_run_result(run)
    assert result.verdict is Verdict.PASS
    assert "flow meter reads 1.9 % high" in result.sentence


def test_nothing_tested_leaves_every_part_unproven():
    result = wet_run_result(WetRun(machine=MACHINE, gates=SAFE))
    expected = {part for part in Part if part not in {Part.GATES, Part.LOW_DUTY}}
    assert {each.part for each in result.untested} == expected
    assert result.sentence == "Nothing was tested yet."
    assert result.verdict is Verdict.UNDECIDED
    assert result.evidence == ()


def test_gates_that_nobody_confirmed_come_first():
    result = wet_run_result(WetRun(machine=MACHINE))
    assert result.sentence.startswith("Not started:")
    assert len(result.findings.start.shut) == len(Gate)
    assert result.next_steps[0].startswith("Last product")
    read_anyway = wet_run_result(replace(whole_run(), gates=()))
    assert read_anyway.sentence.startswith("All readings agree")
    assert read_anyway.next_steps[0].startswith("Last product")


def test_a_test_that_cannot_be_worked_out_says_why_and_stops_no_other():
    few = replace(catch_test().run, readings=catch_test().run.readings[:5])
    result = wet_run_result(replace(whole_run(), catch=CatchTest(run=few, rule=RULES["boom-10"])))
    (tried,) = (each for each in result.untested if each.part is Part.CATCH)
    assert isinstance(tried.error, NotDefined)
    assert "5 tips" in str(tried.error)
    assert result.findings.meter is not None
    assert result.findings.course is not None


def test_each_verdict_is_the_tests_own():
    run = whole_run(odd={17: 0.3}, meter_ratio=1.04, speed_ratio=0.93)
    result = wet_run_result(run)
    assert lines(result, Part.METER)["error of the flow meter"].verdict is there(result.findings.meter).judged.verdict
    gps = lines(result, Part.COURSE)["speed by GPS"]
    assert gps.verdict is Verdict.FAIL
    assert gps.value == pytest.approx(-0.07, abs=0.002)
    tip = lines(result, Part.CATCH)["tip 17"]
    (own,) = (each for each in there(result.findings.catch).tips if each.caught.tip == 17)
    assert tip.value == pytest.approx(there(own.beyond).value - 1.0)
    assert (tip.low, tip.high) == pytest.approx((-0.1, 0.1))


def test_the_cross_check_is_fed_with_what_was_read():
    run = whole_run(odd={17: 0.3})
    found = wet_run_result(run).findings
    readings = readings_of(run, found.course, found.meter, found.catch)
    kinds = [reading.kind for reading in readings]
    assert kinds.count(Kind.CATCH) == 4
    assert kinds.count(Kind.METER) == 4  # two steady pressures, two flows of the meter's own catches
    assert kinds.count(Kind.TANK) == 2
    total = sum(reading.value for reading in readings if reading.kind is Kind.CATCH)
    assert total == pytest.approx(boom_flow_m3s(run.catch), rel=2e-3)
    charts = {reading.section: reading.value for reading in readings if reading.kind is Kind.CHART}
    assert charts[2] == pytest.approx(1.0 - 0.7 / 12, rel=5e-3)
    assert charts[1] == 1.0


def test_a_scale_shared_by_both_catches_is_one_tool():
    run = whole_run()
    apart = wet_run_result(run).findings
    shared = replace(run, meter=meter_test(same_measure=True))
    tools = {
        reading.taken_with
        for reading in readings_of(shared, apart.course, apart.meter, apart.catch)
        if reading.kind is Kind.TANK
    }
    assert tools == {(Tool.SCALE,)}
    own = {r.taken_with for r in readings_of(run, apart.course, apart.meter, apart.catch) if r.kind is Kind.TANK}
    assert own == {()}


def test_speed_and_course_share_the_watch_and_not_the_tape():
    run = whole_run(speed_ratio=1.02)
    found = wet_run_result(run).findings
    course, speed = readings_of(run, found.course, None, None)[:2]
    apart = course.budget.scaled(1.0 / course.value).joined(speed.budget.scaled(-1.0 / course.value))
    number = run.doubts.speed_number_frac * speed.value / course.value
    own = there(found.course).sources[0].budget.combined
    # What is left between the two is the doubt of the error itself, and that of the source's number.
    assert apart.combined == pytest.approx((own**2 + number**2) ** 0.5, rel=0.02)


def monitor(as_left):
    form = METER_FORMS[3]
    profile = Profile("cab", (SettingForm(setting=Setting.METER_NUMBER, form=form, step="0.1"),))

    def snapshot(moment, text):
        return Snapshot(moment, (Entry(Setting.METER_NUMBER, TypedNumber(text, form)),))

    left = None if as_left is None else snapshot(Moment.AS_LEFT, as_left)
    return MonitorTest(profile=profile, as_found=snapshot(Moment.AS_FOUND, "190.0"), as_left=left)


def test_a_number_that_was_entered_is_not_asked_for_again():
    run = whole_run(meter_ratio=1.04)
    left_as_found = wet_run_result(replace(run, monitor=monitor(None)))
    entered = wet_run_result(replace(run, monitor=monitor("197.4")))
    assert any("enter the new number" in step.lower() for step in left_as_found.next_steps)
    assert not any("enter the new number" in step.lower() for step in entered.next_steps)
    assert there(left_as_found.numbers[0].enter).text == "197.4"  # 4 % over 190, less a thousandth of buoyancy in air
    as_left = lines(entered, Part.SETTINGS)["meter number, as left"]
    as_found = lines(entered, Part.SETTINGS)["meter number, as found"]
    assert as_left.verdict is Verdict.PASS
    assert as_found.verdict is Verdict.FAIL
    assert not as_found.counts


def test_two_runs_tell_what_moved_and_what_did_not():
    before = wet_run_result(whole_run(odd={17: 0.3}, meter_ratio=1.06))
    after = wet_run_result(whole_run())
    moved = {(each.part, each.thing): each for each in changes_since(before, after)}
    meter = moved[Part.METER, "error of the flow meter"]
    assert meter.beyond_doubt
    assert meter.moved == pytest.approx(-0.06, abs=0.002)
    assert meter.verdicts == (Verdict.FAIL, Verdict.PASS)
    tip = moved[Part.CATCH, "tip 17"]  # it stood out before, and is found in the later catch all the same
    assert tip.beyond_doubt
    assert tip.verdicts == (Verdict.FAIL, Verdict.PASS)
    gps = moved[Part.COURSE, "speed by GPS"]
    assert not gps.beyond_doubt
    assert not gps.told


def test_a_run_against_itself_moves_nothing():
    result = wet_run_result(whole_run(odd={17: 0.3}))
    assert not any(each.told for each in changes_since(result, result))


def test_runs_of_two_machines_are_not_compared():
    other = replace(MACHINE, boom=Boom(spacing_m=0.5, section_tips=(24, 24)))
    one, two = wet_run_result(WetRun(machine=MACHINE)), wet_run_result(WetRun(machine=other))
    with pytest.raises(NotDefined, match="other sections"):
        changes_since(one, two)
