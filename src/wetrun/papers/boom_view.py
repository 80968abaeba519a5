"""What the picture of a boom shows, worked out of a catch: every tip against its limits, and the state of each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from wetrun.proving.catch import CatchResult
from wetrun.proving.catch_diagnosis import TipFault, TipFinding
from wetrun.proving.catch_rules import Base
from wetrun.proving.session_result import WetRunResult
from wetrun.proving.verdict import Verdict
from wetrun.units import M3s, Ratio


class State(Enum):
    """State of one position: a letter for the picture and words for the table."""

    PASS = ("P", "pass")
    FAIL = ("F", "fail")
    UNDECIDED = ("U", "undecided")
    ASKED = ("?", "in question")
    NEW = ("N", "new, to compare")
    MISSING = ("–", "not caught")

    @property
    def letter(self) -> str:
        """The letter under the tip."""
        return self.value[0]

    @property
    def words(self) -> str:
        """The word in the table."""
        return self.value[1]


_STATES = {Verdict.PASS: State.PASS, Verdict.FAIL: State.FAIL, Verdict.UNDECIDED: State.UNDECIDED}


@dataclass(frozen=True, slots=True)
class TipMark:
    """One position along the boom.

    Attributes
    ----------
    tip : int
        Position, 1 at the left end.
    section : int
        Its section, counted from 1.
    state : State
        Against the rule.
    found : TipFinding or None
        What the catch says; None where nothing was caught.
    off_ratio : float or None
        Flow over what the rule holds it against, less one [ratio].
    expanded_ratio : float
        Expanded uncertainty of that [ratio].
    """

    tip: int
    section: int
    state: State
    found: TipFinding | None = None
    off_ratio: Ratio | None = None
    expanded_ratio: Ratio = 0.0

    @property
    def unlike(self) -> bool:
        """Whether it is unlike its boom, the other verdict."""
        return self.found is not None and self.found.unlike


@dataclass(frozen=True, slots=True, kw_only=True)
class BoomView:
    """A boom as its picture shows it.

    Attributes
    ----------
    title : str
        Of the picture.
    marks : tuple of TipMark
        Every position, left to right.
    section_tips : tuple of int
        Tips of each section.
    low_ratio, high_ratio : float or None
        Limits, less one [ratio].
    rule_words, base_words : str
        The rule, and what zero is.
    beside_ratio : float
        Where the other base lies, less one [ratio]: new tips, or the mean of the boom.
    beside_words : str
        What that line is.
    base_m3s : float
        Flow at zero of a tip of the set [m3/s].
    """

    title: str
    marks: tuple[TipMark, ...]
    section_tips: tuple[int, ...]
    low_ratio: Ratio | None
    high_ratio: Ratio | None
    rule_words: str
    base_words: str
    beside_ratio: Ratio
    beside_words: str
    base_m3s: M3s

    def counted(self) -> str:
        """Return how many positions are in each state, in words."""
        count = Counter(mark.state for mark in self.marks)
        return ", ".join(f"{count[state]} {state.words}" for state in State if count[state])


def boom_view(result: WetRunResult) -> BoomView | None:
    """Return what the picture of the boom shows; None if its tips were not caught.

    Parameters
    ----------
    result : WetRunResult
        The wet run.

    Returns
    -------
    BoomView or None
        Every position with its state.
    """
    catch = result.findings.catch
    if catch is None or result.run.catch is None:
        return None
    rule, sections = catch.base.rule, result.run.catch.run.section_tips
    beside_ratio, beside_words = _beside(catch)
    usual_m3s = Counter(tip.caught.new_m3s for tip in catch.tips).most_common(1)[0][0]
    return BoomView(
        title=f"Every tip of {result.run.machine.name}",
        marks=tuple(_marks(catch, sections)),
        section_tips=sections,
        low_ratio=None if rule.low_ratio is None else rule.low_ratio - 1.0,
        high_ratio=None if rule.high_ratio is None else rule.high_ratio - 1.0,
        rule_words=rule.words,
        base_words=rule.base.value,
        beside_ratio=beside_ratio - 1.0,
        beside_words=beside_words,
        base_m3s=catch.base.base_ratio * usual_m3s,
    )


def _beside(catch: CatchResult) -> tuple[Ratio, str]:
    """The line that is not zero: new tips where zero is the boom, the whole set where zero is a new tip."""
    if catch.base.rule.base is Base.BOOM:
        return 1.0 / catch.base.base_ratio, "new tip"
    return catch.level.value, "whole set"


def _marks(catch: CatchResult, sections: tuple[int, ...]) -> Iterator[TipMark]:
    by_tip = {tip.caught.tip: tip for tip in catch.tips}
    tip = 0
    for section, count in enumerate(sections, start=1):
        for tip in range(tip + 1, tip + count + 1):  # noqa: B020 - runs on from the section before
            yield _mark(catch, by_tip.get(tip), (tip, section))


def _mark(catch: CatchResult, found: TipFinding | None, place: tuple[int, int]) -> TipMark:
    tip, section = place
    if found is None:
        return TipMark(tip, section, State.MISSING)
    if found.beyond is None or found.question is not None:
        state = State.NEW if found.fault is TipFault.NEW and found.question is None else State.ASKED
        ratio = found.caught.to_new_ratio / catch.base.base_ratio
        expanded = found.caught.own.joined(catch.base.doubt).expanded() * ratio
        return TipMark(tip, section, state, found, ratio - 1.0, expanded)
    return TipMark(tip, section, _STATES[found.beyond.verdict], found, found.beyond.value - 1.0, found.beyond.expanded)
