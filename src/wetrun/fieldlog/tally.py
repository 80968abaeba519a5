"""A tally: area by active width and by logarithmic bin of one variable, with exact answers about thresholds.

A bin is all positive doubles that share sign, exponent and the leading 14 bits of the mantissa: at most 2^-14 of the
value wide, and values next to zero are a bin of their own. There is no under- or overflow bin, for only bins that
hold something are stored. Each also keeps the least and greatest value seen in it, rounded outward to 2^-46 of the
value (so that a cell of the compiled kernel fits in 16 bytes, and two in the cache where there was one). Questions are
answered from those two ends, not from bin edges: a bin whose ends lie on one side of a threshold is counted exactly,
so speeds that repeat (a log has few clock steps) leave almost nothing open, and what stays open for a threshold is
one bin per active width. The answer is the bracket from "that bin counts not" to "that bin counts".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Final, Literal

import numpy as np

from wetrun.fieldlog.trace import CM_PER_M, FloatArray, IntArray, whole_cm, whole_cm2
from wetrun.units import METRE, SQUARE_CENTIMETRE, SQUARE_METRE, Cm2

BIN_MANTISSA_BITS: Final = 14
BIN_SHIFT: Final = 52 - BIN_MANTISSA_BITS
END_SHIFT: Final = 6
# A replay compares rate x speed with a flow, a ledger speed with flow / rate: two roundings of half a unit each.
# Thresholds are widened by four times that, so the bracket holds the replay's area whichever way they fell.
GUARD: Final = 8 * np.finfo(np.float64).eps
FEW_ROWS: Final = 2_000_000

Entries = tuple[IntArray, FloatArray, FloatArray, IntArray]


@dataclass(frozen=True)
class Tally:
    """Area by active width level and by bin of one variable (speed or flow per width).

    ``levels_m`` [levels] ascends. Entries [bins] are sorted by level, then value: ``level`` is the index into
    ``levels_m``, ``least`` and ``greatest`` the exact ends of what fell into the bin, ``area_cm2`` its area.
    """

    levels_m: Annotated[FloatArray, METRE]
    level: IntArray
    least: FloatArray
    greatest: FloatArray
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]

    @cached_property
    def total_cm2(self) -> Cm2:
        """Area of all bins [cm2]."""
        return int(self.area_cm2.sum())

    @cached_property
    def _starts(self) -> IntArray:
        return np.searchsorted(self.level, np.arange(self.levels_m.size + 1)).astype(np.int64)

    @cached_property
    def _cumulative_cm2(self) -> IntArray:
        return np.concatenate([[0], np.cumsum(self.area_cm2)]).astype(np.int64)

    def areas_below(self, threshold: FloatArray) -> tuple[IntArray, IntArray]:
        """Return the bracket [lower, upper] of the area with a value under the threshold [cm2].

        Parameters
        ----------
        threshold
            One per level, [levels] or [candidates, levels], in the tally's variable.
        """
        lower, upper = self._counts_below(threshold)
        return self._summed(lower), self._summed(upper)

    def areas_above(self, threshold: FloatArray) -> tuple[IntArray, IntArray]:
        """Return the bracket [lower, upper] of the area with a value over the threshold [cm2]; see `areas_below`."""
        lower, upper = self._counts_up_to(threshold)
        return self.total_cm2 - self._summed(upper), self.total_cm2 - self._summed(lower)

    def area_within(self, low: FloatArray, high: FloatArray) -> tuple[IntArray, IntArray]:
        """Return the bracket [lower, upper] of the area with low <= value <= high [cm2].

        Parameters
        ----------
        low, high
            One per level, [levels] or [candidates, levels], in the tally's variable. ``high`` may be inf.

        Returns
        -------
        tuple
            Two int64 arrays [] or [candidates]: the area certainly within, and the area possibly within.

        Example
        -------
        A boom of 24 m that drove 2 ha at 3 m/s and 1 ha at 5 m/s, asked for 2 to 4 m/s:

        >>> area_m2 = np.array([2e4, 1e4])
        >>> tally = tally_of(np.array([3.0, 5.0]), np.array([24.0, 24.0]), area_m2)
        >>> [int(bound) for bound in tally.area_within(np.array([2.0]), np.array([4.0]))]
        [200000000, 200000000]
        """
        below_least, below_most = self._counts_below(low)
        upto_least, upto_most = self._counts_up_to(high)
        certain = np.maximum(self._areas(upto_least) - self._areas(below_most), 0)
        possible = np.maximum(self._areas(upto_most) - self._areas(below_least), 0)
        return certain.sum(axis=-1), possible.sum(axis=-1)

    def percentiles(self, shares: Sequence[float]) -> tuple[FloatArray, FloatArray]:
        """Return the least and greatest value the area-weighted percentile can have, for shares of area from 0 to 1."""
        if not self.area_cm2.size:
            empty = np.full(len(shares), np.nan)
            return empty, empty
        order = np.argsort(self.least, kind="stable")
        reached = np.cumsum(self.area_cm2[order])
        wanted = np.asarray(shares, dtype=np.float64) * self.total_cm2
        place = np.minimum(np.searchsorted(reached, wanted, side="left"), order.size - 1)
        return self.least[order][place], np.maximum.accumulate(self.greatest[order])[place]

    def areas_between(self, edges: FloatArray) -> Annotated[IntArray, SQUARE_CENTIMETRE]:
        """Return the area in each cell of a drawn tally [cells] [cm2]; a bin astride an edge goes to the lower cell."""
        cell = np.searchsorted(edges, self.least, side="right") - 1
        inside = (cell >= 0) & (cell < edges.size - 1)
        areas = np.zeros(edges.size - 1, dtype=np.int64)
        np.add.at(areas, cell[inside], self.area_cm2[inside])
        return areas

    def _counts_below(self, threshold: FloatArray) -> tuple[IntArray, IntArray]:
        """Return how many entries certainly, and possibly, have values < threshold: places in the cumulative sum."""
        return (
            self._places(self.greatest, threshold * (1 - GUARD), "left"),
            self._places(self.least, threshold * (1 + GUARD), "left"),
        )

    def _counts_up_to(self, threshold: FloatArray) -> tuple[IntArray, IntArray]:
        return (
            self._places(self.greatest, threshold * (1 - GUARD), "right"),
            self._places(self.least, threshold * (1 + GUARD), "right"),
        )

    def _places(self, ends: FloatArray, threshold: FloatArray, side: Literal["left", "right"]) -> IntArray:
        wanted = np.broadcast_to(threshold, (*np.shape(threshold)[:-1], self.levels_m.size))
        places = np.empty(wanted.shape, dtype=np.int64)
        for level in range(self.levels_m.size):
            start, stop = self._starts[level], self._starts[level + 1]
            places[..., level] = start + np.searchsorted(ends[start:stop], wanted[..., level], side=side)
        return places

    def _areas(self, places: IntArray) -> IntArray:
        return self._cumulative_cm2[places] - self._cumulative_cm2[self._starts[:-1]]

    def _summed(self, places: IntArray) -> IntArray:
        total: IntArray = self._areas(places).sum(axis=-1)
        return total


def tally_of(
    values: FloatArray, width_m: Annotated[FloatArray, METRE], area_m2: Annotated[FloatArray, SQUARE_METRE]
) -> Tally:
    """Return the tally of one variable (finite, zero or more) with the active width [m] and area [m2] of each value."""
    compiled = compiled_tallies((values,), width_m, area_m2)
    return compiled[0] if compiled else tally_from(*entries_of(values, width_m, area_m2))


def compiled_tallies(
    variables: tuple[FloatArray, ...],
    width_m: Annotated[FloatArray, METRE],
    area_m2: Annotated[FloatArray, SQUARE_METRE],
) -> list[Tally] | None:
    """Return the tallies of variables that share their rows, each with a width [m] and an area [m2].

    None where there are too few rows to be worth compiling for, or where the kernel does not take them.
    """
    if width_m.size <= FEW_ROWS:
        return None
    from wetrun.fieldlog.kernels import binned_areas

    entries = binned_areas(variables, width_m, area_m2)
    return None if entries is None else [tally_from(*entry) for entry in entries]


def entries_of(
    values: FloatArray, width_m: Annotated[FloatArray, METRE], area_m2: Annotated[FloatArray, SQUARE_METRE]
) -> Entries:
    """Return the entries of values with a width [m] and an area [m2] each, by NumPy.

    Entries are columns, one place per bin that holds something: width in whole centimetres, least and greatest value,
    and area in whole square centimetres.
    """
    bits = (np.ascontiguousarray(values, dtype=np.float64) + 0.0).view(np.int64)
    return collapsed(whole_cm(width_m), *end_values(bits, bits), whole_cm2(area_m2))


def end_values(low: IntArray, high: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return the bits of least and greatest values as numbers, rounded outward to what a bin keeps of them."""
    slack = (1 << END_SHIFT) - 1
    return (low & ~slack).view(np.float64), (high | slack).view(np.float64)


