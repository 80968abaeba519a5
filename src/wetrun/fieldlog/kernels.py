"""Compiled loops over millions of rows, imported only when a log is that long (numba takes a second to load).

They give the same bits as the NumPy code they stand in for: areas are int64, bins come from the bits of the double,
and least and greatest do not depend on order. Each thread fills tables of its own, which are added at the end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

import numba
import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.tally import BIN_SHIFT, END_SHIFT, Entries, end_values
from wetrun.fieldlog.trace import CM2_PER_M2, CM_PER_M, FloatArray, IntArray
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, METRE, SQUARE_CENTIMETRE, SQUARE_METRE, SQUARE_METRE_PER_SECOND

if TYPE_CHECKING:
    from wetrun.fieldlog.replay import SteadySetup

MOST_CELLS: Final = 1 << 23
WIDEST_CM: Final = 1 << 14
ROWS_PER_TILE: Final = 1024
END_MASK: Final = (1 << (BIN_SHIFT - END_SHIFT)) - 1
NEVER: Final = np.uint32(END_MASK)


@dataclass(frozen=True, slots=True)
class _Plan:
    """Where the bins of each variable stand in one thread's table.

    ``level`` [cm] numbers the widths; ``base`` is the first cell of a variable, ``before`` the bin in front of its
    first one, ``columns`` its cells per width level. Column 0 holds bin 0 (an exact zero, or next to it).
    """

    levels_cm: IntArray
    level: IntArray
    base: IntArray
    before: IntArray
    columns: IntArray


def threads() -> int:
    """Return how many threads the kernels share their rows among."""
    return int(numba.get_num_threads())


def binned_areas(
    variables: tuple[FloatArray, ...],
    width_m: Annotated[FloatArray, METRE],
    area_m2: Annotated[FloatArray, SQUARE_METRE],
) -> list[Entries] | None:
    """Return for each variable the entries `wetrun.fieldlog.tally.entries_of` gives, in one pass over the rows.

    Rows have a width [m] and an area [m2]. None where the tables would not fit in memory, or the rows are not what a
    ledger takes: values finite and not negative, widths over zero and under 163 m.
    """
    variables = tuple(np.ascontiguousarray(values, dtype=np.float64) for values in variables)
    plan = _plan(variables, width_m)
    if plan is None:
        return None
    cells = int((plan.columns * plan.levels_cm.size).sum())
    area_cm2 = np.zeros((threads(), cells, 2), dtype=np.int64)
    ends = area_cm2.view(np.uint32)
    ends[:, :, 2] = NEVER
    shape = np.stack([plan.base, plan.before, plan.columns], axis=1)
    _fill(tuple(v.view(np.int64) for v in variables), width_m, area_m2, plan.level, shape, area_cm2, ends)
    return [_entries(plan, number, area_cm2, ends) for number in range(len(variables))]


def _plan(variables: tuple[FloatArray, ...], width_m: FloatArray) -> _Plan | None:
    spans, widths = _spans(tuple(v.view(np.int64) for v in variables), width_m, threads())
    levels_cm = np.flatnonzero(widths)
    first, last = spans[:, 0] >> BIN_SHIFT, spans[:, 1] >> BIN_SHIFT
    columns = np.maximum(last - first + 1, 0) + 1
    cells = columns * levels_cm.size
    sound = spans[:, 2].min() >= 0 and spans[:, 1].max() < np.float64(np.inf).view(np.int64)
    if not sound or widths[0] or cells.sum() > MOST_CELLS:
        return None
    level = np.zeros(WIDEST_CM, dtype=np.int64)
    level[levels_cm] = np.arange(levels_cm.size)
    return _Plan(levels_cm, level, np.cumsum(cells) - cells, first - 1, columns)


def _entries(plan: _Plan, number: int, area_cm2: IntArray, ends: npt.NDArray[np.uint32]) -> Entries:
    """Return the cells of one variable that hold something, the threads' tables put together."""
    columns, base = int(plan.columns[number]), int(plan.base[number])
    part = slice(base, base + columns * plan.levels_cm.size)
    total_cm2 = area_cm2[:, part, 0].sum(axis=0)
    least, greatest = ends[:, part, 2].min(axis=0), ends[:, part, 3].max(axis=0)
    seen = np.flatnonzero((least < NEVER) | (greatest > 0) | (total_cm2 > 0))
    column = seen % columns
    bins = np.where(column > 0, column + plan.before[number], 0) << BIN_SHIFT
    low = bins | (least[seen].astype(np.int64) << END_SHIFT)
    high = bins | (greatest[seen].astype(np.int64) << END_SHIFT)
    return plan.levels_cm[seen // columns].astype(np.int64), *end_values(low, high), total_cm2[seen]


@numba.njit(parallel=True)
def _spans(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    variables: tuple[IntArray, ...], width_m: FloatArray, parts: int
):
    """Return least and greatest bits beyond bin 0 and least of all by variable, and which widths [cm] occur."""
    found = np.zeros((parts, len(variables), 8), dtype=np.int64)
    widths = np.zeros((parts, WIDEST_CM), dtype=np.uint8)
    rows = width_m.size
    for part in numba.prange(parts):
        start, stop = part * rows // parts, (part + 1) * rows // parts
        for number in range(len(variables)):
            bits = variables[number]
            low, high, least = np.iinfo(np.int64).max, np.int64(0), np.iinfo(np.int64).max
            for row in range(start, stop):
                value = bits[row]
                high = max(high, value)
                least = min(least, value)
                low = min(low, value if value >> BIN_SHIFT > 0 else low)
            found[part, number, 0], found[part, number, 1], found[part, number, 2] = low, high, least
        last = np.float64(-1.0)
        for row in range(start, stop):
            if width_m[row] != last:
                last = width_m[row]
                place = np.int64(np.rint(last * CM_PER_M))
                widths[part, place if 0 < place < WIDEST_CM else 0] = 1
    spans = np.empty((len(variables), 3), dtype=np.int64)
    for number in range(len(variables)):
        spans[number, 0] = found[:, number, 0].min()
        spans[number, 1] = found[:, number, 1].max()
        spans[number, 2] = found[:, number, 2].min()
    return spans, widths.sum(axis=0) > 0


@numba.njit(parallel=True)
def _fill(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    variables: tuple[IntArray, ...],
    width_m: FloatArray,
    area_m2: FloatArray,
    level: IntArray,
    shape: IntArray,
    area_cm2: IntArray,
    ends: npt.NDArray[np.uint32],
):
    """Add every row to its cell. Cells are found a tile at a time, where the processor can do many at once."""
    parts, rows = area_cm2.shape[0], width_m.size
    for part in numba.prange(parts):
        areas, bounds = area_cm2[part], ends[part]
        wide = np.empty(ROWS_PER_TILE, dtype=np.int64)
        weight = np.empty(ROWS_PER_TILE, dtype=np.int64)
        cells = np.empty(ROWS_PER_TILE, dtype=np.int64)
        end = np.empty(ROWS_PER_TILE, dtype=np.uint32)
        stop = (part + 1) * rows // parts
        for start in range(part * rows // parts, stop, ROWS_PER_TILE):
            count = min(ROWS_PER_TILE, stop - start)
            for i in range(count):
                wide[i] = level[np.int64(np.rint(width_m[start + i] * CM_PER_M))]
                weight[i] = np.int64(np.rint(area_m2[start + i] * CM2_PER_M2))
            for number in range(len(variables)):
                bits = variables[number]
                base, before, columns = shape[number, 0], shape[number, 1], shape[number, 2]
                for i in range(count):
                    value = bits[start + i]
                    cells[i] = base + wide[i] * columns + max(0, (value >> BIN_SHIFT) - before)
                    end[i] = np.uint32((value >> END_SHIFT) & END_MASK)
                for i in range(count):
                    cell = np.uint64(cells[i])
                    areas[cell, 0] += weight[i]
                    if end[i] < bounds[cell, 2]:
                        bounds[cell, 2] = end[i]
                    if end[i] > bounds[cell, 3]:
                        bounds[cell, 3] = end[i]


def replayed_areas(
    demand_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND],
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE],
    level: IntArray,
    setup: SteadySetup,
    *,
    wanted_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE],
) -> Annotated[IntArray, SQUARE_CENTIMETRE]:
    """Return the areas [cm2] of `replay.replay_areas` from demand [m2/s] and wanted rate [m3/m2]."""
    from wetrun.fieldlog.replay import label_limit

    limits = np.column_stack([setup.held_low_m2ps, setup.held_high_m2ps, setup.floor_m2ps, setup.ceiling_m2ps])
    wanted = np.ascontiguousarray(wanted_m3pm2, dtype=np.float64)
    parts = _replayed(demand_m2ps, area_cm2, level, np.ascontiguousarray(limits), wanted, label_limit(setup), threads())
    areas: IntArray = parts[:, :, :4].sum(axis=0)
    return areas


@numba.njit(parallel=True)
def _replayed(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    demand: FloatArray,
    area_cm2: IntArray,
    level: IntArray,
    limits: FloatArray,
    wanted: FloatArray,
    label: float,
    parts: int,
):
    # Eight columns, so that the tables of two threads never share a cache line.
    areas = np.zeros((parts, limits.shape[0], 8), dtype=np.int64)
    step = 1 if wanted.size > 1 else 0
    for part in numba.prange(parts):
        for row in range(part * demand.size // parts, (part + 1) * demand.size // parts):
            width, asked = level[row], demand[row]
            place = 0 if asked < limits[width, 0] else (2 if asked > limits[width, 1] else 1)
            areas[part, width, place] += area_cm2[row]
            delivered = min(max(asked, limits[width, 2]), limits[width, 3])
            if delivered / asked * wanted[row * step] > label:
                areas[part, width, 3] += area_cm2[row]
    return areas
