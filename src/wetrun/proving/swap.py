"""The swap test: an odd tip changes places with a good one, and both are caught again."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import log
from typing import Final

from scipy.special import chdtri

from wetrun.errors import NotDefined
from wetrun.units import Frac, Ratio

_CHANCE_FRAC: Final[Frac] = 0.01


class SwapOutcome(StrEnum):
    """Where the fault went."""

    TIP = "follows the tip"
    BODY = "stays with the body"
    GONE = "gone"
    BOTH = "neither tip nor body alone"
    UNDECIDED = "cannot be told apart"


@dataclass(frozen=True, slots=True)
class SwapReading:
    """One catch at the two places, as flow over that of the boom.

    Attributes
    ----------
    odd_place_ratio : float
        At the place that was odd [ratio].
    good_place_ratio : float
        At the place of the good tip [ratio].
    """

    odd_place_ratio: Ratio
    good_place_ratio: Ratio


@dataclass(frozen=True, slots=True)
class SwapVerdict:
    """What the swap shows.

    Attributes
    ----------
    outcome : SwapOutcome
        Where the fault went.
    possible : tuple of SwapOutcome
        Explanations that the four catches allow.
    words : str
        What to do.
    """

    outcome: SwapOutcome
    possible: tuple[SwapOutcome, ...]
    words: str


_WORDS: Final = {
    SwapOutcome.TIP: "The fault follows the tip: replace the tip.",
    SwapOutcome.BODY: "The fault stays with the body: clean or renew strainer, check valve or solenoid; keep the tip.",
    SwapOutcome.GONE: "The fault is gone: something came loose with the handling. Catch both once more to be sure.",
    SwapOutcome.BOTH: "Neither explains it alone: tip and body may both be at fault, or the pressure moved. Repeat it.",
    SwapOutcome.UNDECIDED: "The fault is too small for these catches: repeat them, longer or by weight.",
}


def swap_verdict(before: SwapReading, after: SwapReading, *, reading_frac: Frac, spread_frac: Frac) -> SwapVerdict:
    """Return whether a fault follows the tip or stays with the body.

    Parameters
    ----------
    before, after : SwapReading
        The same two places before and after the tips changed places.
    reading_frac : float
        Standard uncertainty of one catch [frac].
    spread_frac : float
        Tip-to-tip spread of ordinary tips [frac].

    Returns
    -------
    SwapVerdict
        The one explanation the catches allow, or that none or several do.

    Raises
    ------
    NotDefined
        A place that gave nothing: a blocked tip needs no swap to be found, but cleaning.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> before = SwapReading(1.12, 1.00)
    >>> swap_verdict(before, SwapReading(1.00, 1.12), reading_frac=0.005, spread_frac=0.015).outcome.value
    'follows the tip'
    """
    ratios = (before.odd_place_ratio, before.good_place_ratio, after.odd_place_ratio, after.good_place_ratio)
    if min(ratios) <= 0.0:
        raise NotDefined("the swap test", reason="a place gave no flow", remedy="Clear it and catch again")
    odd, good, odd_after, good_after = (log(ratio) for ratio in ratios)
    twice, loose = 2.0 * reading_frac**2, reading_frac**2 + spread_frac**2
    misfits = {
        SwapOutcome.TIP: (odd_after - good) ** 2 / twice + (good_after - odd) ** 2 / twice,
        SwapOutcome.BODY: (odd_after - odd) ** 2 / twice + (good_after - good) ** 2 / twice,
        SwapOutcome.GONE: (odd_after - good) ** 2 / twice + good_after**2 / loose,
    }
    limit = float(chdtri(2, _CHANCE_FRAC))
    possible = tuple(outcome for outcome, misfit in misfits.items() if misfit <= limit)
    outcome = possible[0] if len(possible) == 1 else SwapOutcome.UNDECIDED if possible else SwapOutcome.BOTH
    return SwapVerdict(outcome, possible, _WORDS[outcome])
