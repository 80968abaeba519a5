"""Places in the compiled ledger's tables: which bins of each variable and which active widths get a cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.tally import BIN_SHIFT
from wetrun.fieldlog.trace import FloatArray, IntArray, whole_cm
from wetrun.units import METRE

MOST_CELLS: Final = 1 << 23
WIDEST_CM: Final = 1 << 14
SAMPLE_STRETCHES: Final = 1024
SAMPLE_STRETCH_ROWS: Final = 64
NO_LEVEL: Final = -1

Rows = IntArray | slice


@dataclass(frozen=True, slots=True)
class Places:
    """Where the bins of each variable stand in one thread's table.

    ``level`` [cm] numbers the widths, `NO_LEVEL` for one without a place; ``base`` is the first cell of a variable,
    ``before`` the bin in front of its first one, ``columns`` its cells per width level. Column 0 holds bin 0 (an
    exact zero, or next to it). The last of all ``cells`` takes the rows that have no place.
    """

    levels_cm: IntArray
    level: IntArray
    base: IntArray
    before: IntArray
    columns: IntArray
    cells: int


def sampled_rows(rows: int) -> Rows:
    """Return short stretches of rows all over the log, so that no rhythm of the rows can hide what is in them."""
    if rows <= SAMPLE_STRETCHES * SAMPLE_STRETCH_ROWS:
        return slice(None)
    starts = np.arange(SAMPLE_STRETCHES) * (rows // SAMPLE_STRETCHES)
    return (starts[:, np.newaxis] + np.arange(SAMPLE_STRETCH_ROWS)).ravel()


def places_of(variables: tuple[FloatArray, ...], width_m: Annotated[FloatArray, METRE], sample: Rows) -> Places | None:
    """Return places for all that occurs in a sample of rows, with a width [m] each; None if there would be too many."""
    width_cm = whole_cm(width_m[sample])
    levels_cm = np.flatnonzero(np.bincount(width_cm[width_cm < WIDEST_CM], minlength=1)[1:]) + 1
    spans = np.array([_span(values[sample]) for values in variables])
    columns = spans[:, 1] - spans[:, 0] + 2
    cells = columns * levels_cm.size
    if cells.sum() > MOST_CELLS:
        return None
    level = np.full(WIDEST_CM, NO_LEVEL, dtype=np.int64)
    level[levels_cm] = np.arange(levels_cm.size)
    return Places(levels_cm, level, np.cumsum(cells) - cells, spans[:, 0] - 1, columns, int(cells.sum()) + 1)


def _span(values: FloatArray) -> tuple[int, int]:
    """Return the first and last bin beyond bin 0 that values fall into; (1, 0) if none does."""
    bins = values[np.isfinite(values) & (values > 0)].view(np.int64) >> BIN_SHIFT
    bins = bins[bins > 0]
    return (int(bins.min()), int(bins.max())) if bins.size else (1, 0)
