"""The swap test: an odd tip changes places with a good one, and both are caught again.

What two ordinary places differ by comes partly from their tips and partly from their bodies. How much from which
nobody knows, so half of the variance is laid to each: our own choice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, log, sqrt
from types import MappingProxyType
from typing import Final

from scipy.special import chdtri, chndtrinc

from wetrun.errors import NotDefined
from wetrun.proving.budget import Budget, Component
from wetrun.units import Frac, Ratio

_CHANCE_FRAC: Final[Frac] = 0.01
_POWER_FRAC: Final[Frac] = 0.8
"""Chance of an answer that the number of repeats is worked out for; the usual one in planning a test."""
_LIMIT: Final = float(chdtri(2, _CHANCE_FRAC))
_NEEDED: Final = float(chndtrinc(_LIMIT, 2.0, 1.0 - _POWER_FRAC))


class SwapOutcome(StrEnum):
    """Where the fault went."""

    TIP = "follows the tip"
    BODY = "stays with the body"
    GONE = "gone"
    BOTH = "neither tip nor body alone"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class SwapReading:
    """What the two places gave, as flow over that of the boom there.

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
class SwapDoubt:
    """How well the two places are known.

    Attributes
    ----------
    before_frac, after_frac : float
        Standard uncertainty of one place before and after the tips changed places [frac]; of the mean, if repeated.
    spread_frac : float
        Standard deviation of ordinary tips in their bodies, the reading's doubt taken off [frac].
    """

    before_frac: Frac
    after_frac: Frac
    spread_frac: Frac

    @property
    def catches(self) -> Frac:
        """Standard uncertainty of one place after less another before [frac]."""
        return sqrt(self.before_frac**2 + self.after_frac**2)


@dataclass(frozen=True, slots=True)
class SwapVerdict:
    """What the swap shows.

    Attributes
    ----------
    outcome : SwapOutcome
        Where the fault went.
    possible : tuple of SwapOutcome
        Explanations that the four catches allow.
    with_tip_frac : float
        Share of the difference between the two places that went with the tip [frac]: 1 is the tip, 0 the body.
    doubt : Budget
        Doubt of that share.
    rounds : int or None
        How many catches of each place before and after would most likely decide it; None if it is decided, or if no
        number would.
    words : str
        What to do.
    """

    outcome: SwapOutcome
    possible: tuple[SwapOutcome, ...]
    with_tip_frac: Frac
    doubt: Budget
    rounds: int | None
    words: str


_PLACES: Final = {
    "tip": "body, screen, check valve, hose and, where tips pulse, the solenoid",
    "solenoid": "body, screen, check valve, plug and wiring",
}
_WORDS: Final[Mapping[SwapOutcome, str]] = MappingProxyType(
    {
        SwapOutcome.TIP: "The fault follows the {part}: replace the {part}.",
        SwapOutcome.BODY: "The fault stays with the body: look at {places}; keep the {part}.",
        SwapOutcome.GONE: "The fault is gone: something came loose with the handling. Catch both once more to be sure.",
        SwapOutcome.BOTH: "Neither {part} nor body explains it alone: both may be at fault, or the pressure "
        "moved. Repeat the swap test with the pressure read again.",
    }
)


