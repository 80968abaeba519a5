"""Compiled loops over millions of rows, imported only when a log is that long (numba takes a second to load).

They give the same bits as the NumPy code they stand in for: areas are int64, bins come from the bits of the double,
and least and greatest do not depend on order. Each thread fills tables of its own, which are added at the end.

A ledger's rows are read once. Which bins and widths get a place in the tables is settled on a sample; a row that has
none is set aside and tallied by the NumPy code. Should too many be, the places are settled on all rows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

import numba
import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.places import WIDEST_CM, Places, places_of, sampled_rows
from wetrun.fieldlog.tally import BIN_SHIFT, END_SHIFT, Entries, end_values, entries_of
from wetrun.fieldlog.trace import CM2_PER_M2, CM_PER_M, FloatArray, IntArray
from wetrun.units import METRE, SQUARE_CENTIMETRE, SQUARE_METRE, SQUARE_METRE_PER_SECOND

if TYPE_CHECKING:
    from wetrun.fieldlog.replay import SteadySetup

ROWS_PER_TILE: Final = 256  # its rows and what is worked out for them stay in the processor's first cache
ROWS_PER_SET_ASIDE: Final = 256
MINUS_ZERO: Final = np.iinfo(np.int64).min  # its bits; it shares the bin of zero
END_MASK: Final = (1 << (BIN_SHIFT - END_SHIFT)) - 1
NEVER: Final = np.uint32(END_MASK)


def threads() -> int:
    """Return how many threads the kernels share their rows among."""
    return int(numba.get_num_threads())


def binned_areas(
    variables: tuple[FloatArray, ...],
    width_m: Annotated[FloatArray, METRE],
    area_m2: Annotated[FloatArray, SQUARE_METRE],
) -> list[Entries] | None:
    """Return for each variable the entries `wetrun.fieldlog.tally.entries_of` gives, in one pass over the rows.

    Rows have a width [m] and an area [m2]. None where the tables would not fit in memory, or the values are not what
    a ledger takes: finite and not negative.
    """
    variables = tuple(np.ascontiguousarray(values, dtype=np.float64) for values in variables)
    width_m, area_m2 = np.ascontiguousarray(width_m), np.ascontiguousarray(area_m2)
    for sample in (sampled_rows(width_m.size), slice(None)):
        places = places_of(variables, width_m, sample)
        if places is None:
            return None
        cells, aside = _filled(places, variables, width_m, area_m2)
        if aside is not None:
            break
    else:
        return None
    if not all(_sound(values[rows]) for values, rows in zip(variables, aside, strict=True)):
        return None
    return [
        _joined(entries_in(places, number, cells), entries_of(values[rows], width_m[rows], area_m2[rows]))
        for number, (values, rows) in enumerate(zip(variables, aside, strict=True))
    ]


def _sound(values: FloatArray) -> bool:
    return bool((np.isfinite(values) & (values >= 0)).all())


def _filled(
    places: Places, variables: tuple[FloatArray, ...], width_m: FloatArray, area_m2: FloatArray
) -> tuple[IntArray, list[IntArray] | None]:
    """Return the threads' tables, and for each variable the rows set aside, or None if they were too many.

    A cell is its area, and as 32-bit halves the ones' complement of its least end and its greatest end: both grow
    from nothing, so a fresh table is all zeros and costs no memory where no row comes.
    """
    cells = np.zeros((threads(), places.cells, 2), dtype=np.int64)
    most = width_m.size // ROWS_PER_SET_ASIDE // threads() + ROWS_PER_TILE
    aside = np.empty((threads(), len(variables), most), dtype=np.int64)
    shape = np.stack([places.base, places.before, places.columns], axis=1)
    bits = tuple(values.view(np.int64) for values in variables)
    counts = _fill(bits, width_m, area_m2, places.level, shape, cells, cells.view(np.uint32), aside)
    if counts.max() > most:
        return cells, None
    return cells, [
        np.concatenate([part[number, :count] for part, count in zip(aside, counts[:, number], strict=True)])
        for number in range(len(variables))
    ]


def entries_in(places: Places, number: int, cells: IntArray) -> Entries:
    """Return the cells [threads, cells, 2] of one variable that hold something, the threads' tables put together."""
    columns, base = int(places.columns[number]), int(places.base[number])
    part = slice(base, base + columns * places.levels_cm.size)
    ends = cells.view(np.uint32)
    total_cm2 = cells[:, part, 0].sum(axis=0)
    least, greatest = ~ends[:, part, 2].max(axis=0), ends[:, part, 3].max(axis=0)
    seen = np.flatnonzero((least < NEVER) | (greatest > 0))
    column = seen % columns
    bins = np.where(column > 0, column + places.before[number], 0) << BIN_SHIFT
    low = bins | (least[seen].astype(np.int64) << END_SHIFT)
    high = bins | (greatest[seen].astype(np.int64) << END_SHIFT)
    return places.levels_cm[seen // columns].astype(np.int64), *end_values(low, high), total_cm2[seen]


def _joined(entries: Entries, few: Entries) -> Entries:
    """Return sorted entries with a few put in at their places; none of the few shares a bin with the others."""
    if not few[0].size:
        return entries
    keys, wanted = (
        (width_cm << (64 - BIN_SHIFT)) | (least.view(np.int64) >> BIN_SHIFT) for width_cm, least, _, _ in (entries, few)
    )
    places = np.searchsorted(keys, wanted)
    width_cm, least, greatest, area_cm2 = (
        np.insert(many, places, some) for many, some in zip(entries, few, strict=True)
    )
    return width_cm, least, greatest, area_cm2


@numba.njit(parallel=True)
def _fill(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    variables: tuple[IntArray, ...],
    width_m: FloatArray,
    area_m2: FloatArray,
    level: IntArray,
    shape: IntArray,
    areas: IntArray,
    ends: npt.NDArray[np.uint32],
    aside: IntArray,
):
    """Add every row to its cell, or set it aside, and return how many each thread set aside of each variable."""
    parts, rows = areas.shape[0], width_m.size
    counts = np.zeros((parts, len(variables)), dtype=np.int64)
    for part in numba.prange(parts):
        wide = np.empty(ROWS_PER_TILE, dtype=np.int64)
        weight = np.empty(ROWS_PER_TILE, dtype=np.int64)
        cell = np.empty(ROWS_PER_TILE, dtype=np.int64)
        end = np.empty(ROWS_PER_TILE, dtype=np.uint32)
        stop = (part + 1) * rows // parts
        table, bounds = areas[part], ends[part]
        for start in range(part * rows // parts, stop, ROWS_PER_TILE):
            count = min(stop - start, ROWS_PER_TILE)
            _weigh(width_m, area_m2, start, count, level, wide, weight)
            for number in range(len(variables)):
                if _place(variables[number], start, count, wide, shape, number, table.shape[0] - 1, cell, end):
                    for i in range(count):
                        if cell[i] == table.shape[0] - 1:
                            aside[part, number, min(counts[part, number], aside.shape[2] - 1)] = start + i
                            counts[part, number] += 1
                add_to_cells(count, cell, end, weight, table, bounds)
    return counts


@numba.njit
def _weigh(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    width_m: FloatArray,
    area_m2: FloatArray,
    start: int,
    count: int,
    level: IntArray,
    wide: IntArray,
    weight: IntArray,
):
    """Put down the width level and the whole area [cm2] of each row, as `whole_cm` and `whole_cm2` count them."""
    first = np.uint64(start)  # an unsigned index is not asked whether it counts from the end
    for i in range(count):
        width = width_m[first + np.uint64(i)]
        known = width if (width > 0.0) & (width < (WIDEST_CM - 1) / CM_PER_M) else 0.0
        wide[i] = np.int64(np.rint(known * CM_PER_M))
    for i in range(count):  # apart, for the processor does the other loops many rows at once
        wide[i] = level[np.uint64(wide[i])]
    for i in range(count):
        area = area_m2[first + np.uint64(i)]
        known = area if (area > 0.0) & (area < np.inf) else 0.0
        weight[i] = np.int64(np.rint(known * CM2_PER_M2))


@numba.njit
def _place(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    bits: IntArray,
    start: int,
    count: int,
    wide: IntArray,
    shape: IntArray,
    number: int,
    nowhere: int,
    cell: IntArray,
    end: npt.NDArray[np.uint32],
):
    """Put down the cell and the end of each value, and return whether one has no place."""
    first = np.uint64(start)
    base, before, columns = shape[number, 0], shape[number, 1], shape[number, 2]
    homeless = np.int64(0)
    for i in range(count):
        value = bits[first + np.uint64(i)]
        value = value if value != MINUS_ZERO else np.int64(0)
        at = value >> BIN_SHIFT
        column = at - before if at != 0 else np.int64(0)
        out = (wide[i] < 0) | (column < 0) | (column >= columns) | ((column == 0) & (at != 0))
        cell[i] = nowhere if out else base + wide[i] * columns + column
        end[i] = np.uint32((value >> END_SHIFT) & END_MASK)
        homeless |= np.int64(out)
    return homeless != 0


@numba.njit(nogil=True)
def add_to_cells(  # pragma: no cover - compiled
    count: int,
    cell: IntArray,
    end: npt.NDArray[np.uint32],
    weight: IntArray,
    areas: IntArray,
    ends: npt.NDArray[np.uint32],
) -> None:
    """Add weights to cells and widen the ends of those that need it, which soon are few."""
    for i in range(count):
        at = np.uint64(cell[i])
        areas[at, 0] += weight[i]
        other = ~end[i]
        if other > ends[at, 2]:
            ends[at, 2] = other
        if end[i] > ends[at, 3]:
            ends[at, 3] = end[i]


def replayed_areas(
    demand_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND],
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE],
    level: IntArray,
    setup: SteadySetup,
) -> Annotated[IntArray, SQUARE_CENTIMETRE]:
    """Return the areas [cm2] of `replay.replay_areas` from the demand [m2/s]."""
    from wetrun.fieldlog.replay import label_limit

    limits = np.column_stack([setup.held_low_m2ps, setup.held_high_m2ps, setup.floor_m2ps, setup.ceiling_m2ps])
    ratios = (setup.gain_ratio, label_limit(setup))
    parts = _replayed(demand_m2ps, area_cm2, level, np.ascontiguousarray(limits), ratios, threads())
    areas: IntArray = parts[:, :, :4].sum(axis=0)
    return areas


@numba.njit(parallel=True)
def _replayed(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    demand: FloatArray,
    area_cm2: IntArray,
    level: IntArray,
    limits: FloatArray,
    ratios: tuple[float, float],
    parts: int,
):
    # Eight columns, so that the tables of two threads never share a cache line.
    areas = np.zeros((parts, limits.shape[0], 8), dtype=np.int64)
    gain, label = ratios
    for part in numba.prange(parts):
        for row in range(part * demand.size // parts, (part + 1) * demand.size // parts):
            width, asked = level[row], demand[row]
            place = 0 if asked < limits[width, 0] else (2 if asked > limits[width, 1] else 1)
            areas[part, width, place] += area_cm2[row]
            delivered = min(max(gain * asked, limits[width, 2]), limits[width, 3])
            if delivered / asked > label:
                areas[part, width, 3] += area_cm2[row]
    return areas
