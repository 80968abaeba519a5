"""Readings typed wrong into the demo's wet run: each is asked about by row and name, and counts for nothing."""

from __future__ import annotations

import math
import re
import shutil
from pathlib import Path

import pytest

from wetrun.documents.wetrun_file import read_wetrun
from wetrun.errors import InputProblems
from wetrun.proving.session import WetRunResult, wet_run_result

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's files, to be spoiled one at a time."""
    place = tmp_path_factory.mktemp("bad") / "demo"
    shutil.copytree(DEMO, place)
    return place


def judged(folder: Path, *changes: tuple[str, str]) -> WetRunResult:
    """Return what the demo says after each text, which must be there, has been replaced once."""
    text = (DEMO / "wetrun.toml").read_text(encoding="utf-8")
    for n, (old, _) in enumerate(changes):
        assert old in text, old
        text = text.replace(old, f"@{n}@", 1)
    for n, (_, new) in enumerate(changes):
        text = text.replace(f"@{n}@", new)
    path = folder / "spoiled.toml"
    path.write_text(text, encoding="utf-8")
    return wet_run_result(read_wetrun(path).run, pressure_words=lambda pressure_pa: f"{pressure_pa:.0f} Pa")


CAB_AND_TIP = 'cab = "66.1 psi"\ntip = "60 psi"'
FAST_FLOW = 'flow = ["54.3 gal/min", "55.0 gal/min", "54.5 gal/min", "54.9 gal/min", "54.5 gal/min"]'
SLOW_FLOW = 'flow = ["40.0 gal/min", "40.0 gal/min", "39.9 gal/min", "39.8 gal/min", "40.3 gal/min"]'
FAST_RATE = 'rate = ["15.0 gal/ac", "15.0 gal/ac", "15.0 gal/ac", "15.0 gal/ac", "15.1 gal/ac"]'


@pytest.mark.parametrize(
    ("old", "new", "row", "offer"),
    [
        # course
        ('time = "15.86 s"', 'time = "158.6 s"', "run 2", "the time with the point off, 10 times"),
        ('time = "15.86 s"', 'time = "15.86 min"', "run 2", "typed in seconds where minutes is expected"),
        ('time = "15.86 s"', 'time = ""', "run 2", "time: left blank"),
        ('time = "15.86 s"', 'time = "0 s"', "run 2", "time: zero"),
        ('GPS = "12.9 mph"', 'GPS = "12.9 km/h"', "run 1", "typed in mph where km/h is expected"),
        ("wheel = 321", "wheel = 3210", "run 2", "the pulses of wheel with the point off, 10 times"),
        ('length = "300 ft"', 'length = "300 m"', "every row", "length of the course typed in feet where metres"),
        ('length = "300 ft"', 'length = "3000 ft"', "every row", "length of the course with the point off, 10 times"),
        # flow meter
        ('time = "137.9 s"', 'time = "0 s"', "catch 2", "time: zero"),
        ("pulses = 34396", "", "catch 2", "pulses: left blank"),
        ("pulses = 34396", "pulses = 343960", "catch 2", "the pulses with the point off, 10 times"),
        ('gross = "595.4 lb"', 'gross = "595.4 kg"', "catch 2", "the gross typed in pounds where kilograms"),
        ('gross = "595.4 lb"', 'gross = "270.1 lb"', "catch 2", "the gross typed in kilograms where pounds"),
        ('gross = "595.4 lb"', 'gross = "5954 lb"', "catch 2", "the gross with the point off, 10 times"),
        # tips
        ("39.6, 40.5", "39.6, 405", "tip 6", "the point is one place too far to the right"),
        ("39.6, 40.5", "39.6, 1198", "tip 6", "mL were read and taken as fl oz"),
        ("39.6, 40.5", '39.6, ""', "tip 6", "Tip 6 has no amount"),
        ("39.6, 40.5", "39.6, 0", "tip 6", "Tip 6 gave nothing"),
        ('unit = "fl oz"', 'unit = "fl oz"\ntimes = { 6 = "0 s" }', "tip 6", "a time of 0 s"),
        ('unit = "fl oz"', 'unit = "mL"', "whole boom", "fl oz were read and taken as mL"),
        ('time = "30 s"', 'time = "30 min"', "whole boom", "its time in seconds was taken as minutes"),
        ('time = "30 s"', 'time = "300 s"', "whole boom", "the point is one place too far to the left"),
        # gauges
        ('tip = "60 psi"', 'tip = "4.14 psi"', "gauge 2", "the tip typed in bar where psi is expected"),
        ('flow = "53.7 gal/min"', 'flow = "537 gal/min"', "gauge 2", "the flow with the point off, 10 times"),
        (CAB_AND_TIP, 'cab = "60 psi"\ntip = "66.1 psi"', "gauge 2", "the cab and the tip, each in the other's place"),
        # steady
        ('meter = "45.6 gal/min"', 'meter = "456 gal/min"', "pressure 1", "the meter with the point off, 10 times"),
        ('meter = "45.6 gal/min"', 'meter = "0 gal/min"', "pressure 1", "meter: zero"),
        ('cab = "66 psi"', 'cab = "6.6 psi"', "pressure 2", "the cab with the point off, 0.1 times"),
        ('gauge = "60 psi"', 'gauge = "4.14 psi"', "pressure 2", "the gauge typed in bar where psi is expected"),
        ('tank_time = "3 min"', 'tank_time = "3 s"', "pressure 2", "the tank typed in seconds where minutes"),
        ('tank = "161 gal"', 'tank = "161 L"', "pressure 2", "the tank typed in US gallons where litres"),
        # ramp
        ('rate = ["15.1 gal/ac"', 'rate = ["151 gal/ac"', "slow", "the shown rate with the point off, 10 times"),
        (FAST_RATE, 'rate = ["140 gal/ac"]', "fast", "the shown rate typed in L/ha where gal/ac is expected"),
        (FAST_FLOW, 'flow = ["545 gal/min"]', "fast", "the meter flow with the point off, 10 times"),
        ('speed = "15 mph"', 'speed = "15 km/h"', "fast", "the speed typed in mph where km/h is expected"),
        ('cab = ["62 psi"]', 'cab = ["4.3 psi"]', "fast", "the cab pressure typed in bar where psi is expected"),
        ('tip = ["56 psi"]', 'tip = ["0 psi"]', "fast", "tip pressure: zero"),
    ],
)
def test_a_reading_typed_wrong_is_asked_about_by_its_row(
    folder: Path, old: str, new: str, row: str, offer: str
) -> None:
    result = judged(folder, (old, new))
    asked = [question for question in result.questions if question.row == row]
    assert any(offer in question.words for question in asked)
    assert {question.row for question in result.questions} <= {row, "tip 23", "swap of tip 58"}
    # Nothing in question reaches a verdict: the machine's own faults are found as before, and nothing absurd besides.
    assert "The flow meter reads 4." in result.sentence
    assert "must be answered first" in result.sentence or "no amount" in offer  # a gap alone stops nothing
    assert all(abs(line.value) < 1.0 for line in result.evidence if line.thing.startswith("error of"))
    assert not re.search(r"nan|\d{3,}\.\d % (high|low)", result.sentence)
    assert all(math.isfinite(line.value) for line in result.evidence)