def collapsed(
    width_cm: IntArray,
    least: FloatArray,
    greatest: FloatArray,
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE],
) -> Entries:
    """Return entries of equal width and bin joined, areas [cm2] added, sorted by width, then bin."""
    if not width_cm.size:
        return width_cm, least, greatest, area_cm2
    bins = least.view(np.int64) >> BIN_SHIFT
    order = np.lexsort((bins, width_cm))
    width_cm, bins = width_cm[order], bins[order]
    fresh = np.concatenate([[True], (np.diff(width_cm) != 0) | (np.diff(bins) != 0)])
    starts = np.flatnonzero(fresh)
    return (
        width_cm[starts],
        np.minimum.reduceat(least[order], starts),
        np.maximum.reduceat(greatest[order], starts),
        np.add.reduceat(area_cm2[order], starts),
    )


def merged_tallies(tallies: Sequence[Tally]) -> Tally:
    """Return one tally of several: the same bits whatever their order."""
    if not tallies:
        none = np.empty(0)
        return tally_of(none, none, none)
    joined = [np.concatenate(parts) for parts in zip(*map(stored_entries, tallies), strict=True)]
    return tally_from(*collapsed(*joined))


def stored_entries(tally: Tally) -> Entries:
    """Return the entries a tally holds, as `entries_of` gives them."""
    return whole_cm(tally.levels_m)[tally.level], tally.least, tally.greatest, tally.area_cm2


def tally_from(
    width_cm: IntArray,
    least: FloatArray,
    greatest: FloatArray,
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE],
) -> Tally:
    """Return the tally of sorted entries with their areas [cm2]."""
    levels_cm, level = np.unique(width_cm, return_inverse=True)
    return Tally(levels_cm / CM_PER_M, level.astype(np.int64), least, greatest, area_cm2)
