"""A wet run as plain data for `--json`: SI values, their unit beside them, ratios less one, verdicts with why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from wetrun.cli.plain_agreement import plain_agreement
from wetrun.documents.wetrun_file import WetRunFile
from wetrun.proving.catch_boom import BoomFinding
from wetrun.proving.catch_diagnosis import TipFinding
from wetrun.proving.catch_pulse import PulseFinding
from wetrun.proving.session import Answered, Evidence, Moved, NewNumber, WetRunResult
from wetrun.proving.session_pulse import weak_words
from wetrun.proving.swaps import SwapResult
from wetrun.quantity import System, sentence

FORMAT_VERSION: Final = 1


def plain_wet_run(
    file: WetRunFile, result: WetRunResult, moved: Sequence[Moved], papers: Iterable[Path], *, system: System
) -> dict[str, Any]:
    """Return a wet run as plain data.

    Parameters
    ----------
    file : WetRunFile
        Its file.
    result : WetRunResult
        What it says.
    moved : sequence of Moved
        What changed since an earlier run.
    papers : iterable of Path
        Files written.
    system : System
        The reader's unit system, for the sentences; the values are SI.

    Returns
    -------
    dict
        Ready for JSON but for infinities.
    """
    run, answer = result.run, result.findings.answer
    return {
        "format_version": FORMAT_VERSION,
        "title": file.title,
        "customer": run.customer,
        "machine": run.machine.name,
        "on": run.on,
        "technician": run.by,
        "sentence": result.sentence,
        "verdict": result.verdict.value,
        "evidence": [_line(line) for line in result.evidence],
        "questions": [
            {"test": q.part.value, "row": q.row, "words": q.words, "first": q.first, "names": list(q.names)}
            for q in result.questions
        ],
        "answers": [_answer(answer) for answer in result.answers],
        "next_steps": list(result.next_steps),
        "new_numbers": [_number(number) for number in result.numbers],
        "tips_to_change": [_tip(tip) for tip in result.tips],
        "all_tips": [] if result.findings.catch is None else [_tip(tip) for tip in result.findings.catch.tips],
        "boom": [] if result.findings.catch is None else [_boom(each) for each in result.findings.catch.boom],
        "as_predicted": []
        if result.findings.catch is None
        else [_boom(each) for each in result.findings.catch.as_predicted],
        "plumbing_losses": [asdict(loss) for loss in result.findings.plumbing],
        "tray_against_stack": None if result.findings.both is None else asdict(result.findings.both),
        "swap_tests": [_swap(swap) for swap in result.findings.swaps],
        "swap_tests_at_low_duty": [_swap(swap) for swap in result.findings.low_swaps],
        "weak_at_low_duty": [
            _weak(each, words)
            for each, words in zip(result.findings.low_duty or (), weak_words(result.findings), strict=True)
        ],
        "alternatives": [] if answer is None else list(answer.alternatives),
        "unproven": [
            {
                "test": each.part.value,
                "unproven": each.unproven,
                "why": "not tested" if each.error is None else sentence(each.error, system),
            }
            for each in result.untested
        ],
        "unseen": list(result.unseen),
        **plain_agreement(result.findings),
        "since": [_moved(each) for each in moved],
        "cautions": list(result.cautions),
        "statement": result.statement,
        "papers": [str(path) for path in papers],
    }


def _answer(answer: Answered) -> dict[str, Any]:
    confirmed = answer.standing.confirmed
    return {
        "reading": answer.standing.reading,
        "by": confirmed.by,
        "at": confirmed.at,
        "remark": confirmed.remark,
        "settles": answer.settles,
    }


def _line(line: Evidence) -> dict[str, Any]:
    return {
        "test": line.part.value,
        "thing": line.thing,
        "value": line.value,
        "expanded": line.expanded,
        "low": line.low,
        "high": line.high,
        "unit": None if line.unit is None else line.unit.symbol,
        "rule": line.rule,
        "source": line.source_key,
        "verdict": None if line.verdict is None else line.verdict.value,
        "next_step": line.next_step,
        "caution": line.caution,
        "counts": line.counts,
    }


def _number(number: NewNumber) -> dict[str, Any]:
    return {
        "test": number.part.value,
        "thing": number.thing,
        "form": number.found.form.words,
        "convention": number.found.form.convention.value,
        "found": number.found.text,
        "new": number.new,
        "expanded_ratio": number.expanded_ratio,
        "enter": None if number.enter is None else number.enter.text,
        "rounding_ratio": None if number.enter is None else number.enter.off_ratio,
    }


def _tip(tip: TipFinding) -> dict[str, Any]:
    return {
        "tip": tip.caught.tip,
        "section": tip.caught.section,
        "flow_m3s": tip.caught.flow_m3s,
        "to_new_ratio": tip.caught.to_new_ratio,
        "to_boom_ratio": tip.to_boom_ratio,
        "unlike": tip.unlike,
        "verdict": None if tip.beyond is None else tip.beyond.verdict.value,
        "expanded": None if tip.beyond is None else tip.beyond.expanded,
        "fault": tip.fault.value,
        "other_sizes": list(tip.other_sizes),
        "words": tip.words,
    }


def _boom(each: BoomFinding) -> dict[str, Any]:
    return {
        "fault": each.fault.value,
        "section": each.section,
        "flow_ratio": each.flow_ratio,
        "words": each.words,
    }


def _swap(swap: SwapResult) -> dict[str, Any]:
    """A swap test; without an outcome where its words ask something."""
    found = swap.verdict
    return {
        "odd": swap.odd,
        "good": swap.good,
        "times": swap.times,
        "outcome": None if found is None else found.outcome.value,
        "possible": [] if found is None else [outcome.value for outcome in found.possible],
        "with_tip_frac": None if found is None else found.with_tip_frac,
        "expanded": None if found is None else found.doubt.expanded(),
        "rounds": None if found is None else found.rounds,
        "words": swap.words,
    }


def _weak(each: PulseFinding, words: str) -> dict[str, Any]:
    return {
        "tip": each.tip,
        "change_ratio": each.change_ratio,
        "expanded_ratio": each.expanded_ratio,
        "passes_full": each.passes_full,
        "words": words,
    }


def _moved(each: Moved) -> dict[str, Any]:
    before, after = each.verdicts
    return {
        "test": each.part.value,
        "thing": each.thing,
        "moved": each.moved,
        "expanded": each.expanded,
        "unit": None if each.unit is None else each.unit.symbol,
        "beyond_doubt": each.beyond_doubt,
        "before": None if before is None else before.value,
        "after": None if after is None else after.value,
    }
