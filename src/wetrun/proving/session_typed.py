"""What is asked about before any test is worked out, and the run without it: nothing in question reaches a verdict."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from wetrun.proving.pressure_questions import pressure_questions, row_name
from wetrun.proving.ramp_questions import ramp_questions, sound_ramp
from wetrun.proving.session_answers import SHEETS
from wetrun.proving.session_record import PressureTest, WetRun
from wetrun.proving.session_result import Part
from wetrun.proving.slips import Question
from wetrun.proving.standing import parted, rows_of
from wetrun.proving.steady_questions import BoomFlow, sound_steady, steady_questions

PartQuestions = tuple[tuple[Part, Question], ...]


def sound_run(run: WetRun) -> tuple[WetRun, PartQuestions, PartQuestions]:
    """Return a wet run without the steady, gauge and ramp readings that cannot be as typed, and what is asked of them.

    Parameters
    ----------
    run : WetRun
        As written down.

    Returns
    -------
    tuple of WetRun and two tuples of Part and Question
        Open questions, and those that an answer settles. Course, meter and catch ask about their own rows and are left
        as they are.
    """
    asked = {
        Part.CROSSCHECK: steady_questions(run.steady, boom_flow(run)),
        Part.PRESSURE: () if run.pressure is None else pressure_questions(run.pressure.pairs),
        Part.RAMP: () if run.ramp is None else ramp_questions(run.ramp),
    }
    split = {part: parted(questions, rows_of(run.stands, SHEETS[part])) for part, questions in asked.items()}
    steady, gauged, ramped = (still_open for still_open, _ in split.values())
    sound = replace(
        run,
        steady=sound_steady(run.steady, steady),
        pressure=None if run.pressure is None else _sound_pairs(run.pressure, gauged),
        ramp=None if run.ramp is None else sound_ramp(run.ramp, ramped),
    )
    still_open = tuple((part, question) for part, (questions, _) in split.items() for question in questions)
    return sound, still_open, tuple((part, question) for part, (_, settled) in split.items() for question in settled)


def boom_flow(run: WetRun) -> BoomFlow:
    """Return what the whole boom gives in the middle of its tips' range, when new.

    Parameters
    ----------
    run : WetRun
        Its machine.

    Returns
    -------
    BoomFlow
        Odd positions are counted as the set's own; the readings are only held to half as much again.
    """
    setup = run.machine.setup
    middle_pa = sqrt(setup.low_pa * setup.high_pa)
    return BoomFlow(run.machine.boom.tips * float(setup.law.flow_m3s(middle_pa)), middle_pa)


def _sound_pairs(test: PressureTest, asked: tuple[Question, ...]) -> PressureTest:
    out = {question.row for question in asked}
    return replace(test, pairs=tuple(p for n, p in enumerate(test.pairs, start=1) if row_name(n) not in out))
