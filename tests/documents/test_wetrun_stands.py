"""A reading that was asked about and stands as typed: every kind of question has an answer, shown with who gave it."""

from __future__ import annotations

import json
import math
import re
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from wetrun.cli.app import app
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.errors import InputProblems
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_data import wet_run_data
from wetrun.proving.catch_diagnosis import TipFault, TipFinding
from wetrun.proving.ramp_findings import Seen
from wetrun.proving.session import Part, WetRunResult, wet_run_result
from wetrun.quantity import System

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("stands") / "demo"
    shutil.copytree(DEMO, place)
    return place


def stands(name: str, *more: str) -> str:
    return "\n".join(("\n[[stands]]", f'reading = "{name}"', 'by = "B. Ash"', *more, ""))


def judged(folder: Path, old: str, new: str, *answers: str) -> WetRunResult:
    """What the demo says with one reading changed, and answers written beneath."""
    text = (DEMO / "wetrun.toml").read_text(encoding="utf-8")
    assert old in text
    path = folder / "answered.toml"
    path.write_text(text.replace(old, new, 1) + "".join(answers), encoding="utf-8")
    return wet_run_result(read_wetrun(path).run, pressure_words=lambda pressure_pa: f"{pressure_pa:.0f} Pa")


@pytest.mark.parametrize(
    ("old", "new", "name"),
    [
        ("pulses = { wheel = 322 }", "pulses = { wheel = 3220 }", "course run 1"),
        ("pulses = 34396", "pulses = 343960", "meter catch 2"),
        ('gross = "595.4 lb"', 'gross = "5954 lb"', "meter catch 2"),
        ("39.6, 40.5", "39.6, 405", "catch tip 6"),
        ("39.6, 40.5", "39.6, 0", "catch tip 6"),
        ('time = "30 s"', 'time = "300 s"', "catch whole boom"),
        ('flow = "53.7 gal/min"', 'flow = "537 gal/min"', "pressure gauge 2 flow"),
        ('cab = "66 psi"', 'cab = "6.6 psi"', "steady pressure 2 cab"),
        ('cab = ["62 psi"]', 'cab = ["4.3 psi"]', "ramp fast cab pressure"),
        ('speed = "15 mph"', 'speed = "15 km/h"', "ramp fast speed"),
        ('meter_number = "720"', 'meter_number = "7200"', "meter every row"),
        ('meter_number = "748"', 'meter_number = "7480"', "monitor meter number"),
    ],
)
def test_every_kind_of_question_is_settled_by_its_name(folder: Path, old: str, new: str, name: str) -> None:
    asked = [question for question in judged(folder, old, new).questions if name in question.names]
    assert len(asked) == 1
    result = judged(folder, old, new, stands(name, 'at = "09:40"', 'remark = "looked twice"'))
    assert not any(name in question.names for question in result.questions)
    assert [(each.standing.reading, each.settles) for each in result.answers] == [(name, True)]
    assert result.answers[0].words == f"{name}: asked, and confirmed as typed by B. Ash, 09:40: looked twice"
    assert all(math.isfinite(line.value) for line in result.evidence)


def tip_six(result: WetRunResult) -> TipFinding:
    assert result.findings.catch is not None
    return next(tip for tip in result.findings.catch.tips if tip.caught.tip == 6)


def test_a_tip_that_stands_is_judged(folder: Path) -> None:
    asked = judged(folder, "39.6, 40.5", "39.6, 4.05")
    result = judged(folder, "39.6, 40.5", "39.6, 4.05", stands("catch tip 6"))
    before, after = tip_six(asked), tip_six(result)
    assert before.question is not None
    assert before.beyond is None
    assert after.question is None
    assert after.fault is TipFault.RESTRICTED
    assert after.beyond is not None
    assert "If the reading stands" not in after.words
    assert 6 in [tip.caught.tip for tip in result.tips]
    assert any(line.place == "tip 6" for line in result.evidence if line.part is Part.CATCH)


