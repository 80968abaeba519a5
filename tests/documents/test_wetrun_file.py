"""The wet-run file: the example and the demo are read whole, typed texts kept, odd readings asked about."""

import json
import re
import tomllib
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from wetrun.documents.season_schema import schema_text
from wetrun.documents.wetrun_example import example_wetrun
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.documents.wetrun_readings import tip_readings
from wetrun.documents.wetrun_schema import wetrun_schema
from wetrun.proving.session import wet_run_result
from wetrun.proving.session_result import Part
from wetrun.proving.verdict import Verdict
from wetrun.quantity import Kind, System, read
from wetrun.spray.hydraulics import Loop

ROOT = Path(__file__).parents[2]
SCHEMA = ROOT / "docs" / "schema" / "wetrun.schema.json"
DEMO = ROOT / "demo" / "wetrun.toml"


@pytest.fixture
def wetrun_at(tmp_path):
    """Write an edited example and return its path."""

    def write(*edits):
        text = example_wetrun()
        for old, new in edits:
            assert old in text, f"the example has no {old!r} any more"
            text = text.replace(old, new, 1)
        path = tmp_path / "wetrun.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def there(thing):
    """Return a thing that must not be missing."""
    assert thing is not None
    return thing


def first_readings(text):
    """The first row of the example's catch, as it stands in the text."""
    found = re.search(r"readings = \[ .*\n(.*?)\n", text)
    assert found is not None
    return found[1]


def test_the_example_is_read_and_proves_without_problems(wetrun_at):
    file = read_wetrun(wetrun_at())
    result = wet_run_result(file.run)
    assert result.verdict is Verdict.PASS
    assert result.questions == ()
    assert result.untested == ()
    assert file.units is System.US
    assert file.run.machine.setup.loop is Loop.METER
    assert file.run.machine.boom.tips == len(there(file.run.catch).run.readings) == 54


def test_every_text_is_kept_as_typed(wetrun_at):
    typed = read_wetrun(wetrun_at(('length = "300 ft"', 'length = "91,44 m"'))).typed
    assert typed["course.length"] == "91,44 m"
    assert typed["steady[1].gauge"] == "40 psi"
    assert typed["course.run[1].shown.GPS"].endswith("mph")


def test_quantities_arrive_in_si_whatever_the_unit(wetrun_at):
    feet, metres = read_wetrun(wetrun_at()), read_wetrun(wetrun_at(('length = "300 ft"', 'length = "91.44 m"')))
    assert there(metres.run.course).course.length_m == pytest.approx(there(feet.run.course).course.length_m, rel=1e-12)


def test_every_part_may_be_left_out(wetrun_at):
    whole = example_wetrun()
    path = wetrun_at()
    path.write_text(whole[: whole.index("[gates]")], encoding="utf-8")
    file = read_wetrun(path)
    assert [file.run.course, file.run.meter, file.run.catch, file.run.monitor] == [None] * 4
    assert len(wet_run_result(file.run).untested) >= 8


def test_the_machine_may_come_from_a_season_with_what_the_plan_expects():
    file = read_wetrun(DEMO)
    run, ramp = file.run, there(file.run.ramp)
    assert run.machine.boom.tips == 72
    assert run.customer == "Low Fork Farm"
    assert ramp.rate_m3pm2 == pytest.approx(read("15 gal/ac", Kind.RATE).si_value)
    assert {step.expected is not None for step in ramp.steps} == {True}
    usual = next(step for step in ramp.steps if step.name == "usual")
    assert there(usual.expected).boom_flow_m3s == pytest.approx(ramp.demand_m3s(usual))
    assert {want.setting.value for want in there(run.monitor).wanted} >= {"target rate", "section width", "density"}


def test_the_demo_finds_its_story():
    result = wet_run_result(read_wetrun(DEMO).run)
    assert result.sentence.startswith("The flow meter reads 4.")
    assert "tip 23" in result.sentence
    assert "tip 58" in result.sentence
    assert [tip.caught.tip for tip in result.tips] == [23, 58]
    meter, wheel = result.numbers
    assert meter.found.text == "720"
    assert abs(meter.new / (720 * 1.04) - 1.0) < meter.expanded_ratio  # 4 % was put into the readings
    assert abs(wheel.new / 322 - 1.0) < wheel.expanded_ratio


