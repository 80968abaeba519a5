"""A catch once what followed it is known: swap tests that were done, and new tips caught beside the set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from wetrun.percent import more_or_less, off_per_cent
from wetrun.proving.catch import CatchResult, boom_state
from wetrun.proving.catch_boom import BoomFault, BoomFinding
from wetrun.proving.catch_diagnosis import ODD_FAULTS, TipFault, TipFinding
from wetrun.proving.catch_reference import ReferenceWear
from wetrun.proving.catch_remedy import remedy_for
from wetrun.proving.swap import SwapOutcome
from wetrun.proving.swaps import SwapResult
from wetrun.proving.uncertainty import Judged, judged

_SET = frozenset({BoomFault.SET_OVER, BoomFault.SET_UNDER})


def level_by_new_tips(catch: CatchResult, reference: ReferenceWear) -> Judged:
    """Return the whole set over new tips on the same boom, by the limits the set has against its chart."""
    return judged(reference.wear_ratio, reference.doubt, low=catch.level.low, high=catch.level.high)


def best_level(catch: CatchResult, reference: ReferenceWear | None) -> Judged:
    """Return how far the set is over new by whichever is better known: its chart, or new tips on the same boom.

    Parameters
    ----------
    catch : CatchResult
        With the set against its chart; gauge and measure are in that.
    reference : ReferenceWear or None
        Against new tips; gauge and measure fall out, and the scatter of a few new tips comes in.

    Returns
    -------
    Judged
        The one with the smaller ±.

    References
    ----------
    gum-jcgm-100
    """
    if reference is None:
        return catch.level
    by_new = level_by_new_tips(catch, reference)
    return by_new if by_new.expanded < catch.level.expanded else catch.level


def followed(catch: CatchResult, swaps: Sequence[SwapResult], reference: ReferenceWear | None) -> CatchResult:
    """Return a catch with its next steps as they stand after swap tests and new tips.

    Parameters
    ----------
    catch : CatchResult
        As caught.
    swaps : sequence of SwapResult
        Swap tests that were done.
    reference : ReferenceWear or None
        The set against new tips.

    Returns
    -------
    CatchResult
        Flows and verdicts are untouched; a tip whose fault stays with its body is no longer called worn or restricted.
    """
    if not swaps and reference is None:
        return catch
    # Of several partners of one odd tip, the one that decided it is told.
    decided = sorted((swap for swap in swaps if swap.verdict is not None), key=_is_decided)
    told = {swap.odd: swap for swap in decided}
    tips = tuple(_tip(tip, told.get(tip.caught.tip)) for tip in catch.tips)
    boom = catch.boom if reference is None else (*_set_words(catch, reference), *_not_of_the_set(catch))
    state = boom_state(best_level(catch, reference), tips, boom, catch.questions)
    outcomes = {odd: swap.verdict.outcome for odd, swap in told.items() if swap.verdict is not None}
    gone = {odd for odd, outcome in outcomes.items() if outcome is SwapOutcome.GONE}
    state = replace(
        state,
        to_replace=tuple(tip for tip in state.to_replace if tip not in gone),
        followed=tuple(tip for tip in state.to_replace if outcomes.get(tip) is SwapOutcome.TIP),
        bodies=tuple(tip.caught.tip for tip in tips if tip.fault is TipFault.BODY),
    )
    remedy, words = remedy_for(state)
    return replace(catch, tips=tips, boom=boom, remedy=remedy, words=words)


def _is_decided(swap: SwapResult) -> bool:
    open_ends = (SwapOutcome.UNDECIDED, SwapOutcome.BOTH)
    return swap.verdict is not None and swap.verdict.outcome not in open_ends


def _tip(tip: TipFinding, swap: SwapResult | None) -> TipFinding:
    if swap is None or swap.verdict is None or tip.fault not in ODD_FAULTS:
        return tip
    fault = TipFault.BODY if swap.verdict.outcome is SwapOutcome.BODY else tip.fault
    # What it looked like before the swap test would contradict a fault that stayed with the body.
    said = f"Tip {tip.caught.tip} gives {more_or_less(tip.to_boom_ratio - 1.0)} than its boom."
    if fault is TipFault.BODY:
        return replace(tip, fault=fault, other_sizes=(), said=said, next_step=swap.words)
    return replace(tip, next_step=swap.words)


def _not_of_the_set(catch: CatchResult) -> tuple[BoomFinding, ...]:
    return tuple(finding for finding in catch.boom if finding.fault not in _SET)


def _set_words(catch: CatchResult, reference: ReferenceWear) -> tuple[BoomFinding, ...]:
    """What new tips on the same boom say of the set, and of the gauge where its chart says otherwise."""
    by_new = level_by_new_tips(catch, reference)
    over, chart = by_new.value - 1.0, catch.level.value - 1.0
    if catch.level.value / by_new.value - 1.0 > catch.level.expanded + by_new.expanded:
        gauge = f" Its chart says {off_per_cent(chart)}: the gauge reads low, or jug or scale read high."
    elif by_new.value / catch.level.value - 1.0 > catch.level.expanded + by_new.expanded:
        gauge = f" Its chart says {off_per_cent(chart)}: the gauge reads high, or jug or scale read low."
    else:
        gauge = ""
    if abs(over) <= by_new.expanded and not gauge:
        return ()
    fault = BoomFault.SET_OVER if over > 0.0 else BoomFault.SET_UNDER
    return (BoomFinding(fault, None, by_new.value, f"{reference.words}{gauge}"),)
