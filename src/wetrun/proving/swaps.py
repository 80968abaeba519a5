"""Swap tests as they were done at a boom: read beside its catch, repeats drawn together, judged or asked about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, fsum, log, sqrt

from wetrun.errors import NotDefined
from wetrun.percent import per_cent
from wetrun.proving.catch import CatchResult
from wetrun.proving.catch_diagnosis import ODD_FAULTS, TipFinding
from wetrun.proving.catch_flow import CaughtTip, caught_tips
from wetrun.proving.catch_run import CatchRun, TipReading
from wetrun.proving.swap import SwapDoubt, SwapOutcome, SwapReading, SwapVerdict, swap_verdict
from wetrun.units import Frac, Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class SwapTest:
    """An odd tip and a good one that changed places.

    Attributes
    ----------
    odd, good : int
        Their positions.
    after : tuple of TipReading
        What both places gave with the tips exchanged.
    home : tuple of TipReading
        What both gave when caught once more with the tips at home; empty if only the catch of the boom tells.
    part : str
        What changed places: the tips, or at low duty the solenoids above them.
    """

    odd: int
    good: int
    after: tuple[TipReading, ...]
    home: tuple[TipReading, ...] = ()
    part: str = "tip"


@dataclass(frozen=True, slots=True, kw_only=True)
class SwapResult:
    """What a swap test says.

    Attributes
    ----------
    odd, good : int
        The positions.
    part : str
        What changed places.
    times : int
        How often both were caught with the tips exchanged.
    verdict : SwapVerdict or None
        None if it cannot be judged; then the words ask.
    words : str
        What it says and what to do, or what to ask.
    """

    odd: int
    good: int
    part: str
    times: int
    verdict: SwapVerdict | None
    words: str


def swap_results(run: CatchRun, catch: CatchResult, tests: Sequence[SwapTest]) -> tuple[SwapResult, ...]:
    """Return what the swap tests at a boom say.

    Parameters
    ----------
    run : CatchRun
        The catch as written down: its instruments, its tips' laws, its pressure where a swap has none of its own.
    catch : CatchResult
        What it showed.
    tests : sequence of SwapTest
        As done; several of one pair of places are repeats of each other.

    Returns
    -------
    tuple of SwapResult
        One for each pair, in the order of the odd positions.

    Notes
    -----
    Flows are taken over what the boom's pattern leads to expect at each place, so a place that lies farther from its
    feed is not mistaken for a body at fault. Jug, scale and gauge that were the same throughout fall out.

    References
    ----------
    gum-jcgm-100
    """
    pairs = sorted({(test.odd, test.good) for test in tests})
    found = tuple(_result(run, catch, [test for test in tests if (test.odd, test.good) == pair]) for pair in pairs)
    return tuple(_agreed(swap, found) for swap in found)


def _agreed(swap: SwapResult, others: Sequence[SwapResult]) -> SwapResult:
    """A swap test that another one of the same odd tip contradicts is asked about instead."""
    alike = [other for other in others if other.odd == swap.odd and other.verdict is not None]
    said = {other.verdict.outcome for other in alike if other.verdict is not None} & {SwapOutcome.TIP, SwapOutcome.BODY}
    if swap.verdict is None or len(said) < 2:
        return swap
    partners = " and ".join(str(other.good) for other in alike)
    words = (
        f"Tip {swap.odd}, swapped with {partners}: the swap tests contradict each other. Which one is to be repeated?"
    )
    return replace(swap, verdict=None, words=words)


def _result(run: CatchRun, catch: CatchResult, tests: Sequence[SwapTest]) -> SwapResult:
    odd, good, part = tests[0].odd, tests[0].good, tests[0].part
    found = {tip.caught.tip: tip for tip in catch.tips}
    ask = _question(odd, good, found)
    verdict = None
    if not ask:
        try:
            verdict = _judged(run, (found[odd], found[good]), tests, catch.spread_frac)
        except NotDefined as error:
            ask = f"Swap test of tip {odd} with {good}: {error.reason}. {error.remedy}."
    words = ask if verdict is None else f"Swapped with {_at(part)}{good}: {_followed(verdict, part)}. {verdict.words}"
    return SwapResult(odd=odd, good=good, part=part, times=len(tests), verdict=verdict, words=words)


def _at(part: str) -> str:
    return "tip " if part == "tip" else f"the {part} of tip "


def _followed(verdict: SwapVerdict, part: str) -> str:
    share = f"{per_cent(verdict.with_tip_frac, places=0)} (± {per_cent(verdict.doubt.expanded(), places=0)})"
    return f"{share} of the difference went with the {part}"


def _question(odd: int, good: int, found: Mapping[int, TipFinding]) -> str:
    """What keeps a swap test from being judged, in words; empty if nothing does."""
    missing = [position for position in (odd, good) if position not in found]
    if missing:
        return f"Tip {odd} was swapped with {good}, but there is no first catch of tip {missing[0]}: what did it give?"
    asked = [position for position in (odd, good) if found[position].question is not None]
    if asked:
        return f"Tip {odd} was swapped with {good}: answer the question about the first catch of tip {asked[0]} first."
    is_odd, good_is_odd = (found[position].fault in ODD_FAULTS for position in (odd, good))
    if not is_odd and good_is_odd:
        return f"Tip {odd} is like its boom and tip {good} is not: are the two positions of the swap test exchanged?"
    if not is_odd:
        return f"Tip {odd} was swapped with {good}, but tip {odd} is not odd: which tip was swapped?"
    if good_is_odd:
        return (
            f"Tip {odd} was swapped with {good}, which is odd itself and tells nothing: swap it with an ordinary tip."
        )
    return ""


def _judged(
    run: CatchRun, tips: tuple[TipFinding, TipFinding], tests: Sequence[SwapTest], spread_frac: Frac
) -> SwapVerdict:
    first = [[tip.caught] for tip in tips]
    homes = [[*before, *_caught(run, tip, (t.home for t in tests))] for tip, before in zip(tips, first, strict=True)]
    afters = [_caught(run, tip, (t.after for t in tests)) for tip in tips]
    before_frac, after_frac = _doubt(homes), _doubt(afters)
    before, after = ([_over(tip, row) for tip, row in zip(tips, rows, strict=True)] for rows in (homes, afters))
    return swap_verdict(
        SwapReading(*before), SwapReading(*after), SwapDoubt(before_frac, after_frac, spread_frac), part=tests[0].part
    )


def _caught(run: CatchRun, place: TipFinding, sheets: Iterable[tuple[TipReading, ...]]) -> list[CaughtTip]:
    """Every further catch at one place, brought to the test pressure like the first."""
    caught = (tip for rows in sheets for tip in caught_tips(replace(run, readings=rows)))
    return [tip for tip in caught if tip.tip == place.caught.tip]


def _over(place: TipFinding, caught: Sequence[CaughtTip]) -> Ratio:
    """Mean of the catches at one place over what its boom leads to expect there; 0 if any gave nothing."""
    if min(tip.flow_m3s for tip in caught) <= 0.0:
        return 0.0
    expected_m3s = place.caught.flow_m3s / place.to_boom_ratio
    return exp(fsum(log(tip.flow_m3s / expected_m3s) for tip in caught) / len(caught))


def _doubt(places: Sequence[Sequence[CaughtTip]]) -> Frac:
    """Standard uncertainty of the mean at one place, of the two the less well known [frac]."""
    return max(sqrt(fsum(tip.own.combined**2 for tip in caught)) / len(caught) for caught in places)
