"""Evidence of the tips: the set, the tips that stand out, swap tests that were done, and the boom at low duty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wetrun.proving.catch import CatchResult
from wetrun.proving.catch_diagnosis import TipFault, TipFinding
from wetrun.proving.catch_followed import best_level, level_by_new_tips
from wetrun.proving.session_pulse import weak_words
from wetrun.proving.session_result import Evidence, Findings, Part
from wetrun.proving.session_rows import SET_THING, About, Held, counted, farthest, line_of, positions, told
from wetrun.proving.swap import SwapOutcome
from wetrun.proving.swaps import SwapResult
from wetrun.proving.verdict import Judged, Verdict
from wetrun.units import FRACTION

_LIKE_BOOM = Held("like its boom: an outlier test, 1 % of false alarms over all tips", "rosner-1983", of_trade=False)
_SET_RULE = Held("the set no more than 10 % over new", "unl-tip-5-percent")


def catch_lines(found: Findings) -> Iterator[Evidence]:
    """Yield the evidence of the tips.

    Parameters
    ----------
    found : Findings
        The tests' results.

    Yields
    ------
    Evidence
        The set, tips by the rule, swap tests, then the same boom at low duty.
    """
    if found.catch is not None:
        yield from _set(found, found.catch)
        yield from _by_rule(found.catch)
        for swap in found.swaps:
            yield from _swap(swap)
    if found.low_catch is not None:
        yield from _low_duty(found, found.low_catch)


def tip_line(catch: CatchResult, position: int) -> Iterator[Evidence]:
    """Yield the line of one tip by the rule; nothing if it was not caught or its reading is in question."""
    held = _held(catch)
    for tip in catch.tips:
        if tip.caught.tip == position and tip.beyond is not None:
            about = About(Part.CATCH, _tip_thing(tip), tip.words, f"tip {position}")
            yield line_of(about, tip.beyond, held, less=1.0)


def _held(catch: CatchResult) -> Held:
    return Held(catch.base.rule.words, catch.base.rule.source_key)


def _set(found: Findings, catch: CatchResult) -> Iterator[Evidence]:
    """The set against its chart and against new tips on the same boom: the better known of the two decides."""
    by_chart = best_level(catch, found.reference) is catch.level
    chart = line_of(About(Part.CATCH, SET_THING, catch.remedy.value), catch.level, _SET_RULE, less=1.0)
    yield replace(chart, counts=by_chart)
    if found.reference is not None:
        about = About(Part.CATCH, "whole set against new tips on the same boom", catch.remedy.value)
        by_new = line_of(about, level_by_new_tips(catch, found.reference), _SET_RULE, less=1.0)
        yield replace(by_new, counts=not by_chart)


def _by_rule(catch: CatchResult) -> Iterator[Evidence]:
    rest: list[tuple[TipFinding, Judged]] = []
    for tip in catch.tips:
        if tip.beyond is None:
            continue
        if tip.unlike or tip.beyond.verdict is Verdict.FAIL:
            yield from tip_line(catch, tip.caught.tip)
        else:
            rest.append((tip, tip.beyond))
    yield from _other_tips(rest, _held(catch), alone=len(rest) == len(catch.tips))
    for own in catch.as_predicted:
        where = "along the boom" if own.section is None else f"section {own.section} against the rest"
        about = About(Part.CATCH, f"{where}, {own.fault.value}, not a fault", own.words, where)
        yield told(about, own.flow_ratio - 1.0)


def _tip_thing(tip: TipFinding) -> str:
    like = f" {', '.join(tip.other_sizes)}" if tip.fault is TipFault.WRONG_SIZE else ""
    return f"tip {tip.caught.tip}, {tip.fault.value}{like}"


def _other_tips(rest: list[tuple[TipFinding, Judged]], held: Held, *, alone: bool) -> Iterator[Evidence]:
    near = [tip.caught.tip for tip, beyond in rest if beyond.verdict is Verdict.UNDECIDED]
    sure = [tip.caught.tip for tip, beyond in rest if beyond.verdict is Verdict.PASS]
    others = f"{'all' if alone and not near else 'the other'} {len(sure)} tips"
    groups = (
        (near, f"tips {positions(near)}", "catch them again for longer", "tips too near the limit"),
        (sure, others, "", "tips within the limit"),
    )
    for numbers, which, step, place in groups:
        if numbers:
            worst = farthest([beyond for tip, beyond in rest if tip.caught.tip in numbers])
            yield line_of(About(Part.CATCH, f"{which}, the farthest", step, place), worst, held, less=1.0)


def _swap(swap: SwapResult, part: Part = Part.CATCH) -> Iterator[Evidence]:
    """Where a fault went; it decides what to do with the tip, and no verdict of its own."""
    found = swap.verdict
    if found is None:
        return
    outcome = found.outcome.value.replace("tip", swap.part)
    thing = f"swap test at tip {swap.odd} with {swap.good}: {outcome}; share that went with the {swap.part}"
    about = About(part, thing, swap.words, f"swap of tip {swap.odd} with {swap.good}")
    line = told(about, found.with_tip_frac, found.doubt.expanded(), unit=FRACTION)
    open_ends = (SwapOutcome.UNDECIDED, SwapOutcome.BOTH)
    yield replace(line, verdict=Verdict.UNDECIDED) if found.outcome in open_ends else line


def _low_duty(found: Findings, low: CatchResult) -> Iterator[Evidence]:
    yield told(About(Part.LOW_DUTY, "whole set against duty times new"), low.level.value - 1.0, low.level.expanded)
    weak = found.low_duty
    if weak is None:
        return
    yield counted(About(Part.LOW_DUTY, "tips that pulse unlike their boom"), len(weak), _LIKE_BOOM)
    for each, words in zip(weak, weak_words(found), strict=True):
        about = About(Part.LOW_DUTY, f"tip {each.tip}, low duty over full, against its boom", words)
        yield told(replace(about, place=f"tip {each.tip}"), each.change_ratio - 1.0, each.expanded_ratio)
    for swap in found.low_swaps:
        yield from _swap(swap, Part.LOW_DUTY)
    judged = [tip.beyond for tip in low.tips if tip.beyond is not None]
    beyond = [t.caught.tip for t in low.tips if t.beyond is not None and t.beyond.verdict is Verdict.FAIL]
    if judged:
        which = f"tips at low duty, the farthest; beyond the limit: {positions(beyond) or 'none'}"
        yield line_of(About(Part.LOW_DUTY, which, place="tips at low duty"), farthest(judged), _held(low), less=1.0)
