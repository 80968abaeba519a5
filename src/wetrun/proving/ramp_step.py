"""One step of a ramp: where each reading settled, and whether it is what the plan predicted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isinf

from wetrun.proving.movement import Movement, Settled, movement, settled_of
from wetrun.proving.ramp_check import Aspect, Checked, checked, worst
from wetrun.proving.ramp_reading import Reading, Shown
from wetrun.proving.ramp_record import Ramp, RampStep
from wetrun.proving.rule import Rule
from wetrun.proving.uncertainty import Budget, Component, Judged, Verdict, judged
from wetrun.units import M3pm2


@dataclass(frozen=True, slots=True)
class Measured:
    """One settled reading with its doubt, instrument and all.

    Attributes
    ----------
    what : Shown
        Which.
    settled : Settled
        The reading.
    budget : Budget
        Its doubt, in the unit of the reading.
    movement : Movement or None
        How it came there, if it was logged.
    """

    what: Shown
    settled: Settled
    budget: Budget
    movement: Movement | None = None


@dataclass(frozen=True, slots=True)
class StepResult:
    """One step judged.

    Attributes
    ----------
    step : RampStep
        As entered.
    measured : tuple of Measured
        In the order entered.
    checks : tuple of Checked
        Against the prediction and against demand.
    verdict : Verdict
        Worst of those that count; undecided if nothing was predicted.
    """

    step: RampStep
    measured: tuple[Measured, ...]
    checks: tuple[Checked, ...]
    verdict: Verdict

    def of(self, what: Shown) -> Measured | None:
        """Return a kind of reading, or None if it was not taken."""
        return next((found for found in self.measured if found.what is what), None)


def step_result(ramp: Ramp, step: RampStep, before: StepResult | None = None) -> StepResult:
    """Return one step settled and judged.

    Parameters
    ----------
    ramp : Ramp
        The whole ramp: instruments, target and rules.
    step : RampStep
        The step.
    before : StepResult or None
        The one before it: a log that starts after the change takes its start from there.

    Returns
    -------
    StepResult
        Settled readings, comparisons and verdict.

    References
    ----------
    gum-jcgm-100, guard-band-106, osu-5-percent
    """
    measured = tuple(_measured(ramp, reading, before) for reading in step.readings)
    checks = (*_predicted(ramp, step, measured), *_demanded(ramp, step, measured), *_identity(ramp, step, measured))
    return StepResult(step, measured, checks, worst(check.judged.verdict for check in checks if check.counts))


def ratio_check(measured: Measured, reference: float, rule: Rule, *, extra: Budget) -> Judged:
    """Return the verdict on a reading as its ratio to a reference, less one.

    Parameters
    ----------
    measured : Measured
        The reading.
    reference : float
        What it is compared with, in its unit; not zero.
    rule : Rule
        Limits of the ratio less one.
    extra : Budget
        Doubt of the reference, in its unit with the sign it has in the reading's excess.

    Returns
    -------
    Judged
        In ratio less one.
    """
    if reference == 0.0:
        raise ValueError(f"{measured.what.value} cannot be compared with zero")
    ratio = measured.settled.value / reference
    budget = measured.budget.scaled(1.0 / reference).joined(extra.scaled(-ratio / reference))
    return judged(ratio - 1.0, budget, low=rule.low_ratio, high=rule.high_ratio)


def _measured(ramp: Ramp, reading: Reading, before: StepResult | None) -> Measured:
    moved = _moved(reading, before)
    settled = settled_of(reading.values) if moved is None else moved.settled
    scatter = Component(f"{reading.what.value}, scatter", settled.standard, "A", settled.freedom)
    own = Budget(()) if isinf(settled.freedom) else Budget((scatter,))
    return Measured(reading.what, settled, ramp.budget(reading.what, settled.value).joined(own), moved)


def _moved(reading: Reading, before: StepResult | None) -> Movement | None:
    if not reading.times_s:
        return None
    times_s, values = reading.times_s, reading.values
    last = None if before is None else before.of(reading.what)
    if times_s[0] > 0.0 and last is not None:
        times_s, values = (0.0, *times_s), (last.settled.value, *values)
    return movement(times_s, values)


def _predicted(ramp: Ramp, step: RampStep, measured: Iterable[Measured]) -> Iterable[Checked]:
    """Each reading against what the plan says it should be."""
    if step.expected is None:
        return
    for found in measured:
        expected = step.expected.of(found.what)
        if expected is None:
            continue
        rule = ramp.rules.of(found.what)
        doubt = Component("prediction", step.expected.standard_frac(found.what) * expected)
        answer = ratio_check(found, expected, rule, extra=Budget((doubt,)))
        yield checked(found.what, Aspect.PREDICTION, step, (answer, rule))


def _demanded(ramp: Ramp, step: RampStep, measured: Iterable[Measured]) -> Iterable[Checked]:
    """Meter flow against what the target asks for; only shown where a limit is expected to act."""
    acts = step.expected is not None and step.expected.limit is not None
    for found in measured:
        if found.what is Shown.METER:
            asked = ramp.demand_m3s(step) + ramp.passing_m3s
            answer = ratio_check(found, asked, ramp.rules.flow, extra=Budget(()))
            yield checked(found.what, Aspect.DEMAND, step, (answer, ramp.rules.flow), counts=not acts)


def _identity(ramp: Ramp, step: RampStep, measured: Iterable[Measured]) -> Iterable[Checked]:
    """The shown rate against the monitor's own flow over width and speed: if they differ, a number typed in does.

    The monitor works one out from the other, so an error of the meter does not enter.
    """
    shown = {found.what: found for found in measured}
    if not {Shown.RATE, Shown.METER} <= shown.keys():
        return
    meter, rule = shown[Shown.METER], ramp.rules.flow
    swept = step.speed_mps * ramp.spacing_m * step.tips_on
    own: M3pm2 = (meter.settled.value - ramp.passing_m3s) / swept
    scatter = Budget(tuple(c for c in meter.budget.scaled(1.0 / swept).components if not c.cause))
    if own > 0.0:
        answer = ratio_check(shown[Shown.RATE], own, rule, extra=scatter)
        yield checked(Shown.RATE, Aspect.IDENTITY, step, (answer, rule))