@pytest.mark.parametrize(
    ("changes", "rows"),
    [
        (
            (
                ('meter = "45.6 gal/min"', 'meter = "55.9 gal/min"'),
                ('meter = "55.9 gal/min"', 'meter = "45.6 gal/min"'),
            ),
            ("pressure 1", "pressure 2"),
        ),
        (
            (
                ('cab = "38.6 psi"\ntip = "35 psi"', CAB_AND_TIP),
                (CAB_AND_TIP, 'cab = "38.6 psi"\ntip = "35 psi"'),
            ),
            ("gauge 1", "gauge 2"),
        ),
        (((SLOW_FLOW, FAST_FLOW), (FAST_FLOW, SLOW_FLOW)), ("slow", "fast")),
        (
            (  # a smaller vessel for catch 2, so that the rows are unlike enough to show
                ('gross = "595.4 lb"', 'gross = "510 lb"'),
                ("pulses = 34396", "pulses = 33868"),
                ("pulses = 33868", "pulses = 26728"),
            ),
            ("catch 2", "catch 3"),
        ),
    ],
    ids=["steady", "gauges", "ramp", "meter"],
)
def test_two_rows_swapped_are_both_asked_about(
    folder: Path, changes: tuple[tuple[str, str], ...], rows: tuple[str, str]
) -> None:
    result = judged(folder, *changes)
    words = {question.row: question.words for question in result.questions}
    assert set(words) == set(rows)
    assert f"of {rows[1]}, the two rows swapped" in words[rows[0]]
    assert f"of {rows[0]}, the two rows swapped" in words[rows[1]]


def test_cab_and_gauge_of_a_steady_pressure_in_each_others_place_are_asked_about(folder: Path) -> None:
    result = judged(folder, ('cab = "66 psi"\ngauge = "60 psi"', 'cab = "60 psi"\ngauge = "66 psi"'))
    assert [question.row for question in result.questions] == ["pressure 2", "pressure 2"]
    assert all("each in the other's place" in question.words for question in result.questions)
    assert "The flow meter reads 4." in result.sentence


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('cab = "66.1 psi"\n', "", "pressure.gauge[2].cab: this is missing"),
        ('cab = "66.1 psi"', 'cab = ""', 'pressure.gauge[2].cab is ""'),
        ('tip = "60 psi"', 'tip = "0 psi"', 'pressure.gauge[2].tip is "0 psi"'),
        ('cab = "66 psi"', 'cab = "66 bar"', 'steady[2].cab is "66 bar"'),
        ('tank_time = "3 min"', 'tank_time = "0 min"', "steady[2]"),
        ('speed = "15 mph"', 'speed = "0 mph"', 'ramp.step[3].speed is "0 mph"'),
        ('rate = ["15.1 gal/ac"', 'rate = [""', 'ramp.step[1].rate[1] is ""'),
        ('pressure = "40 psi" ', 'pressure = "40 bar" ', 'catch.pressure is "40 bar"'),
    ],
)
def test_what_cannot_be_read_at_all_is_an_error_that_names_its_place(
    folder: Path, old: str, new: str, told: str
) -> None:
    with pytest.raises(InputProblems) as refused:
        judged(folder, (old, new))
    (problem,) = refused.value.problems
    assert (
        told in f"{problem.key} is {problem.value}" or told in f"{problem.key}: {problem.limit}" or problem.key == told
    )


@pytest.mark.parametrize("time", ['time = "0 s"', ""])
def test_a_sheet_without_a_time_says_so(folder: Path, time: str) -> None:
    result = judged(folder, ('time = "30 s"\n', f"{time}\n"))
    (catch,) = [each for each in result.untested if each.part.value == "catch of the tips"]
    assert "time" in str(catch.error)
    assert "Enter the seconds each tip was caught for" in str(catch.error)


def test_the_demo_as_it_is_raises_no_question(folder: Path) -> None:
    assert judged(folder).questions == ()
