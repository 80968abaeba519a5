"""Pulse width: the same boom caught at full and at low duty. A weak solenoid passes at full and fails at low."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, log

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.percent import more_or_less
from wetrun.proving.catch import CatchResult, catch_result
from wetrun.proving.catch_diagnosis import TipFinding
from wetrun.proving.catch_odd import odd_tips
from wetrun.proving.catch_rules import Base, Rule, rule_of
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
    expanded_ratio : float
        Expanded uncertainty of that, 95 % [ratio].
    passes_full : bool
        Whether the tip is like its boom at full duty.
    said : str
        What it means.
    next_step : str
        What to do; empty if the words say it.
    """

    tip: int
    change_ratio: Ratio
    expanded_ratio: Ratio
    passes_full: bool
    said: str
    next_step: str = ""

    @property
    def words(self) -> str:
        """Meaning and next step."""
        return f"{self.said} {self.next_step}".rstrip()


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


def low_catch_result(low: CatchRun | None, rule: Rule) -> CatchResult:
    """Return what the catch at low duty shows.

    Parameters
    ----------
    low : CatchRun or None
        Caught at low duty, by `run_at_duty`.
    rule : Rule
        What the tips were held against at full duty.

    Returns
    -------
    CatchResult
        Each tip against the boom: a rule against new tips gives way to 10 % around the boom's mean, because opening
        and closing delays move the whole boom off duty times flow.

    Raises
    ------
    NotDefined
        Not caught, or fewer than eight tips that can be read.

    References
    ----------
    uga-sb16, uga-1277-1305
    """
    if low is None:
        raise NotDefined("low duty", reason="nothing was caught", remedy="Catch the boom again at 30 to 40 % duty")
    return catch_result(low, rule if rule.base is Base.BOOM else rule_of("boom-10"))


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
    before = {t.caught.tip: t for t in full.tips if t.to_boom_ratio > 0.0 and t.question is None}
    # A slip of the pen in either catch would be called a solenoid.
    both = [t for t in low.tips if t.to_boom_ratio > 0.0 and t.question is None and t.caught.tip in before]
    change = np.array([log(t.to_boom_ratio / before[t.caught.tip].to_boom_ratio) for t in both])
    doubt = hypot(full.reading_frac, low.reading_frac)
    found = odd_tips(change[None, :], reading_scatter=doubt)
    silent = [_silent(t.caught.tip) for t in low.tips if t.caught.flow_m3s == 0.0 and t.caught.tip in before]
    odd = [
        _finding((before[t.caught.tip], t), float(np.exp(change[n] - found.centre[0])))
        for n, t in enumerate(both)
        if found.odd[0, n]
    ]
    return tuple(sorted([*odd, *silent], key=lambda finding: finding.tip))


def _finding(caught: tuple[TipFinding, TipFinding], ratio: Ratio) -> PulseFinding:
    full, low = caught
    tip, passes_full = full.caught.tip, not full.unlike
    expanded_ratio = full.caught.own.joined(low.caught.own).expanded() * ratio
    head = f"Tip {tip} gives {more_or_less(ratio - 1.0, places=0)} at low duty than its flow fully open leads to expect"
    cause = "a solenoid that opens late" if ratio < 1.0 else "a solenoid that closes late or does not seal"
    passes = ", though it passes at full duty" if passes_full else ""
    step = "Swap the solenoid with its neighbour's and catch both at low duty."
    return PulseFinding(tip, ratio, expanded_ratio, passes_full, f"{head}{passes}: {cause}.", step)


def _silent(tip: int) -> PulseFinding:
    words = f"Tip {tip} gives nothing at low duty: its solenoid does not open, or its plug is off."
    return PulseFinding(tip, 0.0, 0.0, passes_full=True, said=words)
