"""Evenness of a whole boom as it hangs: its own catches, missing tips, rolled to a side or turned out of its line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Annotated, Final

import numpy as np

from wetrun.errors import OutOfRange
from wetrun.spray.bounds import FloatArray
from wetrun.spray.fan_source import FanSource
from wetrun.spray.overlap import Evenness, EvennessLimit, StackedBoom, Standing, stacked_boom
from wetrun.units import CUBIC_METRE_PER_SECOND, METRE, RADIAN, M, Rad, Ratio

MOST_ROLL_RAD: Final[Rad] = math.radians(10.0)
MOST_YAW_RAD: Final[Rad] = math.radians(20.0)
LEAST_CLEAR_M: Final[M] = 0.05


@dataclass(frozen=True, slots=True)
class BoomLie:
    """How a boom hangs.

    Attributes
    ----------
    height_m : float
        Of the tips at the middle above the target [m].
    roll_rad : float
        Right end up [rad].
    yaw_rad : float
        Right end forward [rad].
    twist_rad : float
        How far the fans are turned out of the boom's line so that they do not meet [rad].
    """

    height_m: M
    roll_rad: Rad = 0.0
    yaw_rad: Rad = 0.0
    twist_rad: Rad = 0.0

    @property
    def rate_ratio(self) -> Ratio:
        """Rate on the ground the boom covers, over that of a straight boom: a yawed one is narrower [ratio]."""
        return 1.0 / math.cos(self.yaw_rad)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidBoom:
    """What a boom lays down, with the narrowest and the widest its fans may be.

    Attributes
    ----------
    lie : BoomLie
        How it hangs.
    narrow, wide : StackedBoom
        Both ends of what its fans may be; the same where they were caught.
    """

    lie: BoomLie
    narrow: StackedBoom
    wide: StackedBoom

    @property
    def both(self) -> tuple[Evenness, Evenness]:
        """Evenness away from the boom's ends, or of all where there is no such place."""
        narrow, wide = (stack.inner or stack.whole for stack in (self.narrow, self.wide))
        return narrow, wide

    def standing(self, limit: EvennessLimit) -> Standing:
        """Return how it stands against a rule: decided only where both ends of its fans say the same."""
        narrow, wide = (one.standing(limit) for one in self.both)
        return narrow if narrow is wide else Standing.UNDECIDED


@dataclass(frozen=True, slots=True)
class HeightStretch:
    """Heights at which a boom stands alike against a rule.

    Attributes
    ----------
    from_m, to_m : float
        First and last height tried that stand so [m].
    standing : Standing
        How.
    """

    from_m: M
    to_m: M
    standing: Standing


def laid_boom(
    flows_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND], source: FanSource, spacing_m: M, lie: BoomLie
) -> LaidBoom:
    """Return what a boom lays down as it hangs.

    Parameters
    ----------
    flows_m3s : ndarray
        Flow at each position, left to right, zero where nothing sprays [m3/s], shape (positions,).
    source : FanSource
        What one tip lays down.
    spacing_m : float
        Distance between positions [m].
    lie : BoomLie
        How the boom hangs.

    Returns
    -------
    LaidBoom
        With narrow and wide fans.

    Raises
    ------
    OutOfRange
        A roll over 10° or a yaw over 20°, or an end nearer than 5 cm to the target.
    NotDefined
        Flows that are not known, or all zero.

    Notes
    -----
    A rolled boom has every tip at its own height. A yawed boom covers less width, its tips stand closer across the way
    and its fans, seen across it, are narrower. Left out: the tilt of each fan in a roll (under 1 % of its width up to
    5°), wind, and all movement: how even the boom is *along* the way is not told here.

    References
    ----------
    pattern-superposition, fan-geometry

    Example
    -------
    >>> from wetrun.spray.fan_source import AngledFan
    >>> fan, flows = AngledFan(math.radians(110.0), 3e5), np.full(48, 2e-5)
    >>> level, rolled = (laid_boom(flows, fan, 0.5, BoomLie(0.5, roll_rad=roll)) for roll in (0.0, math.radians(2.0)))
    >>> level.both[1].cv_frac < rolled.both[1].cv_frac
    True
    """
    _check(lie)
    heights_m = tip_heights_m(flows_m3s.size, spacing_m, lie)
    across = math.cos(lie.twist_rad + lie.yaw_rad)
    pairs = [source.patterns_at(float(height_m), across) for height_m in heights_m]
    seen_m = spacing_m * math.cos(lie.yaw_rad)
    narrow, wide = (stacked_boom(flows_m3s, [pair[end] for pair in pairs], seen_m) for end in (0, 1))
    return LaidBoom(lie=lie, narrow=narrow, wide=wide)


def tip_heights_m(positions: int, spacing_m: M, lie: BoomLie) -> Annotated[FloatArray, METRE]:
    """Return the height of every tip [m], shape (positions,), left to right.

    Raises
    ------
    OutOfRange
        An end nearer than 5 cm to the target.

    Example
    -------
    >>> tip_heights_m(3, 10.0, BoomLie(0.5, roll_rad=math.asin(0.01))).round(3).tolist()
    [0.4, 0.5, 0.6]
    """
    offsets = (np.arange(positions, dtype=np.float64) - (positions - 1) / 2.0) * spacing_m
    heights = lie.height_m + offsets * math.sin(lie.roll_rad)
    lowest_m = float(heights.min())
    if not lowest_m >= LEAST_CLEAR_M:
        remedy = "The low end would touch the crop: enter a higher boom or less roll."
        raise OutOfRange("height of the lowest tip", lowest_m, METRE, low=LEAST_CLEAR_M, remedy=remedy)
    return heights


def height_stretches(
    flows_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND],
    source: FanSource,
    spacing_m: M,
    lie: BoomLie,
    *,
    limit: EvennessLimit,
    heights_m: Sequence[M],
) -> tuple[HeightStretch, ...]:
    """Return how a boom stands against a rule over heights.

    Parameters
    ----------
    flows_m3s : ndarray
        Flow at each position [m3/s], shape (positions,).
    source : FanSource
        What one tip lays down.
    spacing_m : float
        Distance between positions [m].
    lie : BoomLie
        How the boom hangs; its height is replaced.
    limit : EvennessLimit
        The rule.
    heights_m : sequence of float
        Heights to try, rising [m]; those its trays do not reach, or at which an end touches, are left out.

    Returns
    -------
    tuple of HeightStretch
        Lowest first; within three points of the rule's limits it is undecided.

    References
    ----------
    pattern-superposition
    """
    tried: list[tuple[M, Standing]] = []
    for height_m in heights_m:
        try:
            laid = laid_boom(flows_m3s, source, spacing_m, replace(lie, height_m=height_m))
        except OutOfRange:
            continue
        tried.append((height_m, laid.standing(limit)))
    groups = (list(group) for _, group in groupby(tried, key=lambda one: one[1]))
    return tuple(HeightStretch(group[0][0], group[-1][0], group[0][1]) for group in groups)


def _check(lie: BoomLie) -> None:
    for thing, angle_rad, most_rad in (
        ("roll of the boom", lie.roll_rad, MOST_ROLL_RAD),
        ("yaw of the boom", lie.yaw_rad, MOST_YAW_RAD),
        ("twist of the fans", lie.twist_rad, MOST_YAW_RAD),
    ):
        if not abs(angle_rad) <= most_rad:
            remedy = "The model holds for a boom that nearly hangs as it should."
            raise OutOfRange(thing, angle_rad, RADIAN, low=-most_rad, high=most_rad, remedy=remedy)
