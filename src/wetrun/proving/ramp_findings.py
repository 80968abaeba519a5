"""What a ramp shows besides its verdicts: what was left set, what was not driven, what the controller does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.proving.ramp_check import Aspect, Checked
from wetrun.proving.ramp_ends import FlowEnds
from wetrun.proving.ramp_reading import Shown
from wetrun.proving.ramp_record import Ramp
from wetrun.proving.ramp_step import StepResult
from wetrun.proving.uncertainty import Verdict


class Seen(StrEnum):
    """What a ramp may show besides its verdicts."""

    STILL_SIMULATED = "Simulated speed is not confirmed off: switch the monitor back to real speed before it leaves."
    NOT_ON_WATER = "Nobody confirmed that the density stood at water: settled pressures and flows may be off by it."
    DENSITY_NOT_RESTORED = "The product's density is not signed as restored: set it, and sign, before the first load."
    NO_AGITATION = "Agitation was off: the pump had more to give to the boom than it will in the field."
    TAKEN_AS_EXACT = "An instrument's own doubt was not entered: enter what its gauge or display is good for."
    SPEEDS_MISSING = "All sections on, fewer than three speeds were stepped: the range between is not proved."
    SECTIONS_MISSING = "No step with sections shut was driven: what closing them does is not proved."
    WAY_BACK_MISSING = "No speed was read again on the way back."
    SLOW = "Slow control: ground is passed at the wrong rate after each change of speed."
    HUNTING = "Hunting: the settled rate swings. Look at valve speed, gain, and air in the line."
    CLOSING = "The pressure moves when sections close: look at the returns or at the controller's answer."
    NOT_BACK = "The way back reads otherwise than the way out: look for a sticking valve, air or a filling strainer."
    FLOOR_NOT_REACHED = "The minimum hold was not reached: step slower to prove it."
    CEILING_NOT_REACHED = "The ceiling was not reached: what lies above the fastest step stays unproven."
    NO_FLOW_READ = "Too few meter readings to say where flow stops following speed."
    BELOW_RANGE = "The flow lay below the meter's range: what goes on there is not proved by it. Weigh a catch instead."
    NOT_SETTLED = "A log ended before the reading had settled: the settled value is what the fit expects."


_FAILED_AS: Final = {
    Aspect.SETTLING: Seen.SLOW,
    Aspect.SWING: Seen.HUNTING,
    Aspect.CLOSING: Seen.CLOSING,
    Aspect.WAY_BACK: Seen.NOT_BACK,
}


@dataclass(frozen=True, slots=True)
class RampFinding:
    """One thing a ramp shows.

    Attributes
    ----------
    seen : Seen
        What, in words.
    steps : tuple of str
        At which steps, or with which readings; empty if it is of the whole ramp.
    """

    seen: Seen
    steps: tuple[str, ...] = ()


def ramp_findings(
    ramp: Ramp, steps: Sequence[StepResult], control: Sequence[Checked], ends: Sequence[FlowEnds]
) -> tuple[RampFinding, ...]:
    """Return what a ramp shows besides its verdicts.

    Parameters
    ----------
    ramp : Ramp
        As written down.
    steps : sequence of StepResult
        Its steps.
    control : sequence of Checked
        Settling, hunting, closing, way back.
    ends : sequence of FlowEnds
        Where flow stops following speed.

    Returns
    -------
    tuple of RampFinding
        Simulated speed first, if it is not confirmed off.
    """
    return (*_left_behind(ramp), *_gaps(ramp), *_shown(steps, control), *_unreached(ends))


def _left_behind(ramp: Ramp) -> Iterator[RampFinding]:
    """What the monitor may have been left with; simulated speed stands first."""
    if not ramp.simulated_speed_off:
        yield RampFinding(Seen.STILL_SIMULATED)
    if ramp.water_density_set is None:
        yield RampFinding(Seen.NOT_ON_WATER)
    if ramp.density_restored is None:
        yield RampFinding(Seen.DENSITY_NOT_RESTORED)
    if taken_as_exact(ramp):
        yield RampFinding(Seen.TAKEN_AS_EXACT, tuple(what.value for what in taken_as_exact(ramp)))
    dry = tuple(step.name for step in ramp.steps if not step.agitation_on)
    if dry:
        yield RampFinding(Seen.NO_AGITATION, dry)


def taken_as_exact(ramp: Ramp) -> tuple[Shown, ...]:
    """Return the kinds of reading whose instrument nobody put a doubt to.

    Parameters
    ----------
    ramp : Ramp
        As written down.

    Returns
    -------
    tuple of Shown
        A verdict carries its uncertainty, so nothing passes on these.
    """
    doubted = {i.what for i in ramp.instruments if i.relative_frac or i.absolute or i.display_step}
    read = {reading.what for step in ramp.steps for reading in step.readings}
    return tuple(what for what in Shown if what in read - doubted)


def _gaps(ramp: Ramp) -> Iterator[RampFinding]:
    """What a whole ramp has and this one has not."""
    most = max(step.tips_on for step in ramp.steps)
    whole = [step.speed_mps for step in ramp.steps if step.tips_on == most]
    kinds = [(step.speed_mps, step.tips_on) for step in ramp.steps]
    if len(set(whole)) < 3:
        yield RampFinding(Seen.SPEEDS_MISSING)
    if all(step.tips_on == most for step in ramp.steps):
        yield RampFinding(Seen.SECTIONS_MISSING)
    if len(set(kinds)) == len(kinds):
        yield RampFinding(Seen.WAY_BACK_MISSING)
    small = tuple(step.name for step in ramp.steps if step.below_range)
    if small:
        yield RampFinding(Seen.BELOW_RANGE, small)


def _shown(steps: Sequence[StepResult], control: Sequence[Checked]) -> Iterator[RampFinding]:
    """What the checks of the control failed on, and which logs were too short."""
    for aspect, seen in _FAILED_AS.items():
        failed = tuple(c.step for c in control if c.aspect is aspect and c.judged.verdict is Verdict.FAIL)
        if failed:
            yield RampFinding(seen, failed)
    short = tuple(s.step.name for s in steps if any(found.settled.extrapolated for found in s.measured))
    if short:
        yield RampFinding(Seen.NOT_SETTLED, short)


def _unreached(ends: Sequence[FlowEnds]) -> Iterator[RampFinding]:
    if not ends:
        yield RampFinding(Seen.NO_FLOW_READ)
        return
    if all(seen.floor is None for seen in ends):
        yield RampFinding(Seen.FLOOR_NOT_REACHED)
    if all(seen.ceiling is None for seen in ends):
        yield RampFinding(Seen.CEILING_NOT_REACHED)
