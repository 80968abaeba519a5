"""How the controller behaves over a ramp: slow, hunting, moved when sections close, the same on the way back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Final

from wetrun.proving.movement import Movement
from wetrun.proving.ramp_check import Aspect, Checked, checked
from wetrun.proving.ramp_ends import FlowPoint
from wetrun.proving.ramp_reading import RampRules, Shown
from wetrun.proving.ramp_record import Ramp
from wetrun.proving.ramp_step import Measured, StepResult, ratio_check
from wetrun.proving.rule import Rule
from wetrun.proving.uncertainty import COVERAGE_FRAC, Budget, Component, Judged, Verdict, judged

_STEERED: Final = (Shown.METER, Shown.RATE, Shown.TIP, Shown.CAB)
_OWN_CHOICE: Final = "ramp-own-choice"


def control_checks(ramp: Ramp, results: Sequence[StepResult]) -> tuple[Checked, ...]:
    """Return settling, hunting, closing and way-back checks of all steps.

    Parameters
    ----------
    ramp : Ramp
        With its rules.
    results : sequence of StepResult
        Its steps, in the order driven.

    Returns
    -------
    tuple of Checked
        Empty if nothing was logged or repeated.

    References
    ----------
    iso-16122-2-closing, ramp-own-choice, sharda-boom-valves, section-control-settling, osu-5-percent
    """
    parts = (*_per_step(ramp, results), *_closings(ramp, results), *_ways_back(ramp, results))
    return tuple(parts)


def steered(result: StepResult) -> tuple[Measured, Movement] | None:
    """Return the logged reading nearest to what the controller steers by, with its movement.

    Parameters
    ----------
    result : StepResult
        A step.

    Returns
    -------
    tuple or None
        Meter flow before shown rate before pressures; None if nothing was logged.
    """
    for what in _STEERED:
        found = result.of(what)
        if found is not None and found.movement is not None:
            return found, found.movement
    return None


def flow_points(ramp: Ramp, results: Iterable[StepResult], tips_on: int) -> tuple[FlowPoint, ...]:
    """Return demand and boom flow of the steps with a number of tips on, for `flow_ends`.

    Parameters
    ----------
    ramp : Ramp
        With what passes the meter to the tank.
    results : iterable of StepResult
        Its steps.
    tips_on : int
        Which of them.

    Returns
    -------
    tuple of FlowPoint
        Doubt that is the same at every step is left out, unless there is no other.
    """
    found = []
    for result in results:
        meter = result.of(Shown.METER)
        if meter is not None and result.step.tips_on == tips_on:
            own = Budget(tuple(c for c in meter.budget.components if not c.cause)).combined
            boom_m3s = meter.settled.value - ramp.passing_m3s
            found.append(FlowPoint(ramp.demand_m3s(result.step), boom_m3s, own or meter.budget.combined))
    return tuple(found)


def _per_step(ramp: Ramp, results: Sequence[StepResult]) -> Iterator[Checked]:
    for result in results:
        logged = steered(result)
        if logged is None:
            continue
        yield _settling(ramp.rules, result, logged)
        hunting = logged[1].hunting
        if hunting is not None and hunting.persistent and hunting.level > 0.0:
            doubt = Component("scatter", hunting.amplitude_standard / hunting.level, "A", hunting.freedom)
            high = ramp.rules.hunting.high_ratio
            swing = judged(hunting.amplitude / hunting.level, Budget((doubt,)), high=high)
            yield checked(logged[0].what, Aspect.SWING, result.step, (swing, ramp.rules.hunting))


def _settling(rules: RampRules, result: StepResult, logged: tuple[Measured, Movement]) -> Checked:
    """Settling time against its limit; not settled by the end of a short log is undecided, of a long one a fail."""
    found, moved = logged
    if moved.settling_s is None:
        verdict = Verdict.FAIL if moved.logged_s > rules.settle_s else Verdict.UNDECIDED
        answer = Judged(verdict, moved.logged_s, 0.0, None, rules.settle_s, COVERAGE_FRAC, None)
    else:
        doubt = Budget((Component("settling time", moved.settling_standard_s),))
        answer = judged(moved.settling_s, doubt, high=rules.settle_s)
    return Checked(
        what=found.what,
        aspect=Aspect.SETTLING,
        step=result.step.name,
        judged=answer,
        rule_name="time to settle within ±5 %",
        source_key=rules.settle_source,
        counts=rules.settle_source != _OWN_CHOICE,
    )


def _closings(ramp: Ramp, results: Sequence[StepResult]) -> Iterator[Checked]:
    """Pressure with some sections shut against that with the most on, at the same speed."""
    for part in results:
        alike = [r for r in results if _same_but_tips(part, r) and r.step.tips_on > part.step.tips_on]
        whole = max(alike, key=lambda r: r.step.tips_on, default=None)
        if whole is None:
            continue
        both = next((w for w in (Shown.TIP, Shown.CAB) if part.of(w) is not None and whole.of(w) is not None), None)
        if both is not None:
            yield from _compared(Aspect.CLOSING, (part, whole), both, ramp.rules.closing)


def _same_but_tips(one: StepResult, other: StepResult) -> bool:
    return (one.step.speed_mps, one.step.agitation_on) == (other.step.speed_mps, other.step.agitation_on)


def _ways_back(ramp: Ramp, results: Sequence[StepResult]) -> Iterator[Checked]:
    """Each speed on the way back against the same speed on the way out."""
    kinds = {(r.step.speed_mps, r.step.tips_on, r.step.agitation_on) for r in results}
    for kind in sorted(kinds):
        same = [r for r in results if (r.step.speed_mps, r.step.tips_on, r.step.agitation_on) == kind]
        for before, after in pairwise(same):
            shown = (w for w in _STEERED if before.of(w) is not None and after.of(w) is not None)
            what = next(shown, None)
            if what is not None:
                yield from _compared(Aspect.WAY_BACK, (after, before), what, ramp.rules.of(what))


def _compared(aspect: Aspect, steps: tuple[StepResult, StepResult], what: Shown, rule: Rule) -> Iterator[Checked]:
    """One reading of a step against the same reading of another; what one instrument does to both cancels."""
    ours, theirs = (step.of(what) for step in steps)
    if ours is None or theirs is None or theirs.settled.value <= 0.0:
        return
    answer = ratio_check(ours, theirs.settled.value, rule, extra=theirs.budget)
    acts = any(s.step.expected is not None and s.step.expected.limit is not None for s in steps)
    yield checked(what, aspect, steps[0].step, (answer, rule), counts=not acts)
