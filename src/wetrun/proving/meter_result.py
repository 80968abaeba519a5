"""Flow meter, proven: error of the present number, repeatability, linearity, and the new number – or why there is none.

A number is only ever worked out from catches that were weighed or measured. Marks on a tank are shown beside them and
never count: bending a meter's number until it agrees with a sight gauge makes a good meter wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from wetrun.errors import NotDefined
from wetrun.proving.meter import Basis, MeterTest
from wetrun.proving.meter_flows import Flows, ProvenCatch, proven_catch, repeat_scatter, shared_budget, slope
from wetrun.proving.meter_questions import questions_about_catches
from wetrun.proving.rule import INSTRUMENT_5, METER_REPEATS_1, METER_SPAN_2, METER_TAG_5, NextStep, Rule
from wetrun.proving.slips import Question
from wetrun.proving.standing import parted
from wetrun.proving.tank_marks import Beside, beside
from wetrun.proving.uncertainty import Budget, Component, Judged, Verdict, judged, rectangular
from wetrun.units import Pulsepm3, Ratio

LEAST_CATCHES = 3
CATCHES_WHEN_SCATTERED = 5
LOOK_FOR = ("air in the line or foam", "trash in the meter", "wiring and pulse pick-up", "units and convention typed")
"""Where to look, in this order, before a number far off its tag is believed."""


class Withheld(StrEnum):
    """Why no new number is offered."""

    TOO_FEW = "it takes three catches at two flows, the faster half again the slower or more"
    SCATTERED = "catches at one flow scatter too much for this few"
    BENDS = "the error changes with flow: one number cannot put it right"
    FAR_FROM_TAG = "too far from the meter's tag"
    NEAR_TAG_LIMIT = "it cannot be told yet if it is too far from the meter's tag"
    ASKED = "some readings cannot be as typed"


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterResult:
    """What the catches say of a flow meter.

    Attributes
    ----------
    error_ratio : float
        Shown over true volume, less one [ratio]. Under flow-meter feedback the rate is off the other way.
    budget : Budget
        Doubt of it, as a ratio.
    judged : Judged
        Against `rule`.
    rule : Rule
        The limit on the error.
    measured_pulsepm3 : float
        The meter's true pulses per volume [pulse/m3].
    repeat_cv_ratio : float or None
        Scatter of single catches at one flow [ratio]; None if none was repeated.
    scatter_beyond_tools : bool
        True if the catches scatter more than scale or vessel explain.
    span : Judged or None
        Change of error from slowest to fastest flow, against 2 %.
    tag : Judged or None
        New number over the tag's, less one; None without a tag.
    new_number : float or None
        Number to enter, in the form of the present one and unrounded; None if none is offered.
    withheld : tuple of Withheld
        Why none is offered.
    next_step : NextStep
        What to do.
    more_catches : int or None
        How many more catches would help; None if more would not.
    look_for : tuple of str
        Causes to look for first.
    catches : tuple of ProvenCatch
        Catches that count.
    outside_range : tuple of ProvenCatch
        Catches at flows the meter is not made for; they do not count.
    beside : tuple of Beside
        Tank marks, for the eye only.
    questions : tuple of Question
        Readings that cannot be as typed; their catches do not count.
    confirmed : tuple of Question
        What was asked, and answered: these catches stand as typed and count.
    """

    error_ratio: Ratio
    budget: Budget
    judged: Judged
    rule: Rule
    measured_pulsepm3: Pulsepm3
    repeat_cv_ratio: Ratio | None
    scatter_beyond_tools: bool
    span: Judged | None
    tag: Judged | None
    new_number: float | None
    withheld: tuple[Withheld, ...]
    next_step: NextStep
    more_catches: int | None
    look_for: tuple[str, ...]
    catches: tuple[ProvenCatch, ...]
    outside_range: tuple[ProvenCatch, ...]
    beside: tuple[Beside, ...]
    questions: tuple[Question, ...]
    confirmed: tuple[Question, ...] = ()


def meter_result(test: MeterTest, *, rule: Rule = INSTRUMENT_5) -> MeterResult:
    """Return what the catches say of a flow meter.

    Parameters
    ----------
    test : MeterTest
        Meter, catches, tools and water.
    rule : Rule
        The limit on the error of the present number.

    Returns
    -------
    MeterResult
        Error, repeatability, linearity, new number or why there is none, next step.

    Raises
    ------
    NotDefined
        No catch that may count.

    Notes
    -----
    Each flow counts alike. New over old number is shown over true volume where the number is pulses per volume, and
    the inverse of it where it is volume per pulse.

    References
    ----------
    number-identity, gum-jcgm-100, grdc-13-3, own-choice-meter
    """
    questions, confirmed = parted(questions_about_catches(test), test.stands)
    inside, outside = _sorted_catches(test, questions)
    flows = Flows(tuple(inside))
    bases = [catch.basis for catch in test.catches if catch.name in {c.name for c in inside}]
    error, budget = flows.error_ratio, _budget(test, flows, bases)
    found = judged(error, budget, low=rule.low_ratio, high=rule.high_ratio)
    measured = test.meter.number.quantity * (1.0 + error)
    line, tag = slope(flows), _against_tag(test, measured, budget)
    span = (
        judged(line.span_ratio, line.budget, low=METER_SPAN_2.low_ratio, high=METER_SPAN_2.high_ratio) if line else None
    )
    withheld = _withheld(flows, span, tag, questions)
    step = _next_step(withheld, found)
    new = test.meter.number.form.rescaled(test.meter.number.number, 1.0 + error)
    return MeterResult(
        error_ratio=error,
        budget=budget,
        judged=found,
        rule=rule,
        measured_pulsepm3=measured,
        repeat_cv_ratio=flows.repeat_cv_ratio,
        scatter_beyond_tools=repeat_scatter(flows).beyond_stated,
        span=span,
        tag=tag,
        new_number=new if step is NextStep.ENTER_NEW else None,
        withheld=withheld,
        next_step=step,
        more_catches=_more_catches(flows, withheld, found),
        look_for=LOOK_FOR if step is NextStep.LOOK_FIRST else (),
        catches=tuple(inside),
        outside_range=tuple(outside),
        beside=beside(test, measured),
        questions=questions,
        confirmed=confirmed,
    )


def _sorted_catches(test: MeterTest, questions: tuple[Question, ...]) -> tuple[list[ProvenCatch], list[ProvenCatch]]:
    """Catches that count, and those at flows the meter is not made for."""
    asked = {question.row for question in questions}
    sound = [c for c in test.catches if c.basis is not Basis.TANK_MARK and c.name not in asked]
    proven = [proven_catch(test, catch) for catch in sound]
    inside = [catch for catch in proven if test.in_range(catch.flow_m3s)]
    if not inside:
        named = (
            "; ".join(question.words for question in questions)
            or "none is weighed or measured at a flow it is made for"
        )
        raise NotDefined(
            "meter number", reason=f"no catch may count: {named}", remedy="Weigh three catches at two flows"
        )
    return inside, [catch for catch in proven if not test.in_range(catch.flow_m3s)]


def _budget(test: MeterTest, flows: Flows, bases: list[Basis]) -> Budget:
    """Doubt of the mean error, as a ratio: scatter, what is shared, and what one number cannot follow."""
    found = repeat_scatter(flows)
    count = len(flows.levels)
    weight = sqrt(sum(1.0 / len(flows.errors(level)) for level in flows.levels)) / count
    catches = Component("catches against each other", found.single * weight, "A", found.freedom, readings=len(bases))
    line = slope(flows)
    bend = abs(line.span_ratio) if line is not None and abs(line.span_ratio) > line.budget.expanded() else 0.0
    bent = Component("change over the flows", rectangular(0.5 * bend))
    relative = Budget((catches,)).joined(shared_budget(test, bases)).scaled(1.0 + flows.error_ratio)
    return relative.joined(Budget((bent,)))


def _against_tag(test: MeterTest, measured_pulsepm3: Pulsepm3, budget: Budget) -> Judged | None:
    if test.meter.tag is None:
        return None
    tag_pulsepm3 = test.meter.tag.quantity
    scaled = budget.scaled(test.meter.number.quantity / tag_pulsepm3)
    limits = METER_TAG_5
    return judged(measured_pulsepm3 / tag_pulsepm3 - 1.0, scaled, low=limits.low_ratio, high=limits.high_ratio)


def _withheld(
    flows: Flows, span: Judged | None, tag: Judged | None, questions: tuple[Question, ...]
) -> tuple[Withheld, ...]:
    scatter = flows.repeat_cv_ratio
    scattered = scatter is not None and scatter > METER_REPEATS_1.high_ratio
    reasons = {
        Withheld.ASKED: bool(questions),
        Withheld.FAR_FROM_TAG: tag is not None and tag.verdict is Verdict.FAIL,
        Withheld.NEAR_TAG_LIMIT: tag is not None and tag.verdict is Verdict.UNDECIDED,
        Withheld.TOO_FEW: len(flows.catches) < LEAST_CATCHES or not flows.apart,
        Withheld.SCATTERED: scattered and len(flows.catches) < CATCHES_WHEN_SCATTERED,
        Withheld.BENDS: span is not None and span.verdict is Verdict.FAIL,
    }
    return tuple(reason for reason, holds in reasons.items() if holds)


def _next_step(withheld: tuple[Withheld, ...], found: Judged) -> NextStep:
    if Withheld.ASKED in withheld:
        return NextStep.ANSWER_FIRST
    if Withheld.FAR_FROM_TAG in withheld or Withheld.BENDS in withheld:
        return NextStep.LOOK_FIRST
    if withheld:
        return NextStep.REPEAT
    if abs(found.value) > found.expanded:
        return NextStep.ENTER_NEW
    return NextStep.REPEAT if found.verdict is Verdict.UNDECIDED else NextStep.KEEP


def _more_catches(flows: Flows, withheld: tuple[Withheld, ...], found: Judged) -> int | None:
    taken = len(flows.catches)
    needed = [0 if found.repeats_needed is None else found.repeats_needed]
    needed += [LEAST_CATCHES - taken if taken < LEAST_CATCHES else 1] if Withheld.TOO_FEW in withheld else []
    needed += [CATCHES_WHEN_SCATTERED - taken] if Withheld.SCATTERED in withheld else []
    return max(needed) if max(needed) > 0 or found.repeats_needed is not None else None
