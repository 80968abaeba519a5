"""A caught boom as the tests see it: logarithms of flow over new, pattern taken out, odd tips marked."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from wetrun.proving.catch_flow import CaughtTip
from wetrun.proving.catch_odd import BoolArray, OddTips, odd_tips
from wetrun.proving.catch_pattern import BoomPattern, BoomShape, boom_pattern
from wetrun.proving.catch_run import CatchRun
from wetrun.spray.bounds import FloatArray


@dataclass(frozen=True, slots=True)
class SeenBoom:
    """The tips that flow, with the pattern along the boom and the odd ones; values are logarithms of flow over new.

    Attributes
    ----------
    tips : tuple of CaughtTip
        Tips with a flow, along the boom.
    values : array
        Logarithm of each one's flow over new, shape (tips,).
    pattern : BoomPattern
        What they have in common.
    odds : OddTips
        The outlier test on what is left.
    odd : array of bool
        Tips unlike their boom, shape (tips,).
    reading : float
        Standard uncertainty of one catch, as a share.
    shape : BoomShape
        Where those tips sit.
    predicted : array
        Logarithm of the flow the plumbing leads to expect over the mean, shape (tips,); zero where it is not known.
        Pattern and odd tips are what is left without it.
    """

    tips: tuple[CaughtTip, ...]
    values: FloatArray
    pattern: BoomPattern
    odds: OddTips
    odd: BoolArray
    reading: float
    shape: BoomShape
    predicted: FloatArray

    @property
    def scatter(self) -> float:
        """Standard deviation of the ordinary tips, as a share."""
        return float(self.odds.scatter[0])

    @property
    def level(self) -> float:
        """Logarithm of the whole set over new."""
        return float(self.pattern.level[0] + self.odds.centre[0])

    @property
    def level_seen(self) -> tuple[float, float, int]:
        """Level of the set, scatter of its ordinary tips, and how many they are."""
        return self.level, self.scatter, int(np.count_nonzero(~self.odd))

    def residual(self, n: int) -> float:
        """Return the logarithm of a tip over what its boom leads to expect."""
        return float(self.values[n] - self.predicted[n] - self.pattern.shape[0, n] - self.odds.centre[0])

    def raw_pattern(self) -> BoomPattern:
        """Return the pattern of the flows as caught, the plumbing's own share left in."""
        return boom_pattern(self.values[None, :], self.shape, reading_scatter=self.reading)

    def expected(self) -> dict[int, float]:
        """Return the logarithm of the flow expected at each position."""
        shape = self.predicted + self.pattern.shape[0] + self.odds.centre[0]
        return {tip.tip: log(tip.new_m3s) + float(at) for tip, at in zip(self.tips, shape, strict=True)}


def seen_boom(run: CatchRun, tips: tuple[CaughtTip, ...]) -> SeenBoom:
    """Return the pattern along a boom and the tips unlike it.

    Parameters
    ----------
    run : CatchRun
        The catch.
    tips : tuple of CaughtTip
        Tips with a flow, eight or more.

    Returns
    -------
    SeenBoom
        Pattern and odd tips.

    Raises
    ------
    NotDefined
        Fewer than eight tips.

    References
    ----------
    rosner-1983, robust-median-mad
    """
    values = np.log([tip.to_new_ratio for tip in tips])
    own = np.array([tip.own.combined for tip in tips])
    reading = float(np.sqrt(np.median(own**2)))
    places = np.array([2.0 * (tip.tip - 1) / max(run.tips - 1, 1) - 1.0 for tip in tips])
    shape = BoomShape(places, np.array([tip.section - 1 for tip in tips]))
    predicted = np.log([run.plumbing_ratios.get(tip.tip, 1.0) for tip in tips])
    left = values - predicted
    pattern = boom_pattern(left[None, :], shape, reading_scatter=reading)
    odds = odd_tips(left[None, :] - pattern.shape, reading_scatter=reading, fitted=pattern.terms)
    # A catch with more doubt than the usual one must stand off by more to be unlike.
    blur = np.sqrt(1.0 + np.maximum(own**2 - reading**2, 0.0) / odds.scatter[0] ** 2)
    off = np.abs(left - pattern.shape[0] - odds.centre[0]) > odds.limit[0] * blur
    return SeenBoom(tips, values, pattern, odds, odds.odd[0] & (off | (blur == 1.0)), reading, shape, predicted)
