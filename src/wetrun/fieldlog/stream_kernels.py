"""The compiled loop of a ledger in pieces: a trace's own columns in, and what does not count left out on the way.

It gives the same bits as `wetrun.fieldlog.ledger.ledger_of`. Unlike the loops of `wetrun.fieldlog.kernels` it needs
no arrays made from others first, and it holds no lock while it runs, so that threads can decode and tally at once.
"""

from __future__ import annotations

from typing import Final

import numba
import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.kernels import END_MASK, MINUS_ZERO, add_to_cells
from wetrun.fieldlog.places import WIDEST_CM
from wetrun.fieldlog.tally import BIN_SHIFT, END_SHIFT
from wetrun.fieldlog.trace import CM2_PER_M2, CM_PER_M, FloatArray, IntArray

ROWS_PER_TILE: Final = 512
COUNTED, APPLIED_CM2, LEFT_OUT_CM2, SPEEDS_ASIDE, FLOWS_ASIDE = range(5)
COUNTERS: Final = 5
EXPONENT: Final = 0x7FF << 52  # all ones where a double is not a finite number


@numba.njit(nogil=True)
def add_rows(  # pragma: no cover - compiled
    columns: tuple[FloatArray, ...],
    level: IntArray,
    shape: IntArray,
    tables: tuple[IntArray, npt.NDArray[np.uint32]],
    aside: IntArray,
    counters: IntArray,
) -> None:
    """Add rows of speed, applied rate, target rate, width and area to the cells of both variables.

    ``shape`` [2, 3] is base, bin before the first, and columns of each variable. The last two cells take the rows
    without a place, which are set aside by number in ``aside`` [2, rows], and those that do not count.
    """
    speed, applied, target, width, area = columns
    cells, ends = tables
    flow = np.empty(ROWS_PER_TILE)
    wide = np.empty(ROWS_PER_TILE, dtype=np.int64)
    weight = np.empty(ROWS_PER_TILE, dtype=np.int64)
    counts = np.empty(ROWS_PER_TILE, dtype=np.bool_)
    cell = np.empty(ROWS_PER_TILE, dtype=np.int64)
    end = np.empty(ROWS_PER_TILE, dtype=np.uint32)
    for start in range(0, speed.size, ROWS_PER_TILE):
        stop = min(start + ROWS_PER_TILE, speed.size)
        own, rate, swath = speed[start:stop], applied[start:stop], width[start:stop]
        _weigh(own, rate, target[start:stop], swath, area[start:stop], level, flow, wide, weight, counts, counters)
        for number in range(2):
            values = own if number == 0 else flow[: stop - start]
            nowhere = cells.shape[0] - 2
            if _place(values.view(np.int64), wide, counts, shape, number, nowhere, cell, end):
                for i in range(stop - start):
                    if cell[i] == nowhere:
                        aside[number, counters[SPEEDS_ASIDE + number]] = start + i
                        counters[SPEEDS_ASIDE + number] += 1
            add_to_cells(stop - start, cell, end, weight, cells, ends)


@numba.njit(nogil=True)
def _weigh(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    speed: FloatArray,
    applied: FloatArray,
    target: FloatArray,
    width: FloatArray,
    area: FloatArray,
    level: IntArray,
    flow: FloatArray,
    wide: IntArray,
    weight: IntArray,
    counts: npt.NDArray[np.bool_],
    counters: IntArray,
):
    """Put down flow, width level, whole area [cm2] and whether the row counts, as `ledger_of` has them."""
    counted = applied_cm2 = left_out_cm2 = np.int64(0)
    for i in range(speed.size):
        known, own, wanted = abs(applied[i]) < np.inf, applied[i], target[i]
        flow[i] = (own if known else wanted) * speed[i]
        counts[i] = (speed[i] >= 0.0) & (speed[i] < np.inf) & (width[i] > 0.0) & (area[i] > 0.0)
        swath = width[i] if (width[i] > 0.0) & (width[i] < (WIDEST_CM - 1) / CM_PER_M) else 0.0
        wide[i] = np.int64(np.rint(swath * CM_PER_M))
        share = area[i] if (area[i] > 0.0) & (area[i] < np.inf) else 0.0
        weight[i] = np.int64(np.rint(share * CM2_PER_M2))
        counted += np.int64(counts[i])
        applied_cm2 += weight[i] if counts[i] & known else np.int64(0)
        left_out_cm2 += np.int64(0) if counts[i] else weight[i]
    for i in range(speed.size):  # apart, for the processor does the other loop many rows at once
        wide[i] = level[np.uint64(wide[i])]
    counters[COUNTED] += counted
    counters[APPLIED_CM2] += applied_cm2
    counters[LEFT_OUT_CM2] += left_out_cm2


@numba.njit(nogil=True)
def _place(  # type: ignore[no-untyped-def]  # pragma: no cover - compiled  # noqa: ANN202
    bits: IntArray,
    wide: IntArray,
    counts: npt.NDArray[np.bool_],
    shape: IntArray,
    number: int,
    nowhere: int,
    cell: IntArray,
    end: npt.NDArray[np.uint32],
):
    """Put down the cell and the end of each value, and return whether one that counts has no place."""
    base, before, columns = shape[number, 0], shape[number, 1], shape[number, 2]
    homeless = np.int64(0)
    for i in range(bits.size):
        value = bits[i] if bits[i] != MINUS_ZERO else np.int64(0)
        at = value >> BIN_SHIFT
        column = at - before if at != 0 else np.int64(0)
        out = (wide[i] < 0) | (column < 0) | (column >= columns) | ((column == 0) & (at != 0))
        asked = counts[i] & ((value & EXPONENT) != EXPONENT)
        cell[i] = (nowhere if out else base + wide[i] * columns + column) if asked else nowhere + 1
        end[i] = np.uint32((value >> END_SHIFT) & END_MASK)
        homeless |= np.int64(out & asked)
    return homeless != 0
