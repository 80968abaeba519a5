"""What the flows along a boom have in common: a level, a fall along the boom, steps of whole sections.

Worn sets move the level, plumbing makes falls and steps, and only what is left belongs to single tips. Four shapes are
fitted to every boom, each by least squares over the tips that keep within three scatters of it, and the simplest that
explains the boom is taken: a term must earn its place against chance.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from scipy.special import ndtri

from wetrun.errors import NotDefined
from wetrun.proving.catch_odd import LEAST_TIPS, NORMAL_MAD, BoolArray, IndexArray
from wetrun.spray.bounds import FloatArray
from wetrun.units import Frac

KEPT_SCATTERS: Final = 3.0
"""A tip further from the shape than this has no say in it."""
SHAPE_ALARM_FRAC: Final[Frac] = 0.008
"""What is spent so that no more than about one even boom in a hundred is given a step or a fall."""
ROUNDS: Final = 6


@dataclass(frozen=True)
class BoomShape:
    """Where the caught tips sit.

    Attributes
    ----------
    places : array
        Place of each tip along the boom, -1 at the left end and 1 at the right, shape (tips,).
    sections : array of int
        Section of each tip counted from 0, shape (tips,).
    """

    places: FloatArray
    sections: IndexArray

    @cached_property
    def members(self) -> FloatArray:
        """One where a tip belongs to a section, shape (tips, sections)."""
        return np.equal.outer(self.sections, np.arange(int(self.sections.max()) + 1)).astype(np.float64)

    @cached_property
    def falls(self) -> FloatArray:
        """The fall towards both ends and the tilt to one end, zero at the middle, shape (tips, 2)."""
        return np.column_stack([self.places**2, self.places])

    @cached_property
    def chance_square(self) -> float:
        """What one more term must take off the sum of squares, in scatters squared, to be more than chance."""
        terms = self.falls.shape[1] + self.members.shape[1]
        return float(ndtri(1.0 - SHAPE_ALARM_FRAC / (2.0 * terms)) ** 2)


@dataclass(frozen=True, slots=True)
class BoomPattern:
    """The shape of many booms.

    Attributes
    ----------
    level : array
        Level of the boom, shape (booms,), in the unit of the values.
    falls : array
        What the fall adds at the ends: towards both, and right over left, shape (booms, 2).
    steps : array
        Each section against the level, zero where it follows it, shape (booms, sections).
    shape : array
        The fitted value of every tip, shape (booms, tips).
    scatter : array
        Standard deviation of the kept tips about it, shape (booms,).
    """

    level: FloatArray
    falls: FloatArray
    steps: FloatArray
    shape: FloatArray
    scatter: FloatArray

    @property
    def terms(self) -> IndexArray:
        """Terms fitted besides the level, shape (booms,)."""
        terms: IndexArray = np.count_nonzero(self.steps, axis=1) + np.count_nonzero(self.falls, axis=1)
        return terms


def boom_pattern(values: FloatArray, boom: BoomShape, *, reading_scatter: float = 0.0) -> BoomPattern:
    """Return the level, fall and section steps of booms that share one layout.

    Parameters
    ----------
    values : array
        One value per tip without gaps, shape (booms, tips); logarithms of flow.
    boom : BoomShape
        Where those tips sit.
    reading_scatter : float
        Standard uncertainty of a single reading, in the unit of the values.

    Returns
    -------
    BoomPattern
        The simplest shape that explains each boom.

    Raises
    ------
    NotDefined
        Fewer than eight tips.

    Notes
    -----
    Scatter is first taken from neighbours of one section, which neither steps nor falls can move. Left out: a fall
    inside each section (fed in its middle), seen only by the boom's own plumbing model.

    References
    ----------
    robust-median-mad, wetrun-catch-power

    Example
    -------
    >>> places = np.linspace(-1.0, 1.0, 24)
    >>> boom = BoomShape(places, np.repeat(np.arange(3), 8))
    >>> tips = np.where(boom.sections == 1, -0.10, 0.0) + 0.004 * np.sin(40.0 * places)
    >>> boom_pattern(tips[None, :], boom).steps.round(2).tolist()
    [[0.0, -0.1, 0.0]]
    """
    if values.shape[1] < LEAST_TIPS:
        reason = f"{values.shape[1]} readings show no pattern"
        raise NotDefined("pattern along the boom", reason=reason, remedy=f"Catch {LEAST_TIPS} tips or more")
    scatter = _neighbour_scatter(values, boom, reading_scatter)
    fitted = [_fitted(values, boom, scatter, with_fall=fall, with_steps=step) for fall, step in _SHAPES]
    chosen = np.argmin([one.cost for one in fitted], axis=0)
    booms = np.arange(values.shape[0])
    level, falls, steps, shape = (
        np.stack([getattr(one, name) for one in fitted])[chosen, booms] for name in ("level", "falls", "steps", "shape")
    )
    return BoomPattern(level, falls, steps, shape, _kept_scatter(values - shape, scatter, reading_scatter))


_SHAPES: Final = ((False, False), (True, False), (False, True), (True, True))


@dataclass(frozen=True, slots=True)
class _Fit:
    level: FloatArray
    falls: FloatArray
    steps: FloatArray
    shape: FloatArray
    cost: FloatArray


def _fitted(values: FloatArray, boom: BoomShape, scatter: FloatArray, *, with_fall: bool, with_steps: bool) -> _Fit:
    """Return one shape, its parts fitted in turn to what the others leave."""
    booms = values.shape[0]
    steps = np.zeros((booms, boom.members.shape[1]))
    falls = np.zeros((booms, boom.falls.shape[1]))
    level = np.median(values, axis=1)
    for _ in range(ROUNDS if with_fall else 1):  # without a fall the first round is already the last
        if with_steps:
            level, steps = _stepped(values - falls @ boom.falls.T, boom, scatter)
        left = values - steps @ boom.members.T
        level, falls = (
            _levelled(left, boom, scatter, (level, falls)) if with_fall else _level(left, scatter, level, falls)
        )
    shape = level[:, None] + falls @ boom.falls.T + steps @ boom.members.T
    misfit = np.minimum(np.abs(values - shape) / scatter[:, None], KEPT_SCATTERS) ** 2
    terms = np.count_nonzero(steps, axis=1) + (boom.falls.shape[1] if with_fall else 0)
    return _Fit(level, falls, steps, shape, misfit.sum(axis=1) + boom.chance_square * terms)


def _level(
    left: FloatArray, scatter: FloatArray, level: FloatArray, falls: FloatArray
) -> tuple[FloatArray, FloatArray]:
    kept = _kept(left - level[:, None], scatter)
    return _mean(left, kept), falls


def _levelled(
    left: FloatArray, boom: BoomShape, scatter: FloatArray, start: tuple[FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray]:
    """Return level and falls by least squares over the tips kept."""
    level, falls = start
    # A first fall is looked for among all but the wildest tips; afterwards among those near the shape.
    gate = scatter if falls.any() else np.maximum(scatter, _median_away(left - level[:, None]))
    kept = _kept(left - level[:, None] - falls @ boom.falls.T, gate).astype(np.float64)
    terms = np.column_stack([np.ones(boom.places.size), boom.falls])
    size = terms.shape[1]
    products = (terms[:, :, None] * terms[:, None, :]).reshape(-1, size * size)
    normal = (kept @ products).reshape(-1, size, size) + 1e-9 * np.eye(size)
    found = np.linalg.solve(normal, ((kept * left) @ terms)[:, :, None])[:, :, 0]
    return found[:, 0], found[:, 1:]


def _stepped(left: FloatArray, boom: BoomShape, scatter: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return level and steps: a section steps if it stands off the level of the others by more than chance."""
    middles = _section_medians(left, boom)
    near = _kept(left - middles @ boom.members.T, scatter).astype(np.float64)
    count = np.maximum(near @ boom.members, 1.0)
    means = (near * left) @ boom.members / count
    off = np.zeros(means.shape, dtype=np.bool_)
    level = np.median(left, axis=1)
    for _ in range(3):
        off = (means - level[:, None]) ** 2 * count > boom.chance_square * scatter[:, None] ** 2
        weight = np.where(off, 0.0, count)
        total = weight.sum(axis=1)
        level = np.where(total > 0.0, (weight * means).sum(axis=1) / np.maximum(total, 1.0), level)
    return level, np.where(off, means - level[:, None], 0.0)


