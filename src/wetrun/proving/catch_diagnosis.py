"""What is wrong with one tip, in words, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.percent import more_or_less, off_per_cent
from wetrun.proving.catch_boom import SHOWN_FALL_FRAC
from wetrun.proving.catch_flow import CaughtTip
from wetrun.proving.catch_questions import Question
from wetrun.proving.catch_sizes import sizes_like
from wetrun.proving.uncertainty import Judged, Verdict
from wetrun.units import Ratio

MOST_WEAR_RATIO: Ratio = 1.6
"""A tip that gives more than this against its boom did not get there by wear (common practice, no source)."""


class TipFault(StrEnum):
    """What is wrong with one tip."""

    NONE = "like its boom"
    WORN = "worn"
    RESTRICTED = "restricted"
    WRONG_SIZE = "reads like another size"
    NO_FLOW = "no flow"
    PLUMBING = "plumbing, not the tip"
    BODY = "body at fault, not the tip"
    NEW = "new, put there to compare"


ODD_FAULTS: Final = frozenset({TipFault.WORN, TipFault.RESTRICTED, TipFault.WRONG_SIZE, TipFault.NO_FLOW})
"""What makes a tip one to change, once its swap test says that it is the tip."""
_SWAP: Final = "Swap it with a good neighbour and catch both: does the fault follow the tip or stay with the body?"


@dataclass(frozen=True, slots=True)
class TipFinding:
    """One tip with both its verdicts.

    Attributes
    ----------
    caught : CaughtTip
        Its flow.
    to_boom_ratio : float
        Flow over what the boom's pattern leads to expect at its place [ratio].
    unlike : bool
        First verdict: whether it is unlike its boom.
    beyond : Judged or None
        Second verdict, by the rule; None if its reading is in question.
    fault : TipFault
        What is wrong.
    other_sizes : tuple of str
        Sizes it reads like, nearest first.
    question : Question or None
        What to ask before anything is done to it.
    said : str
        Diagnosis.
    next_step : str
        What to do; empty if nothing.
    """

    caught: CaughtTip
    to_boom_ratio: Ratio
    unlike: bool
    beyond: Judged | None
    fault: TipFault
    other_sizes: tuple[str, ...]
    question: Question | None
    said: str
    next_step: str = ""

    @property
    def words(self) -> str:
        """Diagnosis and next step."""
        return f"{self.said} {self.next_step}".rstrip()


@dataclass(frozen=True, slots=True)
class TipSigns:
    """What is known of one tip before it has a name.

    Attributes
    ----------
    to_boom_ratio : float
        Flow over what the pattern leads to expect [ratio].
    unlike : bool
        Whether it is unlike its boom.
    beyond : Judged or None
        Verdict by the rule.
    shape_ratio : float
        What steps and falls do at its place [ratio].
    scatter : float
        Standard deviation of ordinary tips, as a share.
    size : str
        Size stamped on the set.
    question : Question or None
        What is asked of its reading.
    """

    to_boom_ratio: Ratio
    unlike: bool
    beyond: Judged | None
    shape_ratio: Ratio = 1.0
    scatter: float = 0.0
    size: str = ""
    question: Question | None = None


def tip_finding(caught: CaughtTip, signs: TipSigns) -> TipFinding:
    """Return the diagnosis of one tip from its signs.

    Parameters
    ----------
    caught : CaughtTip
        Its flow.
    signs : TipSigns
        What is known of it.

    Returns
    -------
    TipFinding
        Fault, words and next step. An odd tip is never named worn or restricted for good: the swap test decides
        between tip and body.
    """
    # A tip of another size is worn like the boom, or is new among worn ones.
    seen = (signs.to_boom_ratio, caught.to_new_ratio / signs.shape_ratio) if signs.unlike else ()
    sizes = next((found for ratio in seen if (found := sizes_like(ratio, signs.scatter, signs.size))), ())
    fault = _fault(caught, signs, sizes)
    said = _tip_words(caught, signs, (fault, sizes))
    step = _SWAP if fault in ODD_FAULTS - {TipFault.NO_FLOW} else ""
    return TipFinding(caught, signs.to_boom_ratio, signs.unlike, signs.beyond, fault, sizes, signs.question, said, step)


def new_tip_finding(caught: CaughtTip, to_boom_ratio: Ratio, question: Question | None) -> TipFinding:
    """Return the finding of a new tip that was put on the boom to compare: it is judged by nothing, and stays no part.

    Parameters
    ----------
    caught : CaughtTip
        Its flow.
    to_boom_ratio : float
        Flow over that of the set [ratio].
    question : Question or None
        What is asked of its reading.

    Returns
    -------
    TipFinding
        Neither unlike nor beyond.
    """
    set_words, chart_words = off_per_cent(to_boom_ratio - 1.0), off_per_cent(caught.to_new_ratio - 1.0)
    off = f"{set_words} against the set, {chart_words} against its chart"
    said = f"Tip {caught.tip} is new, put there to compare: {off}."
    return TipFinding(
        caught,
        to_boom_ratio,
        unlike=False,
        beyond=None,
        fault=TipFault.NEW,
        other_sizes=(),
        question=question,
        said=said,
    )


def _fault(caught: CaughtTip, signs: TipSigns, sizes: tuple[str, ...]) -> TipFault:
    if caught.flow_m3s <= 0.0:
        return TipFault.NO_FLOW
    if sizes:
        return TipFault.WRONG_SIZE
    if signs.unlike:
        return TipFault.WORN if signs.to_boom_ratio > 1.0 else TipFault.RESTRICTED
    if signs.beyond is None or signs.beyond.verdict is not Verdict.FAIL:
        return TipFault.NONE
    if abs(signs.shape_ratio - 1.0) >= SHOWN_FALL_FRAC:
        return TipFault.PLUMBING
    high = signs.beyond.high is not None and signs.beyond.value > signs.beyond.high
    return TipFault.WORN if high else TipFault.RESTRICTED


def _tip_words(caught: CaughtTip, signs: TipSigns, named: tuple[TipFault, tuple[str, ...]]) -> str:
    fault, sizes = named
    off = f"Tip {caught.tip} gives {more_or_less(signs.to_boom_ratio - 1.0)} than its boom"
    like = _likely(signs.to_boom_ratio)
    # Nobody asks any more: the tip was caught, and gave nothing.
    dry = "blocked or shut" if signs.question is None else "blocked, shut, or not caught"
    said = {
        TipFault.NONE: f"{off}: like the others.",
        TipFault.NO_FLOW: f"Tip {caught.tip} gives nothing: {dry}. Look, clear and catch again.",
        TipFault.WRONG_SIZE: f"{off}: it reads like size {' or '.join(sizes)}. Read the size on the tip; if it is a "
        f"{signs.size}, it is {like}.",
        TipFault.WORN: f"{off}: {like}.",
        TipFault.RESTRICTED: f"{off}: {like}.",
        TipFault.PLUMBING: f"{off} and follows the pattern of section {caught.section}: plumbing, not the tip.",
    }[fault]
    return said if signs.question is None else f"{signs.question.words} If the reading stands: {said}"


def _likely(ratio: Ratio) -> str:
    if ratio > MOST_WEAR_RATIO:
        return "more than wear does: another tip, a damaged or a missing one"
    return "worn or damaged" if ratio > 1.0 else "partly blocked tip or strainer, or a sticking check valve"