def test_a_blank_or_a_zero_that_nothing_can_be_made_of_has_no_such_answer(folder: Path) -> None:
    for old, new, row in (
        ("39.6, 40.5", '39.6, ""', "tip 6"),
        ('meter = "45.6 gal/min"', 'meter = "0 gal/min"', "pressure 1"),
        ("pulses = 34396", "", "catch 2"),
    ):
        sheet = {"tip 6": "catch", "pressure 1": "steady", "catch 2": "meter"}[row]
        result = judged(folder, old, new, stands(f"{sheet} {row}"))
        asked = [question for question in result.questions if question.row == row]
        assert asked
        assert asked[0].names == ()
        assert [each.settles for each in result.answers] == [False]


def test_a_name_that_nothing_is_asked_about_is_told(folder: Path) -> None:
    result = judged(folder, "39.6, 40.5", "39.6, 405", stands("catch tip 60"))
    assert [question.names for question in result.questions] == [("catch tip 6",)]
    assert "nothing is asked about it" in result.answers[0].words


def test_commas_and_case_of_a_name_do_not_count(folder: Path) -> None:
    old, new = 'cab = "66 psi"', 'cab = "6.6 psi"'
    assert judged(folder, old, new, stands("Steady pressure 2, cab")).answers[0].settles


def test_questions_and_answers_stand_on_screen_in_json_and_on_paper(folder: Path) -> None:
    judged(folder, "39.6, 40.5", "39.6, 405")
    run = CliRunner().invoke(app, ["prove", str(folder / "answered.toml")])
    assert "[catch tip 6]" in run.output
    assert "[[stands]]" in run.output
    result = judged(folder, "39.6, 40.5", "39.6, 405", stands("catch tip 6", 'remark = "looked twice"'))
    said = "catch tip 6: asked, and confirmed as typed by B. Ash: looked twice"
    run = CliRunner().invoke(app, ["prove", str(folder / "answered.toml")])
    assert said in " ".join(run.output.split())
    plain = json.loads(CliRunner().invoke(app, ["prove", str(folder / "answered.toml"), "--json"]).output)
    assert plain["answers"] == [
        {"reading": "catch tip 6", "by": "B. Ash", "at": "", "remark": "looked twice", "settles": True}
    ]
    assert wet_run_data(result, Reader(System.US))["answers"] == [said]


def test_a_tip_written_as_no_flow_is_judged_and_not_asked_about(folder: Path) -> None:
    result = judged(folder, "39.6, 40.5", '39.6, "no flow"')
    assert not result.questions
    assert tip_six(result).fault is TipFault.NO_FLOW
    assert tip_six(result).words.startswith("Tip 6 gives nothing: blocked or shut. Look, clear")
    assert tip_six(result).beyond is not None
    assert "tip 6 gives nothing" in result.sentence
    bare = judged(folder, "39.6, 40.5", "39.6, 0")
    assert [question.row for question in bare.questions] == ["tip 6"]
    assert "not caught" in tip_six(bare).words


def test_a_flow_below_the_meter_s_range_is_a_finding_and_no_question(folder: Path) -> None:
    path = folder / "small.toml"
    text = (DEMO / "wetrun.toml").read_text(encoding="utf-8")
    one = re.search(r'^flow = \["5\.\d+ gal/min".*\]$', text, re.MULTILINE)
    assert one is not None
    path.write_text(text.replace(one.group(), 'flow = ["below range"]'), encoding="utf-8")
    result = wet_run_result(read_wetrun(path).run)
    assert not result.questions
    assert result.findings.ramp is not None
    said = {found.seen: found.steps for found in result.findings.ramp.findings}
    assert said[Seen.BELOW_RANGE] == ("usual, one section on",)
    cells = [
        cell["read"] for step in wet_run_data(result, Reader(System.US))["ramp"]["steps"] for cell in step["cells"]
    ]
    assert cells.count("below range") == 1
    path.write_text(text.replace(one.group(), 'flow = ["below range", "5.2 gal/min"]'), encoding="utf-8")
    with pytest.raises(InputProblems, match="below range"):
        read_wetrun(path)