def _section_medians(left: FloatArray, boom: BoomShape) -> FloatArray:
    groups = [np.flatnonzero(column) for column in boom.members.T]
    return np.stack([np.median(left[:, g], axis=1) if g.size else np.zeros(len(left)) for g in groups], axis=1)


def _neighbour_scatter(values: FloatArray, boom: BoomShape, reading_scatter: float) -> FloatArray:
    """Return the scatter that neighbours of one section show among each other."""
    same = np.diff(boom.sections) == 0
    apart = np.abs(np.diff(values, axis=1)[:, same if same.any() else slice(None)])
    found: FloatArray = NORMAL_MAD * np.median(apart, axis=1) / np.sqrt(2.0)
    return np.maximum(found, max(reading_scatter, 1e-9))


def _kept_scatter(residuals: FloatArray, scatter: FloatArray, reading_scatter: float) -> FloatArray:
    kept = _kept(residuals, scatter)
    square = np.where(kept, residuals**2, 0.0).sum(axis=1) / np.maximum(kept.sum(axis=1) - 1.0, 1.0)
    found: FloatArray = np.maximum(np.sqrt(square), reading_scatter)
    return found


def _kept(residuals: FloatArray, scatter: FloatArray) -> BoolArray:
    return np.abs(residuals) <= KEPT_SCATTERS * scatter[:, None]


def _mean(left: FloatArray, kept: BoolArray) -> FloatArray:
    mean: FloatArray = np.where(kept, left, 0.0).sum(axis=1) / np.maximum(kept.sum(axis=1), 1)
    return mean


def _median_away(residuals: FloatArray) -> FloatArray:
    away: FloatArray = NORMAL_MAD * np.median(np.abs(residuals), axis=1)
    return away
