"""What tips of a boom have in common, in words: sections that step, a fall towards the ends, a tilt."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import exp

from wetrun.percent import more_or_less, per_cent
from wetrun.proving.catch_pattern import BoomPattern
from wetrun.units import Frac, Ratio

SHOWN_FALL_FRAC: Frac = 0.01
"""A fall of less than this at the ends is fitted but not spoken of."""


class BoomFault(StrEnum):
    """What is wrong with the boom."""

    SET_OVER = "whole set over new"
    SET_UNDER = "whole set under new"
    SECTION_LOW = "section low"
    SECTION_HIGH = "section high"
    FALL_TO_ENDS = "fall towards the ends"
    RISE_TO_ENDS = "rise towards the ends"
    TILT = "one end lower than the other"
    AS_PREDICTED = "as this plumbing predicts"
    NOT_AS_TYPED = "plumbing not as typed"


@dataclass(frozen=True, slots=True)
class BoomFinding:
    """Something many tips have in common.

    Attributes
    ----------
    fault : BoomFault
        What.
    section : int or None
        The section, counted from 1; None for the whole boom.
    flow_ratio : float
        Its flow over that of the rest, of the middle, or of new tips [ratio].
    words : str
        What it means and what to do.
    """

    fault: BoomFault
    section: int | None
    flow_ratio: Ratio
    words: str


def boom_findings(pattern: BoomPattern, *, pressures_read: bool) -> tuple[BoomFinding, ...]:
    """Return what the pattern of one boom means.

    Parameters
    ----------
    pattern : BoomPattern
        The pattern of one boom (the first, if it holds more).
    pressures_read : bool
        Whether each section's own pressure was read and is already taken out of the flows.

    Returns
    -------
    tuple of BoomFinding
        Steps section by section, then falls.
    """
    steps = [
        _step(n, exp(step), pressures_read=pressures_read)
        for n, step in enumerate(pattern.steps[0].tolist(), start=1)
        if step != 0.0
    ]
    bend, tilt = pattern.falls[0].tolist()
    falls = [] if abs(bend) < SHOWN_FALL_FRAC else [_fall(exp(bend))]
    tilts = [] if abs(2.0 * tilt) < SHOWN_FALL_FRAC else [_tilt(exp(2.0 * tilt))]
    return (*steps, *falls, *tilts)


def _step(section: int, ratio: Ratio, *, pressures_read: bool) -> BoomFinding:
    fault = BoomFault.SECTION_LOW if ratio < 1.0 else BoomFault.SECTION_HIGH
    head = f"All of section {section} gives {more_or_less(ratio - 1.0)} than the rest"
    if pressures_read:
        words = f"{head} at its own pressure: not pressure. Look at what its tips have in common: age, size, strainers."
    elif ratio < 1.0:
        lost = 1.0 - ratio**2
        words = (
            f"{head}: {per_cent(lost, places=0)} less pressure there, plumbing and not tips. Clean its strainer, "
            "look at valve and hose, read a gauge there."
        )
    else:
        words = (
            f"{head}: more pressure there or other tips. Read a gauge there and compare the size and age of its tips."
        )
    return BoomFinding(fault, section, ratio, words)


def _fall(ratio: Ratio) -> BoomFinding:
    off = more_or_less(ratio - 1.0)
    if ratio < 1.0:
        words = (
            f"Flow falls smoothly towards both ends, to {off} than in the middle: pressure lost on the way, plumbing "
            "and not tips."
        )
        return BoomFinding(BoomFault.FALL_TO_ENDS, None, ratio, words)
    words = f"Flow rises smoothly towards both ends, to {off} than in the middle: more pressure or more wear there."
    return BoomFinding(BoomFault.RISE_TO_ENDS, None, ratio, words)


def _tilt(ratio: Ratio) -> BoomFinding:
    words = (
        f"The right end gives {more_or_less(ratio - 1.0)} than the left: pressure lost on the way, or pressure that "
        "drifted while the tips were caught one after another. Read it again at both ends."
    )
    return BoomFinding(BoomFault.TILT, None, ratio, words)
