"""Pulse width: the same boom caught at full and at low duty. A weak solenoid passes at full and fails at low."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, log

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.percent import more_or_less
from wetrun.proving.catch import CatchResult
from wetrun.proving.catch_odd import odd_tips
from wetrun.proving.catch_run import CatchRun
from wetrun.spray.flow_law import worn
from wetrun.units import FRACTION, Frac, Ratio


@dataclass(frozen=True, slots=True)
class PulseFinding:
    """A tip whose pulsing is unlike that of the boom.

    Attributes
    ----------
    tip : int
        Position.
    change_ratio : float
        Its flow at low duty over full, over the same for the boom [ratio].
    passes_full : bool
        Whether the tip is like its boom at full duty.
    words : str
        What it means.
    """

    tip: int
    change_ratio: Ratio
    passes_full: bool
    words: str


def run_at_duty(run: CatchRun, duty_frac: Frac) -> CatchRun:
    """Return a run that was caught at a duty, its tips expected to give that share of their flow.

    Parameters
    ----------
    run : CatchRun
        The catch, its law that of the tip fully open.
    duty_frac : float
        Duty during the catch [frac].

    Returns
    -------
    CatchRun
        The same readings with laws scaled by the duty.

    Raises
    ------
    OutOfRange
        A duty outside 0 to 1.

    Notes
    -----
    Opening and closing delays shift the whole boom; that shows as its level and is not a fault of one tip.

    References
    ----------
    uga-1277-1305
    """
    if not 0.0 < duty_frac <= 1.0:
        raise OutOfRange("duty", duty_frac, FRACTION, low=0.0, high=1.0, remedy="Enter 30 % as 0.30.")
    open_ratio = duty_frac
    odd = {tip: worn(law, open_ratio) for tip, law in run.odd_laws.items()}
    return replace(run, law=worn(run.law, open_ratio), odd_laws=odd)


def pulse_findings(full: CatchResult, low: CatchResult) -> tuple[PulseFinding, ...]:
    """Return the tips that change unlike their boom from full to low duty.

    Parameters
    ----------
    full : CatchResult
        Caught at full duty.
    low : CatchResult
        Caught at 30 to 40 % duty, by `run_at_duty`.

    Returns
    -------
    tuple of PulseFinding
        Along the boom; what a tip gives by itself is in both catches and falls out.

    Raises
    ------
    NotDefined
        Fewer than eight tips caught in both.

    References
    ----------
    rosner-1983, uga-1277-1305
    """
    before = {t.caught.tip: t for t in full.tips if t.to_boom_ratio > 0.0}
    both = [tip for tip in low.tips if tip.to_boom_ratio > 0.0 and tip.caught.tip in before]
    change = np.array([log(t.to_boom_ratio / before[t.caught.tip].to_boom_ratio) for t in both])
    doubt = hypot(full.reading_frac, low.reading_frac)
    found = odd_tips(change[None, :], reading_scatter=doubt)
    silent = [_silent(t.caught.tip) for t in low.tips if t.to_boom_ratio == 0.0 and t.caught.tip in before]
    odd = [
        _finding(t.caught.tip, float(np.exp(change[n] - found.centre[0])), passes_full=not before[t.caught.tip].unlike)
        for n, t in enumerate(both)
        if found.odd[0, n]
    ]
    return tuple(sorted([*odd, *silent], key=lambda finding: finding.tip))


def _finding(tip: int, ratio: Ratio, *, passes_full: bool) -> PulseFinding:
    head = f"Tip {tip} gives {more_or_less(ratio - 1.0, places=0)} at low duty than its flow fully open leads to expect"
    cause = "a solenoid that opens late" if ratio < 1.0 else "a solenoid that closes late or does not seal"
    passes = ", though it passes at full duty" if passes_full else ""
    words = f"{head}{passes}: {cause}. Swap the solenoid with its neighbour's and catch both at low duty."
    return PulseFinding(tip, ratio, passes_full, words)


def _silent(tip: int) -> PulseFinding:
    words = f"Tip {tip} gives nothing at low duty: its solenoid does not open, or its plug is off."
    return PulseFinding(tip, 0.0, passes_full=True, words=words)
