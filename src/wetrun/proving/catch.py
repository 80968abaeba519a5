"""The catch test: every tip on the boom, held against its boom and against a rule, with what to do about it.

*Unlike its boom* is an outlier test on what is left after the pattern along the boom is taken out; *beyond the rule*
is the chosen limit with a guard band. They answer different questions and are never merged.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np

from wetrun.errors import NotDefined
from wetrun.percent import more_or_less, per_cent
from wetrun.proving.catch_boom import BoomFault, BoomFinding
from wetrun.proving.catch_diagnosis import ODD_FAULTS, TipFinding, TipSigns, new_tip_finding, tip_finding
from wetrun.proving.catch_flow import CaughtTip, caught_tips, shared_doubt
from wetrun.proving.catch_odd import LEAST_TIPS
from wetrun.proving.catch_plumbing import boom_told
from wetrun.proving.catch_questions import Question, Trouble, row_questions, swap_questions
from wetrun.proving.catch_remedy import BoomState, Remedy, remedy_for
from wetrun.proving.catch_rules import Baseline, Rule, baseline, beyond_rule, rule_of
from wetrun.proving.catch_run import CatchRun
from wetrun.proving.catch_seen import SeenBoom, seen_boom
from wetrun.proving.catch_slips import sheet_question, slip_question
from wetrun.proving.standing import parted
from wetrun.proving.uncertainty import Budget, Component, Judged, judged
from wetrun.units import Frac, Ratio


@dataclass(frozen=True, slots=True)
class CatchResult:
    """What a catch shows.

    Attributes
    ----------
    tips : tuple of TipFinding
        Every tip that was caught, along the boom.
    boom : tuple of BoomFinding
        What tips have in common.
    gaps : tuple of int
        Positions without a reading that can be used.
    questions : tuple of Question
        What to ask before anything is replaced.
    base : Baseline
        The rule, and what it holds the tips against.
    level : Judged
        The whole set over new, against the limits the trade sets a set.
    spread_frac : float
        Tip-to-tip spread of the ordinary tips, the reading's own doubt taken off [frac].
    reading_frac : float
        Standard uncertainty of one catch [frac].
    alike_ratio : float
        A tip further from its boom than this, up or down, would be called unlike [ratio].
    remedy : Remedy
        What to do.
    words : str
        Why.
    as_predicted : tuple of BoomFinding
        What tips have in common because the boom is plumbed so; no fault.
    confirmed : tuple of Question
        What was asked, and answered: these readings stand as typed and count.
    """

    tips: tuple[TipFinding, ...]
    boom: tuple[BoomFinding, ...]
    gaps: tuple[int, ...]
    questions: tuple[Question, ...]
    base: Baseline
    level: Judged
    spread_frac: Frac
    reading_frac: Frac
    alike_ratio: Ratio
    remedy: Remedy
    words: str
    as_predicted: tuple[BoomFinding, ...] = ()
    confirmed: tuple[Question, ...] = ()


def catch_result(run: CatchRun, rule: Rule, *, set_rule: Rule | None = None) -> CatchResult:
    """Return what the catch of a boom shows.

    Parameters
    ----------
    run : CatchRun
        The catch as written down.
    rule : Rule
        The rule every tip is held against.
    set_rule : Rule or None
        The rule for the whole set against new; None takes 10 % over new.

    Returns
    -------
    CatchResult
        Tips, boom, questions and remedy.

    Raises
    ------
    NotDefined
        Fewer than eight tips that can be read.

    Notes
    -----
    Normal scatter of ordinary tips is assumed, and catches of like doubt. Up to a fifth of the boom may be odd besides
    what steps and falls explain; a boom of two kinds of tips mixed by halves is outside it.

    References
    ----------
    rosner-1983, robust-median-mad, gum-jcgm-100, wetrun-catch-power
    """
    caught = caught_tips(run)
    flowing = tuple(tip for tip in caught if tip.flow_m3s > 0.0 and tip.tip not in run.new_tips)
    if len(flowing) < LEAST_TIPS:
        raise _too_few(run, len(flowing))
    seen = seen_boom(run, flowing)
    questions, confirmed = parted(_questions(run, seen), run.stands)
    base = _base(run, rule, seen, questions)
    tips = tuple(_finding(run, tip, seen, (base, questions)) for tip in caught)
    level = set_level(seen.level_seen, shared_doubt(run), set_rule or rule_of("new-10"))
    told = boom_told(seen, pressures_read=_pressures_read(run))
    boom = (*set_finding(level), *told.beyond)
    remedy, words = remedy_for(boom_state(level, tips, boom, questions))
    return CatchResult(
        tips,
        boom,
        _gaps(run, caught),
        questions,
        base,
        level,
        sqrt(max(seen.scatter**2 - seen.reading**2, 0.0)),
        seen.reading,
        exp(float(seen.odds.limit[0])),
        remedy,
        words,
        told.as_predicted,
        confirmed,
    )


def _too_few(run: CatchRun, count: int) -> NotDefined:
    """A sheet without a time loses every tip at once, and it is the time that has to be mended."""
    if run.time_s is None or not run.time_s > 0.0:
        told = "no time is written down" if run.time_s is None else f"its time is {run.time_s:g} s"
        reason = f"{told}, so only {count} tips can be read"
        return NotDefined("the catch", reason=reason, remedy="Enter the seconds each tip was caught for")
    return NotDefined("the catch", reason=f"only {count} tips can be read", remedy=f"Catch {LEAST_TIPS} tips or more")


def _questions(run: CatchRun, seen: SeenBoom) -> tuple[Question, ...]:
    weighed = any(reading.mass_kg is not None for reading in run.readings)
    sheet = sheet_question(exp(seen.level), seen.scatter, by_weight=weighed)
    values = {tip.tip: log(tip.flow_m3s) for tip in seen.tips}
    odd = [tip.tip for tip, is_odd in zip(seen.tips, seen.odd, strict=True) if is_odd]
    swapped = swap_questions(values, seen.expected(), odd, seen.scatter)
    explained = {tip for question in swapped for tip in question.tips}
    slips = [
        slip_question(tip.tip, exp(seen.residual(n)), seen.scatter, size=run.size, by_weight=weighed)
        for n, tip in enumerate(seen.tips)
        if seen.odd[n] and tip.tip not in explained
    ]
    asked = (sheet, *row_questions(run), *swapped, *slips)
    return tuple(question for question in asked if question is not None)


def _base(run: CatchRun, rule: Rule, seen: SeenBoom, questions: tuple[Question, ...]) -> Baseline:
    asked = {tip for question in questions for tip in question.tips}
    counted = [tip for tip, odd in zip(seen.tips, seen.odd, strict=True) if not odd and tip.tip not in asked]
    to_new = np.array([tip.to_new_ratio for tip in counted])
    own = np.array([tip.own.combined for tip in counted])
    return baseline(rule, to_new, own, definition=run.law.origin, shared=shared_doubt(run))


def _finding(run: CatchRun, tip: CaughtTip, seen: SeenBoom, held: tuple[Baseline, tuple[Question, ...]]) -> TipFinding:
    base, questions = held
    question = next((q for q in questions if tip.tip in q.tips), None)
    if tip.tip in run.new_tips:
        return new_tip_finding(tip, tip.to_new_ratio / exp(seen.level), question)
    beyond = None if question is not None else beyond_rule(tip.to_new_ratio, tip.own, base)
    n = next((k for k, flowing in enumerate(seen.tips) if flowing.tip == tip.tip), None)
    if n is None:  # no flow: nothing to compare, and unlike every tip that flows
        return tip_finding(tip, TipSigns(0.0, unlike=True, beyond=beyond, scatter=seen.scatter, question=question))
    shape_ratio = exp(float(seen.predicted[n] + seen.pattern.shape[0, n] - seen.pattern.level[0]))
    signs = TipSigns(exp(seen.residual(n)), bool(seen.odd[n]), beyond, shape_ratio, seen.scatter, run.size, question)
    return tip_finding(tip, signs)


def set_level(seen: tuple[float, float, int], shared: Budget, rule: Rule) -> Judged:
    """Return the whole set over new, against a rule.

    Parameters
    ----------
    seen : tuple of float, float and int
        Logarithm of the set's flow over new, scatter of its ordinary tips, and how many they are.
    shared : Budget
        Doubt that all catches have in common, as a share.
    rule : Rule
        The rule for a set.

    Returns
    -------
    Judged
        Flow over new with the guard band.

    References
    ----------
    gum-jcgm-100
    """
    level, scatter, count = seen
    ratio = exp(level)
    own = Component("tip to tip", scatter / sqrt(count), "A", freedom=float(max(count - 1, 1)), readings=count)
    doubt = Budget((own,)).joined(shared).scaled(ratio)
    return judged(ratio, doubt, low=rule.low_ratio, high=rule.high_ratio)


def set_finding(level: Judged) -> tuple[BoomFinding, ...]:
    """Return what the level of a set means; nothing if it is within its doubt of new."""
    over = level.value - 1.0
    if abs(over) <= level.expanded:
        return ()
    fault = BoomFault.SET_OVER if over > 0.0 else BoomFault.SET_UNDER
    cause = (
        "worn, or a gauge that reads low"
        if over > 0.0
        else "restricted, worn to another pattern, or a gauge that reads high"
    )
    words = (
        f"The whole set gives {more_or_less(over)} than new (± {per_cent(level.expanded)}): {cause} "
        f"(a gauge {per_cent(2.0 * abs(over), places=0)} off would look the same). "
        "Two or three new tips on the same boom tell which."
    )
    return (BoomFinding(fault, None, level.value, words),)


def boom_state(
    level: Judged, tips: tuple[TipFinding, ...], boom: tuple[BoomFinding, ...], questions: tuple[Question, ...]
) -> BoomState:
    """Return the few facts about a catch that its remedy rests on."""
    to_replace = tuple(tip.caught.tip for tip in tips if tip.fault in ODD_FAULTS and tip.question is None)
    set_wide = {BoomFault.SET_OVER, BoomFault.SET_UNDER, BoomFault.NOT_AS_TYPED}
    asked = any(question.trouble is not Trouble.BLANK for question in questions)
    return BoomState(level, to_replace, len(tips), any(f.fault not in set_wide for f in boom), asked)


def _pressures_read(run: CatchRun) -> bool:
    return all(reading.pressure_pa is not None for reading in run.readings)


def _gaps(run: CatchRun, caught: tuple[CaughtTip, ...]) -> tuple[int, ...]:
    read = {tip.tip for tip in caught}
    return tuple(tip for tip in range(1, run.tips + 1) if tip not in read)