def test_a_point_in_the_wrong_place_is_asked_about_and_not_corrected(wetrun_at):
    row = first_readings(example_wetrun())
    number = row.split(",")[2].strip()
    slipped = ",".join([*row.split(",")[:2], f" {float(number) * 10:.0f}", *row.split(",")[3:]])
    file = read_wetrun(wetrun_at((row, slipped)))
    kept = next(reading for reading in there(file.run.catch).run.readings if reading.tip == 3)
    assert kept.volume_m3 == pytest.approx(read(f"{float(number) * 10:.0f} fl oz", Kind.VOLUME).si_value)
    result = wet_run_result(file.run)
    asked = [question for question in result.questions if question.part is Part.CATCH]
    assert [question.row for question in asked] == ["tip 3"]
    assert asked[0].first
    assert "1 question" in result.sentence
    assert 3 not in {tip.caught.tip for tip in result.tips}


def test_one_reading_typed_in_another_unit_is_asked_about(wetrun_at):
    # 20 gal weighed in pounds but typed as kilograms: 2.2 times as much.
    text = example_wetrun()
    gross = re.search(r'gross = "([0-9.]+) lb"\ntare = "38.2 lb"', text)
    assert gross is not None
    path = wetrun_at((gross[0], f'gross = "{gross[1]} kg"\ntare = "38.2 kg"'))
    result = wet_run_result(read_wetrun(path).run)
    asked = [question for question in result.questions if question.part is Part.METER]
    assert [question.row for question in asked] == ["catch 1"]
    assert "kilograms" in asked[0].words
    assert result.numbers == ()


def test_a_blank_stays_a_gap_and_holds_nothing_up(wetrun_at):
    row = first_readings(example_wetrun())
    gap = ",".join([row.split(",")[0], ' ""', *row.split(",")[2:]])
    result = wet_run_result(read_wetrun(wetrun_at((row, gap))).run)
    assert there(result.findings.catch).gaps == (2,)
    assert [question.first for question in result.questions] == [False]
    assert "question" not in result.sentence


def test_readings_may_stand_by_position_with_their_own_units():
    found = tip_readings({"1": "25.6 fl oz", "7": "", "9": "757 mL"}, "")
    assert set(found) == {1, 7, 9}
    assert found[7] is None
    assert there(found[9]).si_value == pytest.approx(757e-6)


def test_a_column_of_numbers_takes_the_unit_of_its_sheet():
    volume, flow = tip_readings([25.6], "fl oz"), tip_readings(["1,5"], "L/min")
    assert there(volume[1]).kind is Kind.VOLUME
    assert there(flow[1]).kind is Kind.TIP_FLOW
    assert there(flow[1]).si_value == pytest.approx(1.5e-3 / 60)


def test_the_published_schema_is_the_generated_one():
    assert SCHEMA.read_text(encoding="utf-8") == schema_text(wetrun_schema())


@pytest.mark.parametrize("text", [example_wetrun(), DEMO.read_text(encoding="utf-8")], ids=["example", "demo"])
def test_the_schema_accepts_what_is_read(text):
    jsonschema.Draft202012Validator.check_schema(wetrun_schema())
    jsonschema.validate(json.loads(json.dumps(tomllib.loads(text), default=str)), wetrun_schema())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('length = "300 ft"', "length = 300"),
        ('way = "out"', 'way = "north"'),
        ('fitted = "iso-11004-ff"', 'fited = "iso-11004-ff"'),
        ('meter_number = "720"', "meter_number = 720"),
        ("sections_on = 6", 'sections_on = "all"'),
    ],
)
def test_the_schema_refuses_what_is_refused(old, new):
    text = example_wetrun()
    assert old in text
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(
            json.loads(json.dumps(tomllib.loads(text.replace(old, new, 1)), default=str)), wetrun_schema()
        )


def test_the_same_file_gives_the_same_result_twice():
    run = read_wetrun(DEMO).run
    one, two = wet_run_result(run), wet_run_result(replace(run))
    assert one.sentence == two.sentence
    assert one.evidence == two.evidence
