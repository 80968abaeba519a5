"""The ramp: a water proof over the whole speed range, the core of a wet run.

Simulated speed in automatic is stepped slow, usual, fast and back, with all sections on, half off and one on,
agitation as in the field. Every step is held against what was predicted. A ramp after which nobody has confirmed that
simulated speed is off again never passes: the sprayer would go on believing it moves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Final

from wetrun.errors import NotDefined
from wetrun.proving.ramp_check import Checked, worst
from wetrun.proving.ramp_control import control_checks, flow_points
from wetrun.proving.ramp_ends import FlowEnds, flow_ends
from wetrun.proving.ramp_findings import RampFinding, ramp_findings, taken_as_exact
from wetrun.proving.ramp_reading import Shown
from wetrun.proving.ramp_record import Ramp
from wetrun.proving.ramp_step import StepResult, step_result
from wetrun.proving.uncertainty import Verdict
from wetrun.units import Frac, Mps, Pa

METHOD: Final = "ramp-1"


@dataclass(frozen=True, slots=True)
class EndsSeen:
    """Where flow stops following speed with a number of tips on.

    Attributes
    ----------
    tips_on : int
        Tips on.
    ends : FlowEnds
        Floor and ceiling as boom flow.
    floor_mps, ceiling_mps : float or None
        Speeds at which following stops [m/s].
    floor_pa, ceiling_pa : float or None
        Mean cab pressure of the steps on each end [Pa]: what to hold the typed minimum hold against.
    floor_duty_frac, ceiling_duty_frac : float or None
        Mean duty shown on each end [frac]: the minimum of a pulse-width machine is a duty.
    """

    tips_on: int
    ends: FlowEnds
    floor_mps: Mps | None = None
    ceiling_mps: Mps | None = None
    floor_pa: Pa | None = None
    ceiling_pa: Pa | None = None
    floor_duty_frac: Frac | None = None
    ceiling_duty_frac: Frac | None = None


@dataclass(frozen=True, slots=True)
class RampResult:
    """A ramp judged.

    Attributes
    ----------
    verdict : Verdict
        Worst of all that counts; never pass while simulated speed is not confirmed off.
    findings : tuple of RampFinding
        Simulated speed first, if it is not confirmed off.
    steps : tuple of StepResult
        In the order driven.
    control : tuple of Checked
        Settling, hunting, closing, way back.
    ends : tuple of EndsSeen
        By tips on, the most first.
    method : str
        Name and number of the method.
    """

    verdict: Verdict
    findings: tuple[RampFinding, ...]
    steps: tuple[StepResult, ...]
    control: tuple[Checked, ...]
    ends: tuple[EndsSeen, ...]
    method: str = METHOD

    @property
    def checks(self) -> tuple[Checked, ...]:
        """Every comparison: step by step, then of the control."""
        return (*(check for step in self.steps for check in step.checks), *self.control)


def ramp_result(ramp: Ramp) -> RampResult:
    """Return a ramp settled, compared with its prediction and judged.

    Parameters
    ----------
    ramp : Ramp
        As written down.

    Returns
    -------
    RampResult
        Verdict, findings, steps, control, ends.

    Notes
    -----
    A check whose rule is our own choice, or that stands where a limit of the machine is expected to act, is shown and
    does not count. If nothing counts the ramp is undecided, and so is one that would pass on readings whose own doubt
    nobody entered.

    References
    ----------
    gum-jcgm-100, guard-band-106, grdc-13-3, iso-16122-2-closing
    """
    steps: tuple[StepResult, ...] = ()
    for step in ramp.steps:
        steps = (*steps, step_result(ramp, step, steps[-1] if steps else None))
    control, ends = control_checks(ramp, steps), _ends(ramp, steps)
    checks = (*(check for step in steps for check in step.checks), *control)
    verdict = worst(check.judged.verdict for check in checks if check.counts)
    if verdict is Verdict.PASS and (not ramp.simulated_speed_off or taken_as_exact(ramp)):
        verdict = Verdict.UNDECIDED
    findings = ramp_findings(ramp, steps, control, tuple(seen.ends for seen in ends))
    return RampResult(verdict, findings, steps, control, ends)


def _ends(ramp: Ramp, steps: Sequence[StepResult]) -> tuple[EndsSeen, ...]:
    """Floor and ceiling for every number of tips that was stepped through enough speeds."""
    found = []
    for tips_on in sorted({step.step.tips_on for step in steps}, reverse=True):
        try:
            ends = flow_ends(flow_points(ramp, steps, tips_on))
        except NotDefined:  # too few steps at this number of tips: nothing to say, and the findings say so
            continue
        found.append(_placed(ramp, tuple(s for s in steps if s.step.tips_on == tips_on), ends))
    return tuple(found)


def _placed(ramp: Ramp, steps: Sequence[StepResult], ends: FlowEnds) -> EndsSeen:
    """Speeds and cab pressures of the ends, from the steps of one number of tips."""
    metered = [step for step in steps if step.of(Shown.METER) is not None]
    slow_first = sorted(metered, key=lambda step: step.step.speed_mps)
    tips_on = slow_first[0].step.tips_on
    swept = ramp.rate_m3pm2 * ramp.spacing_m * tips_on
    low, high = ends.floor, ends.ceiling
    return EndsSeen(
        tips_on,
        ends,
        floor_mps=None if low is None else low.demand_m3s / swept,
        ceiling_mps=None if high is None else high.demand_m3s / swept,
        floor_pa=None if low is None else _mean(slow_first[: low.steps], Shown.CAB),
        ceiling_pa=None if high is None else _mean(slow_first[-high.steps :], Shown.CAB),
        floor_duty_frac=None if low is None else _mean(slow_first[: low.steps], Shown.DUTY),
        ceiling_duty_frac=None if high is None else _mean(slow_first[-high.steps :], Shown.DUTY),
    )


def _mean(steps: Sequence[StepResult], what: Shown) -> float | None:
    """Mean of a reading over steps, SI, or None if it was not taken."""
    shown = [found.settled.value for found in (step.of(what) for step in steps) if found is not None]
    return fmean(shown) if shown else None
