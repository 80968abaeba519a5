"""The cross-check as plain data: its own answer always stands there, also where the run's sentence says it too."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from wetrun.documents.wetrun_file import read_wetrun
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_data import wet_run_data
from wetrun.proving.session import wet_run_result
from wetrun.proving.session_result import WetRunResult
from wetrun.quantity import System

READER = Reader(System.US)
RUN = read_wetrun(Path(__file__).parents[2] / "demo" / "wetrun.toml").run


def judged(**changed: object) -> WetRunResult:
    return wet_run_result(replace(RUN, **changed), pressure_words=READER.difference)  # type: ignore[arg-type]


def test_the_answer_stands_by_itself_where_the_sentence_of_the_run_holds_it_too() -> None:
    result = judged()
    data = wet_run_data(result, READER)
    assert result.findings.answer is not None
    assert data["cross_check"] == result.findings.answer.sentence
    assert (data["agreement"], data["agrees"]) == ("", False)


def test_readings_that_agree_say_so() -> None:
    steady = tuple(replace(each, meter_m3s=None) for each in RUN.steady)  # without the meter, which reads 4 % high
    data = wet_run_data(judged(meter=None, course=None, steady=steady, screen=None), READER)
    assert (data["cross_check"], data["agrees"]) == ("All readings agree within their uncertainties.", True)


def test_nothing_agrees_or_disagrees_where_nothing_was_held_together() -> None:
    data = wet_run_data(judged(meter=None, course=None, steady=(), screen=None, catch=None), READER)
    assert (data["cross_check"], data["agrees"]) == ("", None)
