"""How even one machine's boom lays, as it hangs, and between which heights it stays within a rule."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.spray.boom_lie import BoomLie, HeightStretch, LaidBoom, height_stretches, laid_boom
from wetrun.spray.bounds import FloatArray
from wetrun.spray.fan_source import FanSource
from wetrun.spray.overlap import EvennessLimit, Standing, endless_boom_cv_frac
from wetrun.units import CUBIC_METRE_PER_SECOND, RATIO, Frac, M

METHOD: Final = "boom as it hangs"
METHOD_NUMBER: Final = 1
LOWEST_M: Final[M] = 0.2
HIGHEST_M: Final[M] = 1.5
STEP_M: Final[M] = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EvenQuestion:
    """What is asked of a boom.

    Attributes
    ----------
    boom : Boom
        Its layout.
    source : FanSource
        What one tip lays down.
    lie : BoomLie
        How it hangs.
    limit : EvennessLimit
        The rule.
    flows_m3s : ndarray or None
        Its own catches, left to right [m3/s], shape (positions,); None takes every tip as good as the next.
    missing : tuple of int
        Positions that spray nothing, counted from 1.
    """

    boom: Boom
    source: FanSource
    lie: BoomLie
    limit: EvennessLimit
    flows_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND] | None = None
    missing: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoomEven:
    """How even a boom lays.

    Attributes
    ----------
    question : EvenQuestion
        What was asked.
    laid : LaidBoom
        As it hangs.
    level : LaidBoom or None
        The same boom level and straight; None if it hangs so.
    standing : Standing
        Against the rule.
    stretches : tuple of HeightStretch
        Over heights, lowest first.
    endless_frac : tuple of float
        Variation of an endless boom of equal tips in closed form, narrow and wide [frac].
    """

    question: EvenQuestion
    laid: LaidBoom
    level: LaidBoom | None
    standing: Standing
    stretches: tuple[HeightStretch, ...]
    endless_frac: tuple[Frac, Frac]


def boom_even(question: EvenQuestion) -> BoomEven:
    """Return how even a boom lays.

    Parameters
    ----------
    question : EvenQuestion
        The boom and how it hangs.

    Returns
    -------
    BoomEven
        Now, level, and over heights from 20 to 150 cm.

    Raises
    ------
    NotDefined
        Catches that are not one for each position.
    OutOfRange
        A missing position the boom has not, or a boom that hangs as the model does not hold.

    Notes
    -----
    Odd positions are stacked with the set's own pattern. Heights that trays do not reach are left out.

    References
    ----------
    pattern-superposition, czech-207-2012, iso-16119-2
    """
    boom, source, lie, limit = question.boom, question.source, question.lie, question.limit
    flows_m3s = _flows_m3s(question)
    laid = laid_boom(flows_m3s, source, boom.spacing_m, lie)
    straight = replace(lie, roll_rad=0.0, yaw_rad=0.0)
    narrow, wide = source.patterns_at(lie.height_m, np.cos(lie.twist_rad))
    heights = np.arange(LOWEST_M, HIGHEST_M + STEP_M / 2.0, STEP_M)
    return BoomEven(
        question=question,
        laid=laid,
        level=None if straight == lie else laid_boom(flows_m3s, source, boom.spacing_m, straight),
        standing=laid.standing(limit),
        stretches=height_stretches(
            flows_m3s, source, boom.spacing_m, lie, limit=limit, heights_m=[float(one) for one in heights]
        ),
        endless_frac=(endless_boom_cv_frac(narrow, boom.spacing_m), endless_boom_cv_frac(wide, boom.spacing_m)),
    )


def _flows_m3s(question: EvenQuestion) -> Annotated[FloatArray, CUBIC_METRE_PER_SECOND]:
    tips = question.boom.tips
    flows = np.ones(tips) if question.flows_m3s is None else question.flows_m3s.copy()
    if flows.size != tips:
        reason = f"{flows.size} catches for {tips} positions"
        raise NotDefined("evenness of the boom", reason=reason, remedy="Catch every tip, or leave the catches out.")
    for position in question.missing:
        if not 1 <= position <= tips:
            remedy = "Count positions from 1 at the left end."
            raise OutOfRange("missing position", float(position), RATIO, low=1, high=tips, remedy=remedy)
        flows[position - 1] = 0.0
    return flows
