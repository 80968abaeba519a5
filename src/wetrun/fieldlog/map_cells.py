"""A replay as a map: square cells over the field, each with its rate, its droplets and the time spent on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import NotDefined, OutOfRange
from wetrun.fieldlog.boom_sections import BoomSections, Mask
from wetrun.fieldlog.dynamics import carried_forward
from wetrun.fieldlog.exact_records import ABOVE_RANGE, BELOW_RANGE, NOT_KNOWN, CodeArray, ExactResult
from wetrun.fieldlog.section_rates import MOST_RATIO, SectionChunk, section_chunks
from wetrun.fieldlog.trace import FloatArray, IntArray, Trace
from wetrun.spray.droplet_bands import ClassBand
from wetrun.spray.response import Response
from wetrun.units import METRE, RADIAN, RATIO, SECOND, SQUARE_CENTIMETRE, Cm2, M, S

LEAST_CELL_M: Final[M] = 0.1
LONGEST_FILL_S: Final[S] = 5.0
NO_CLASS: Final = 127
HALF: Final = 1 << 31
# Sums are whole numbers, so that no order changes a bit: thousandths of a cm2 of rate, millionths of a second.
RATIO_PARTS: Final = 1000
MICROSECONDS: Final = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class MapCells:
    """Cells that were sprayed; arrays are [cells], in the order of their rows and columns.

    Attributes
    ----------
    cell_m : float
        Side of a cell [m].
    column, row : ndarray
        Place: the cell's west and south edge are column and row times its side from the first fix.
    rate_ratio : ndarray
        Delivered over wanted, mean by area [ratio]; ground that got nothing counts as 0.
    area_cm2 : ndarray
        Ground covered, ground covered twice counts twice [cm2].
    time_s : ndarray
        Time spent on it, shared among the sections by area [s].
    finest : ndarray
        Finest droplet class that may have been put down, as a `DropletClass` number; `NO_CLASS` where none is known.
    out_of_range : ndarray of bool
        Whether tips were outside their pressure range there.
    left_out_cm2 : int
        Ground whose place is not known [cm2].
    """

    cell_m: M
    column: IntArray
    row: IntArray
    rate_ratio: Annotated[FloatArray, RATIO]
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    time_s: Annotated[FloatArray, SECOND]
    finest: CodeArray
    out_of_range: npt.NDArray[np.bool_]
    left_out_cm2: Cm2


def map_cells(
    result: ExactResult, boom: BoomSections, response: Response, *, bands: tuple[ClassBand, ...], cell_m: M
) -> MapCells:
    """Return the map of a replay.

    Parameters
    ----------
    result
        The replay at the machine's centre.
    boom
        Its sections.
    response
        How long the sections' valves take.
    bands
        The set-up's droplet bands.
    cell_m
        Side of a cell [m].

    Raises
    ------
    OutOfRange
        A cell under 0.1 m.
    NotDefined
        A log without positions.

    Notes
    -----
    What a section covers in one interval goes to the cell of its middle, half a step back. Positions missing for up to
    5 s are filled in along the way; the heading is the log's, else that of the track.
    """
    if not cell_m >= LEAST_CELL_M:
        raise OutOfRange("side of a map cell", cell_m, METRE, low=LEAST_CELL_M, remedy="Take a few metres.")
    trace = result.driven
    east_m, north_m = _filled(trace, trace.east_m), _filled(trace, trace.north_m)
    heading_rad = _headings(trace, east_m, north_m)
    if not np.isfinite(east_m + north_m + heading_rad).any():
        raise NotDefined("a map", reason="the log has no positions", remedy="Export longitude and latitude as well.")
    finest = _finest(result.droplets, bands)
    merged, lost = _Merged.nothing(), 0
    for chunk in section_chunks(result, boom, response):
        rows = chunk.rows
        across_m = boom.middle_m - _reference_m(boom)
        back_m, turned = 0.5 * trace.distance_m[rows, np.newaxis], heading_rad[rows, np.newaxis]
        east = east_m[rows, np.newaxis] + across_m * np.cos(turned) - back_m * np.sin(turned)
        north = north_m[rows, np.newaxis] - across_m * np.sin(turned) - back_m * np.cos(turned)
        used = (chunk.area_cm2 > 0) & np.isfinite(east + north)
        lost += int(chunk.area_cm2[~used].sum())
        merged = merged.with_more(_keys(east[used], north[used], cell_m), *_values(result, chunk, used, finest))
    area_cm2, weighted, time_us = merged.sums.T
    return MapCells(
        cell_m=cell_m,
        column=(merged.keys & (2 * HALF - 1)) - HALF,
        row=merged.keys >> 32,
        rate_ratio=weighted / (area_cm2 * RATIO_PARTS),
        area_cm2=area_cm2,
        time_s=time_us / MICROSECONDS,
        finest=(NO_CLASS - merged.most[:, 0]).astype(np.int8),
        out_of_range=merged.most[:, 1] > 0,
        left_out_cm2=lost,
    )


@dataclass(frozen=True, slots=True)
class _Merged:
    """Cells by rising key: sums [cells, 3] of area, weighted ratio and time, and greatest values [cells, 2]."""

    keys: IntArray
    sums: IntArray
    most: IntArray

    @classmethod
    def nothing(cls) -> _Merged:
        none = np.zeros((0, 3), dtype=np.int64)
        return cls(none[:, 0], none, none[:, :2])

    def with_more(self, keys: IntArray, sums: IntArray, most: IntArray) -> _Merged:
        """Return these cells with more ground put in; whole numbers, so in any order."""
        keys, sums = np.concatenate([self.keys, keys]), np.concatenate([self.sums, sums])
        most = np.concatenate([self.most, most])
        if not keys.size:
            return self
        order = np.argsort(keys, kind="stable")
        starts = np.flatnonzero(np.concatenate([[True], np.diff(keys[order]) != 0]))
        summed, greatest = np.add.reduceat(sums[order], starts), np.maximum.reduceat(most[order], starts)
        return _Merged(keys[order][starts], summed, greatest)


def _values(result: ExactResult, chunk: SectionChunk, used: Mask, finest: IntArray) -> tuple[IntArray, IntArray]:
    """Return what each piece of ground adds to its cell: sums, and values of which the greatest counts."""
    rows, area = chunk.rows, chunk.area_cm2
    wet = area - chunk.dry_cm2
    # A section that stands still in a turn puts down without end; a cell stays a number.
    weighted = np.where(wet > 0, np.minimum(chunk.ratio, MOST_RATIO), 0.0) * wet * RATIO_PARTS
    share = area / np.maximum(area.sum(axis=1, keepdims=True), 1)
    time_us = np.nan_to_num(result.driven.interval_s[rows, np.newaxis]) * share * MICROSECONDS
    droplets = result.droplets[rows]
    outside = np.isin(droplets, (BELOW_RANGE, ABOVE_RANGE))[:, np.newaxis] & (wet > 0)
    class_left = np.where(wet > 0, NO_CLASS - finest[rows, np.newaxis], 0)
    sums = np.stack([area[used], np.rint(weighted[used]), np.rint(time_us[used])], axis=1).astype(np.int64)
    return sums, np.stack([class_left[used], outside[used]], axis=1).astype(np.int64)


def _finest(droplets: CodeArray, bands: tuple[ClassBand, ...]) -> IntArray:
    """Return the finest class that may have been put down at each instant, `NO_CLASS` where none is known."""
    by_code = np.full(len(bands) + 3, NO_CLASS, dtype=np.int64)
    for place, band in enumerate(bands):
        by_code[place] = int(band.finest)
    if bands:
        by_code[ABOVE_RANGE], by_code[BELOW_RANGE] = int(bands[-1].finest), int(bands[0].finest)
    by_code[NOT_KNOWN] = NO_CLASS
    return by_code[droplets.astype(np.int64)]


def _reference_m(boom: BoomSections) -> M:
    """Where on the boom the log's position stands: the middle section, or the machine's centre."""
    return float(boom.middle_m[boom.middle_m.size // 2]) if boom.told_apart else 0.0


def _filled(trace: Trace, place_m: Annotated[FloatArray, METRE]) -> Annotated[FloatArray, METRE]:
    """Return positions with short holes filled along a straight line in time, never across a cut."""
    known = np.flatnonzero(np.isfinite(place_m))
    if not known.size:
        return place_m
    cuts = np.cumsum(np.isnan(trace.interval_s))
    after = np.minimum(np.searchsorted(known, np.arange(place_m.size)), known.size - 1)
    before, after = known[np.maximum(after - 1, 0)], known[after]
    hole_s = trace.time_s[after] - trace.time_s[before]
    same = (cuts[before] == cuts) & (cuts[after] == cuts) & (hole_s > 0) & (hole_s <= LONGEST_FILL_S)
    # Before the first place there is no hole, only no place: a share without an end would stand there.
    share = (trace.time_s - trace.time_s[before]) / np.where(hole_s > 0, hole_s, np.nan)
    between = place_m[before] + share * (place_m[after] - place_m[before])
    return np.where(np.isfinite(place_m), place_m, np.where(same & (share >= 0) & (share <= 1), between, np.nan))


def _headings(trace: Trace, east_m: FloatArray, north_m: FloatArray) -> Annotated[FloatArray, RADIAN]:
    """Return the heading, clockwise from north: the log's, else that of the last step."""
    cut = np.isnan(trace.interval_s)
    east, north = np.diff(east_m, prepend=np.nan), np.diff(north_m, prepend=np.nan)
    along = np.where(cut | ((east == 0) & (north == 0)), np.nan, np.arctan2(east, north))
    return np.where(np.isfinite(trace.heading_rad), trace.heading_rad, carried_forward(along, trace.interval_s))


def _keys(east_m: FloatArray, north_m: FloatArray, cell_m: M) -> IntArray:
    """Return one number per cell: its row, then its column."""
    column, row = (np.floor(place / cell_m).astype(np.int64) for place in (east_m, north_m))
    return (row << 32) | (column + HALF)
