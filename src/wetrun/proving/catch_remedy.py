"""Replace single tips, the set, or nothing yet."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.percent import more_or_less
from wetrun.proving.uncertainty import Judged, Verdict
from wetrun.units import Frac

SET_SHARE_FRAC: Final[Frac] = 0.1
"""With more of the boom than this to replace, replace the set."""


class Remedy(StrEnum):
    """What to do with the tips."""

    NOTHING = "nothing to replace"
    TIPS = "replace single tips"
    SET = "replace the set"
    BODIES = "mend the bodies, keep the tips"
    PLUMBING = "mend the plumbing, then catch again"
    ASK = "answer the questions, then look again"


@dataclass(frozen=True, slots=True)
class BoomState:
    """What a catch found, in the few facts the remedy rests on.

    Attributes
    ----------
    level : Judged
        The whole set against new: its level over new tips with the rule's limits.
    to_replace : tuple of int
        Positions whose tip is to go.
    tips : int
        Tips caught.
    plumbing : bool
        Whether sections step or the flow falls along the boom.
    asked : bool
        Whether a reading is in question.
    followed : tuple of int
        Of those to go, the ones a swap test has named.
    bodies : tuple of int
        Positions whose fault stayed with the body in a swap test.
    """

    level: Judged
    to_replace: tuple[int, ...]
    tips: int
    plumbing: bool
    asked: bool
    followed: tuple[int, ...] = ()
    bodies: tuple[int, ...] = ()


def remedy_for(state: BoomState) -> tuple[Remedy, str]:
    """Return what to do with the tips, and why.

    Parameters
    ----------
    state : BoomState
        What the catch found.

    Returns
    -------
    tuple of Remedy and str
        Questions come before plumbing, plumbing before tips: a tip judged at the wrong pressure is not judged.

    References
    ----------
    common-practice-replace-set
    """
    share = len(state.to_replace) / state.tips
    if state.asked:
        return Remedy.ASK, "Some readings may be slips: settle them first."
    if state.level.verdict is Verdict.FAIL and state.level.value > 1.0:
        return Remedy.SET, f"The whole set gives {more_or_less(state.level.value - 1.0)} than new: replace it."
    if state.plumbing:
        return Remedy.PLUMBING, "Pressure along the boom comes first; catch the tips again when it is even."
    if share > SET_SHARE_FRAC:
        off = f"{len(state.to_replace)} of {state.tips} tips are off ({_listed(state.to_replace)})"
        return Remedy.SET, f"{off}: replace the set (common practice)."
    if state.to_replace or state.bodies:
        return Remedy.TIPS if state.to_replace else Remedy.BODIES, _words(state)
    return Remedy.NOTHING, "No tip has to go."


def _words(state: BoomState) -> str:
    """Which tips go at once, which after their swap test, and which stay in a body that has to be looked at."""
    waiting = tuple(tip for tip in state.to_replace if tip not in state.followed)
    parts = (
        (state.followed, "Replace {}: the fault follows the tip."),
        (waiting, "Replace {} after the swap test, if the fault follows the tip."),
        (state.bodies, "Keep {}: the fault stays with the body; look at body, screen, check valve and hose."),
    )
    return " ".join(said.format(_tips(tips)) for tips, said in parts if tips)


def _tips(positions: tuple[int, ...]) -> str:
    return f"tip{'s' if len(positions) > 1 else ''} {_listed(positions)}"


def _listed(positions: tuple[int, ...]) -> str:
    *first, last = [str(tip) for tip in positions]
    return f"{', '.join(first)} and {last}" if first else last