def swap_verdict(before: SwapReading, after: SwapReading, doubt: SwapDoubt, *, part: str = "tip") -> SwapVerdict:
    """Return whether a fault follows the tip or stays with the body.

    Parameters
    ----------
    before, after : SwapReading
        The same two places before and after the tips changed places.
    doubt : SwapDoubt
        How well they are known.
    part : str
        What changed places: "tip", or the "solenoid" above it.

    Returns
    -------
    SwapVerdict
        The one explanation the catches allow, or that none or several do, with the share that went with the tip.

    Raises
    ------
    NotDefined
        A place that gave nothing: a blocked tip needs no swap to be found, but cleaning. Or two places alike before.

    Notes
    -----
    Each explanation says what the two places should give; how far they are from it is held against chi-square at 1 %.
    The sum of both departures is free of what ordinary tips and bodies differ by, their difference holds it twice. The
    doubt is taken as known, and the odd reading as not picked for being extreme.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> doubt = SwapDoubt(0.005, 0.005, spread_frac=0.015)
    >>> found = swap_verdict(SwapReading(1.12, 1.00), SwapReading(1.00, 1.12), doubt)
    >>> found.outcome.value, round(found.with_tip_frac, 2), round(found.doubt.expanded(), 2)
    ('follows the tip', 1.0, 0.27)
    """
    ratios = (before.odd_place_ratio, before.good_place_ratio, after.odd_place_ratio, after.good_place_ratio)
    if min(ratios) <= 0.0:
        raise NotDefined("the swap test", reason="a place gave no flow", remedy="Clear it and catch again")
    odd, good, odd_after, good_after = (log(ratio) for ratio in ratios)
    if odd == good:
        raise NotDefined("the swap test", reason="both places gave the same", remedy="Swap the odd tip with a good one")
    misfits = {
        SwapOutcome.TIP: _misfit(odd_after - good, good_after - odd, doubt),
        SwapOutcome.BODY: _misfit(odd_after - odd, good_after - good, doubt),
        SwapOutcome.GONE: _misfit_if_gone(odd_after - good, good_after, doubt),
    }
    possible = tuple(outcome for outcome, misfit in misfits.items() if misfit <= _LIMIT)
    outcome = possible[0] if len(possible) == 1 else SwapOutcome.UNDECIDED if possible else SwapOutcome.BOTH
    rounds = _rounds(abs(odd - good), doubt) if outcome is SwapOutcome.UNDECIDED else None
    share_frac = 0.5 - 0.5 * (odd_after - good_after) / (odd - good)
    words = (
        _WORDS[outcome].format(part=part, places=_PLACES[part]) if outcome in _WORDS else _undecided(possible, rounds)
    )
    return SwapVerdict(outcome, possible, share_frac, _share_doubt(abs(odd - good), doubt), rounds, words)


def _misfit(odd_off: float, good_off: float, doubt: SwapDoubt) -> float:
    """Squares of what an explanation leaves over at the two places, in units of their doubt."""
    caught = 2.0 * doubt.catches**2
    return (odd_off + good_off) ** 2 / caught + (odd_off - good_off) ** 2 / (caught + 4.0 * doubt.spread_frac**2)


def _misfit_if_gone(odd_off: float, good_after: float, doubt: SwapDoubt) -> float:
    """The same if the odd tip turned ordinary: what it gives now is known only as well as ordinary tips are alike."""
    spread = doubt.spread_frac**2
    return odd_off**2 / (doubt.catches**2 + spread) + good_after**2 / (doubt.after_frac**2 + spread)


def _share_doubt(apart: float, doubt: SwapDoubt) -> Budget:
    return Budget(
        (
            Component("catches before and after", doubt.catches / sqrt(2.0) / apart),
            Component("ordinary tips and bodies differ", doubt.spread_frac / apart),
        )
    )


def _rounds(apart: float, doubt: SwapDoubt) -> int | None:
    """Catches of each place, before and after, that tell tip from body four times in five."""
    left = apart**2 / _NEEDED - doubt.spread_frac**2
    single = max(doubt.before_frac, doubt.after_frac)
    return max(2, ceil(single**2 / left)) if left > 0.0 else None


def _undecided(possible: tuple[SwapOutcome, ...], rounds: int | None) -> str:
    either = " or ".join(outcome.value for outcome in possible)
    if rounds is None:
        return (
            f"Undecided ({either}): the fault is no larger than what ordinary tips differ by. Put a new tip at the odd "
            "place and catch again."
        )
    return f"Undecided ({either}): catch both places {rounds} times in all, before and after the swap."
