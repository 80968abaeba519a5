"""Evenness of a boom of which only the tips were caught: stacked with the pattern they lay down at this height.

Tips alone do not make evenness: height, angle and spacing do the rest, so tips are stacked before they are judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from wetrun.errors import NotDefined
from wetrun.percent import PER_CENT, per_cent
from wetrun.proving.evenness import TrayResult, variation_frac
from wetrun.spray.bounds import FloatArray
from wetrun.spray.fan_patterns import FanPattern
from wetrun.spray.overlap import MODEL_MARGIN_FRAC, Evenness, EvennessLimit, Standing, stacked_boom
from wetrun.units import CUBIC_METRE_PER_SECOND, Frac, M


@dataclass(frozen=True, slots=True)
class StackResult:
    """The evenness that the tips caught would lay.

    Attributes
    ----------
    limit : EvennessLimit
        The rule.
    tips_cv_frac : float
        Coefficient of variation of the tips alone [frac].
    even_cv_frac : float
        What the stack would show if all tips gave the same [frac]: height, angle and spacing.
    stacked : Evenness
        The stack with the tips as caught, away from the boom's ends.
    standing : Standing
        Against the rule; within three points of a limit it is undecided.
    words : str
        What makes the unevenness.
    """

    limit: EvennessLimit
    tips_cv_frac: Frac
    even_cv_frac: Frac
    stacked: Evenness
    standing: Standing
    words: str


@dataclass(frozen=True, slots=True)
class TrayAgainstStack:
    """Whether a tray and the stack of the tips caught tell the same.

    Attributes
    ----------
    apart_frac : float
        Variation over the tray less that of the stack [frac].
    expanded_frac : float
        How far they may be apart: the tray's expanded uncertainty and the margin of the assumed patterns [frac].
    agree : bool
        Whether they are within it.
    words : str
        What it means if not; the tray decides.
    """

    apart_frac: Frac
    expanded_frac: Frac
    agree: bool
    words: str


def stack_result(
    flows_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND],
    patterns: FanPattern | Sequence[FanPattern],
    spacing_m: M,
    limit: EvennessLimit,
) -> StackResult:
    """Return the evenness of a boom of which only the tips were caught.

    Parameters
    ----------
    flows_m3s : array
        Flow of every position, shape (tips,) [m3/s].
    patterns : FanPattern or sequence of FanPattern
        What the tips lay down at the boom's height.
    spacing_m : float
        Distance between tips [m].
    limit : EvennessLimit
        The rule.

    Returns
    -------
    StackResult
        Tips and pattern, apart and together.

    Raises
    ------
    NotDefined
        A tip without a flow, or a boom too short to have a middle.

    References
    ----------
    pattern-superposition, coefficient-of-variation

    Example
    -------
    >>> from wetrun.spray.fan_patterns import Trapezoid
    >>> from wetrun.spray.overlap import IN_USE
    >>> even = stack_result(np.full(24, 2e-5), Trapezoid(1.0), 0.5, IN_USE)
    >>> even.standing.value
    'within the limit'
    """
    stacked = _middle(flows_m3s, patterns, spacing_m)
    even = _middle(np.full(flows_m3s.size, float(np.mean(flows_m3s))), patterns, spacing_m)
    tips = variation_frac(flows_m3s)
    words = (
        f"The tips alone vary by {per_cent(tips)}, the pattern at this height by {per_cent(even.cv_frac)} with even "
        f"tips; together {per_cent(stacked.cv_frac)}. Patterns are assumed: within "
        f"{MODEL_MARGIN_FRAC * PER_CENT:.0f} points of a limit only a tray decides."
    )
    return StackResult(limit, tips, even.cv_frac, stacked, stacked.standing(limit), words)


def tray_against_stack(tray: TrayResult, stack: StackResult) -> TrayAgainstStack:
    """Return whether a tray and the stack of the tips caught tell the same, and what it means if not.

    Parameters
    ----------
    tray : TrayResult
        The tray.
    stack : StackResult
        The tips caught, stacked.

    Returns
    -------
    TrayAgainstStack
        The difference, how far apart they may be, and one sentence; the tray decides.

    References
    ----------
    pattern-superposition, coefficient-of-variation
    """
    apart = tray.cv.value - stack.stacked.cv_frac
    expanded = MODEL_MARGIN_FRAC + tray.cv.expanded
    agree = abs(apart) <= expanded
    shown = (
        f"{per_cent(tray.cv.value)} and {per_cent(stack.stacked.cv_frac)}, {per_cent(expanded)} may lie between them"
    )
    if agree:
        words = f"Tray and stacked tips agree: {shown}."
    elif apart > 0.0:
        words = (
            f"The tray shows {per_cent(apart)} more unevenness than the flows explain ({shown}): look at height, "
            "level, fan angle, bent or turned tips, and wind over the tray."
        )
    else:
        words = (
            f"The tray shows {per_cent(-apart)} less unevenness than the stack of these patterns ({shown}): the "
            "assumed fans are too narrow. The tray decides."
        )
    return TrayAgainstStack(apart, expanded, agree, words)


def _middle(
    flows_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND], patterns: FanPattern | Sequence[FanPattern], spacing_m: M
) -> Evenness:
    inner = stacked_boom(flows_m3s, patterns, spacing_m).inner
    if inner is None:
        raise NotDefined("evenness", reason="the boom is too short to have a middle", remedy="Enter the whole boom")
    return inner
