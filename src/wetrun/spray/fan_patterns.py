"""The pattern one tip lays across the boom: trapezoid (triangle, even edge), bell curve, or grooves that were measured.

A pattern is known by two things: the share of the spray that lands to the left of a place, and how strongly it ripples
once it is repeated at a spacing. Both are exact, so catches in grooves need no fine grid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final, Protocol

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import FloatArray, check_positive
from wetrun.units import FRACTION, METRE, RATIO, M

_BELL_REACH: Final = 3.0
"""Standard deviations from its middle beyond which a bell curve is taken as over: 0.3 % of it lies there."""
_erf: Final = np.vectorize(math.erf, otypes=[np.float64])


class FanPattern(Protocol):
    """What the stacking of patterns needs to know of one."""

    @property
    def half_width_m(self) -> M:
        """Distance from the tip beyond which nothing of note lands [m]."""

    def frac_left_of(self, offsets_m: Annotated[FloatArray, METRE]) -> Annotated[FloatArray, FRACTION]:
        """Return the share of the spray [frac] that lands to the left of places [m] measured from the tip."""

    def ripple_ratios(self, spacing_m: M, orders: FloatArray) -> Annotated[FloatArray, RATIO]:
        """Return the strength [ratio] of the ripples of an endless boom at a spacing [m], by their order."""


@dataclass(frozen=True, slots=True)
class Trapezoid:
    """A symmetric fan: even in the middle, falling straight to its edges.

    Attributes
    ----------
    base_m : float
        Width at the ground, edge to edge [m].
    top_m : float
        Width of the even middle [m]: 0 for a triangle; 0.7 to 0.85 of the base for an even-edge tip (common practice,
        no source).
    """

    base_m: M
    top_m: M = 0.0

    def __post_init__(self) -> None:
        check_positive("width of the pattern", self.base_m, METRE, remedy="Measure it at the target.")
        if not 0.0 <= self.top_m <= self.base_m:
            remedy = "The even middle is part of the whole width."
            raise OutOfRange("even middle of the pattern", self.top_m, METRE, low=0.0, high=self.base_m, remedy=remedy)

    @property
    def half_width_m(self) -> M:
        """Half of the base [m]."""
        return self.base_m / 2.0

    def frac_left_of(self, offsets_m: Annotated[FloatArray, METRE]) -> Annotated[FloatArray, FRACTION]:
        """Return the share of the spray that lands to the left of a place.

        Parameters
        ----------
        offsets_m : ndarray
            Places measured from the tip, positive to the right, any shape [m].

        Returns
        -------
        ndarray
            Shares, the shape of the places [frac].

        References
        ----------
        pattern-superposition

        Example
        -------
        >>> Trapezoid(1.0).frac_left_of(np.array([-0.25, 0.0, 0.5])).tolist()
        [0.125, 0.5, 1.0]
        """
        height = 2.0 / (self.base_m + self.top_m)
        out = np.minimum(np.abs(offsets_m), self.half_width_m)
        slope_m = max((self.base_m - self.top_m) / 2.0, np.finfo(np.float64).tiny)
        on_slope = height * (self.half_width_m - out) ** 2 / (2.0 * slope_m)
        beyond = np.where(out >= self.top_m / 2.0, on_slope, 0.5 - height * out)
        left: FloatArray = np.where(offsets_m < 0.0, beyond, 1.0 - beyond)
        return left

    def ripple_ratios(self, spacing_m: M, orders: FloatArray) -> Annotated[FloatArray, RATIO]:
        """Return the strength of each ripple of an endless boom, over the mean.

        Parameters
        ----------
        spacing_m : float
            Distance between tips [m].
        orders : ndarray
            Ripples per spacing: 1, 2, 3 …

        Returns
        -------
        ndarray
            Strengths, the shape of the orders [ratio].

        Notes
        -----
        The product of two sinc functions, of the half sum and the half difference of base and top.

        References
        ----------
        pattern-superposition

        Example
        -------
        >>> float(abs(Trapezoid(1.0).ripple_ratios(0.5, np.array([1.0]))[0])) < 1e-15  # twice the spacing: even
        True
        """
        sums, differences = (self.base_m + self.top_m) / 2.0, (self.base_m - self.top_m) / 2.0
        ratios: FloatArray = np.sinc(orders * (sums / spacing_m)) * np.sinc(orders * (differences / spacing_m))
        return ratios


@dataclass(frozen=True, slots=True)
class Bell:
    """A pattern like a normal distribution.

    Attributes
    ----------
    sigma_m : float
        Its standard deviation [m]; three of them either way are taken as its width.
    """

    sigma_m: M

    def __post_init__(self) -> None:
        check_positive("spread of the pattern", self.sigma_m, METRE, remedy="Fit it to a measured pattern.")

    @property
    def half_width_m(self) -> M:
        """Three standard deviations [m]."""
        return _BELL_REACH * self.sigma_m

    def frac_left_of(self, offsets_m: Annotated[FloatArray, METRE]) -> Annotated[FloatArray, FRACTION]:
        """Return the share of the spray that lands to the left of a place.

        Parameters
        ----------
        offsets_m : ndarray
            Places measured from the tip, positive to the right, any shape [m].

        Returns
        -------
        ndarray
            Shares, the shape of the places [frac].

        References
        ----------
        pattern-superposition

        Example
        -------
        >>> Bell(0.2).frac_left_of(np.array([0.0])).tolist()
        [0.5]
        """
        left: FloatArray = 0.5 + 0.5 * _erf(offsets_m / (self.sigma_m * math.sqrt(2.0)))
        return left

    def ripple_ratios(self, spacing_m: M, orders: FloatArray) -> Annotated[FloatArray, RATIO]:
        """Return the strength of each ripple of an endless boom, over the mean.

        Parameters
        ----------
        spacing_m : float
            Distance between tips [m].
        orders : ndarray
            Ripples per spacing: 1, 2, 3 …

        Returns
        -------
        ndarray
            Strengths, the shape of the orders [ratio].

        References
        ----------
        pattern-superposition

        Example
        -------
        >>> Bell(0.5).ripple_ratios(0.5, np.array([0.0])).tolist()
        [1.0]
        """
        ratios: FloatArray = np.exp(-2.0 * (math.pi * orders * self.sigma_m / spacing_m) ** 2)
        return ratios


@dataclass(frozen=True, slots=True)
class MeasuredPattern:
    """What one tip put into the grooves of a tray, spread evenly inside each groove.

    Attributes
    ----------
    caught : tuple of float
        Volume, weight or height per groove, left to right, in any one unit: only shares count.
    groove_m : float
        Width of a groove [m].
    tip_m : float
        Where the tip stood, from the left edge of the first groove [m].
    """

    caught: tuple[float, ...]
    groove_m: M
    tip_m: M

    def __post_init__(self) -> None:
        check_positive("width of a groove", self.groove_m, METRE, remedy="Measure the tray.")
        amounts = np.asarray(self.caught, dtype=np.float64)
        if not (amounts.size and np.all(np.isfinite(amounts)) and np.all(amounts >= 0.0) and np.sum(amounts) > 0.0):
            remedy = "Read the tray again: every groove is zero or more, and one of them is not zero."
            raise NotDefined("measured pattern", reason="its grooves hold no amounts", remedy=remedy)
        left_m, right_m = self._wet_edges_m()
        if not left_m <= self.tip_m <= right_m:
            remedy = "Measure from the left edge of the first groove to under the tip: it stands over its own spray."
            raise OutOfRange("place of the tip", self.tip_m, METRE, low=left_m, high=right_m, remedy=remedy)

    @property
    def half_width_m(self) -> M:
        """From the tip to the farther edge of the outermost groove that is wet [m]."""
        left_m, right_m = self._wet_edges_m()
        return max(self.tip_m - left_m, right_m - self.tip_m)

    def frac_left_of(self, offsets_m: Annotated[FloatArray, METRE]) -> Annotated[FloatArray, FRACTION]:
        """Return the share of the spray that lands to the left of a place.

        Parameters
        ----------
        offsets_m : ndarray
            Places measured from the tip, positive to the right, any shape [m].

        Returns
        -------
        ndarray
            Shares, the shape of the places [frac].

        References
        ----------
        pattern-superposition

        Example
        -------
        >>> MeasuredPattern((1.0, 3.0), 0.1, 0.1).frac_left_of(np.array([0.0, 0.05])).tolist()
        [0.25, 0.625]
        """
        summed = np.concatenate([[0.0], np.cumsum(self.caught)]) / math.fsum(self.caught)
        return np.interp(offsets_m, self._edges_from_tip(), summed)

    def ripple_ratios(self, spacing_m: M, orders: FloatArray) -> Annotated[FloatArray, RATIO]:
        """Return the strength of each ripple of an endless boom, over the mean.

        Parameters
        ----------
        spacing_m : float
            Distance between tips [m].
        orders : ndarray
            Ripples per spacing: 1, 2, 3 …

        Returns
        -------
        ndarray
            Strengths, never negative, the shape of the orders [ratio].

        References
        ----------
        pattern-superposition

        Example
        -------
        >>> one_groove = MeasuredPattern((1.0,), 0.5, 0.25)
        >>> float(one_groove.ripple_ratios(0.5, np.array([1.0]))[0]) < 1e-15  # as wide as the spacing: even
        True
        """
        shares = np.asarray(self.caught, dtype=np.float64) / math.fsum(self.caught)
        middles = self._edges_from_tip()[:-1] + self.groove_m / 2.0
        turns = np.exp(-2j * math.pi * np.multiply.outer(orders, middles / spacing_m))
        ratios: FloatArray = np.abs(turns @ shares * np.sinc(orders * (self.groove_m / spacing_m)))
        return ratios

    def _wet_edges_m(self) -> tuple[M, M]:
        """Edges of what is wet, from the left edge of the first groove [m]."""
        wet = np.flatnonzero(self.caught)
        return float(wet[0]) * self.groove_m, float(wet[-1] + 1) * self.groove_m

    def _edges_from_tip(self) -> FloatArray:
        return np.arange(len(self.caught) + 1, dtype=np.float64) * self.groove_m - self.tip_m
