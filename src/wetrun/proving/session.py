"""A whole wet run, judged: every test by its own function, the cross-check over all of them, one answer."""

from __future__ import annotations

from dataclasses import replace

from wetrun.proving.gates import CAUTIONS, STATEMENT
from wetrun.proving.ramp_check import worst
from wetrun.proving.sentence import Words, answer, pascals
from wetrun.proving.session_answers import answers_of
from wetrun.proving.session_changes import Moved, changes_since
from wetrun.proving.session_evidence import evidence_of
from wetrun.proving.session_record import WetRun
from wetrun.proving.session_result import (
    Answered,
    Asked,
    Evidence,
    Findings,
    NewNumber,
    Part,
    Untested,
    WetRunResult,
)
from wetrun.proving.session_sentence import sentence_of
from wetrun.proving.session_steps import next_steps_of, numbers_of, questions_of, tips_of
from wetrun.proving.session_tests import findings_of

__all__ = [
    "Answered",
    "Asked",
    "Evidence",
    "Findings",
    "Moved",
    "NewNumber",
    "Part",
    "Untested",
    "WetRun",
    "WetRunResult",
    "changes_since",
    "in_words_of",
    "wet_run_result",
]


def wet_run_result(run: WetRun, *, pressure_words: Words = pascals) -> WetRunResult:
    """Return what a wet run says.

    Parameters
    ----------
    run : WetRun
        As written down; every test is optional.
    pressure_words : callable
        Makes words of a pressure in pascal, in the reader's unit.

    Returns
    -------
    WetRunResult
        Sentence, verdicts with their evidence, questions, next steps, numbers, tips, and what stays unproven.

    Notes
    -----
    Nothing is worked out here that a test does not work out itself. A test that cannot be worked out is listed as
    unproven with its reason. Gates that are not confirmed are told first; what was read is judged all the same.

    References
    ----------
    gum-jcgm-100, guard-band-106
    """
    found, untested = findings_of(run, pressure_words)
    return _told(run, found, untested, pressure_words)


def in_words_of(result: WetRunResult, *, pressure_words: Words) -> WetRunResult:
    """Return the same wet run with the pressures in its sentences in other units.

    Parameters
    ----------
    result : WetRunResult
        Worked out for any reader.
    pressure_words : callable
        Makes words of a pressure in pascal.

    Returns
    -------
    WetRunResult
        Numbers and verdicts are untouched.
    """
    found = result.findings
    if found.check is not None:
        found = replace(found, answer=answer(found.check, pressure_words=pressure_words))
    return _told(result.run, found, result.untested, pressure_words)


def _told(run: WetRun, found: Findings, untested: tuple[Untested, ...], pressure_words: Words) -> WetRunResult:
    evidence, questions, tips = evidence_of(run, found, pressure_words), questions_of(found), tips_of(found)
    verdicts = (line.verdict for line in evidence if line.counts and line.verdict is not None)
    return WetRunResult(
        run=run,
        sentence=sentence_of(found, evidence, tips, questions),
        verdict=worst(verdicts),
        evidence=evidence,
        questions=questions,
        answers=answers_of(run, found),
        next_steps=next_steps_of(found, evidence, questions),
        numbers=numbers_of(run, found),
        tips=tips,
        untested=untested,
        unseen=() if found.answer is None else found.answer.unseen,
        cautions=CAUTIONS,
        statement=STATEMENT,
        findings=found,
    )
