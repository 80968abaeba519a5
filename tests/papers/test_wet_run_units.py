"""One wet run told to two readers: no unit of the other's system in text, JSON, paper or picture."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests.paper_reading import text_of
from tests.papers.test_wet_run_pdf import whole_run

from wetrun.cli.plain_prove import plain_wet_run
from wetrun.cli.prove_text import tell_wet_run
from wetrun.documents.wetrun_file import WetRunFile
from wetrun.papers.papers import Paper
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_paper import wet_run_pdf
from wetrun.proving.course import Course
from wetrun.proving.session import in_words_of, wet_run_result
from wetrun.proving.session_result import Part
from wetrun.quantity import System

OTHERS = {
    System.US: r"bar|[kM]?Pa|km/h|m/s|L|mL|L/min|L/ha|L/min/m|kg|kg/L|ha|hectares?|°C|m3/s|\d m|\d cm|\d m2",
    System.SI: r"psi|mph|gal|gallons?|gal/min|gal/ac|gal/min/ft|lb|lb/gal|ac|acres?|°F|fl oz|oz|ft|feet|\d\.\d in",
}
MONITORS_OWN = re.compile(r"pulses per (US gal|100 m)\b")
"""What a monitor counts in is told as the monitor has it, whoever reads."""


def foreign(said: str, system: System) -> list[str]:
    """Units of the other system in a text, each with what stands before it."""
    flat = MONITORS_OWN.sub("", " ".join(said.split()))
    return [found.group() for found in re.finditer(rf".{{0,30}}(?<![\w/])({OTHERS[system]})(?![\w/])", flat)]


def told(value: Any) -> Iterator[str]:
    """Every sentence inside JSON: a unit's symbol beside a value is SI for every reader and no sentence."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from (text for key, part in value.items() if key not in {"unit", "form"} for text in told(part))
    elif isinstance(value, list):
        yield from (text for part in value for text in told(part))


def short_course():
    """A run that speaks of pressures, lengths and flows; what the monitor holds is told as typed, so it is left out."""
    run = whole_run()
    steady = tuple(replace(one, name=f"steady {n}") for n, one in enumerate(run.steady, 1))
    quarter = tuple(
        replace(one, time_s=one.time_s / 4, readings=tuple(replace(r, pulses=r.pulses / 4) for r in one.readings))
        for one in run.course.runs
    )
    course = replace(run.course, course=Course(length_m=25.0), runs=quarter)
    return replace(run, monitor=None, steady=steady, course=course)


def standing_still():
    """A pressure test that cannot be worked out, with a flow in the reason."""
    run = short_course()
    first, *rest = run.pressure.pairs
    return replace(run, pressure=replace(run.pressure, pairs=(replace(first, flow_m3s=-1e-3), *rest)))


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("made", [short_course, standing_still])
def test_no_reader_meets_a_unit_of_the_other_system(capsys, made, system):
    reader, run = Reader(system), made()
    result = wet_run_result(run, pressure_words=reader.difference)
    file = WetRunFile(path=Path("wetrun.toml"), title="Before the season", run=run, typed={}, units=system)
    tell_wet_run(file, result, (), reader)
    sentences = told(plain_wet_run(file, result, (), (), system=system))
    paper = text_of(wet_run_pdf(wet_run_result(run), reader, Paper.LETTER, before=result))
    for said in (capsys.readouterr().out, " | ".join(sentences), paper):
        assert any(own.split()[-1] in said for own in (reader.pressure(1.0), reader.flow(1.0)))
        assert foreign(said, system) == []


@pytest.mark.parametrize("system", System)
def test_a_sentence_in_pascal_is_told_anew_for_its_reader(system):
    reader, run = Reader(system), short_course()
    anew = in_words_of(wet_run_result(run), pressure_words=reader.difference)
    straight = wet_run_result(run, pressure_words=reader.difference)
    assert (anew.sentence, anew.next_steps) == (straight.sentence, straight.next_steps)
    assert anew.evidence == straight.evidence
    assert not any(" Pa" in text for text in (anew.sentence, *anew.next_steps))


def test_the_limit_of_a_gauge_is_told_in_the_units_of_the_reader():
    rules = {}
    for system in System:
        result = wet_run_result(short_course(), pressure_words=Reader(system).difference)
        rules[system] = next(line.rule for line in result.evidence if line.part is Part.PRESSURE)
    assert rules[System.SI] == "gauge within ±10 % of the reading, or 0.20 bar up to 2.00 bar"
    assert rules[System.US] == "gauge within ±10 % of the reading, or 2.9 psi up to 29.0 psi"


def test_a_course_too_short_is_told_with_the_length_it_should_have():
    run = short_course()
    said = [text_of(wet_run_pdf(wet_run_result(run), Reader(system), Paper.LETTER)) for system in System]
    assert ["(at least 100 ft)" in said[0], "(at least 30.5 m)" in said[1]] == [True, True]


@pytest.mark.parametrize("system", System)
def test_a_unit_of_the_other_system_would_be_seen(system):
    other = next(each for each in System if each is not system)
    for text in ("loses {} here", "({})", "± {}."):
        assert foreign(text.format(Reader(other).pressure(3e5)), system)
        assert not foreign(text.format(Reader(system).pressure(3e5)), system)
