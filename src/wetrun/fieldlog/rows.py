"""What a reader hands to cleaning: the rows of a file as SI columns, in file order, not yet put right."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

import numpy as np

from wetrun.fieldlog.trace import ColumnUse, Doubt, FloatArray, IntArray, Origin, RawColumn, Repair
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, METRE, METRE_PER_SECOND, RADIAN, SECOND, M, S

NoteRepair = Callable[[str, int, str], None]

# Our own choices (no source), each far beyond any machine: a clock past some 30 000 years is no clock, and its
# milliseconds would not fit; no boom is 150 m wide, no record 10 km long, no rate a metre deep.
UNBELIEVABLE: Final = "unbelievable value"
LATEST_S: Final[S] = 1e12
MOST_TOLD: Final = {
    "time_s": LATEST_S,
    "distance_m": 1e4,
    "width_m": 150.0,
    "target_m3pm2": 1.0,
    "applied_m3pm2": 1.0,
    "heading_rad": 1e3,
    "shown_speed_mps": 1e3,
    "east_m": 1e8,
    "north_m": 1e8,
}


@dataclass(frozen=True, slots=True)
class LogSource:
    """The file the rows came from, and what the reader found out and put right on the way."""

    file: str
    format: str
    rows: int
    columns: tuple[ColumnUse, ...]
    raw_columns: tuple[RawColumn, ...]
    repairs: tuple[Repair, ...]
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True, slots=True)
class RawRows:
    """Rows in file order; arrays are all [rows], nan where a cell had no number or the log has no such column.

    ``section`` is the index into ``section_names`` (all 0 and no names where the log does not tell sections apart).
    ``full_width_m`` is stated by the user, None otherwise. Positions are relative to the first fix, whose place on
    Earth is ``origin``.
    """

    time_s: Annotated[FloatArray, SECOND]
    section: IntArray
    section_names: tuple[str, ...]
    distance_m: Annotated[FloatArray, METRE]
    width_m: Annotated[FloatArray, METRE]
    target_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    applied_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    heading_rad: Annotated[FloatArray, RADIAN]
    shown_speed_mps: Annotated[FloatArray, METRE_PER_SECOND]
    east_m: Annotated[FloatArray, METRE]
    north_m: Annotated[FloatArray, METRE]
    full_width_m: M | None
    source: LogSource
    origin: Origin | None = None


def unbelievable_words(column: str) -> str:
    """Return the words of the repair that takes such values out of a column."""
    return f"values in the {column} column that no machine can write count as missing"


def believable(rows: RawRows, note: NoteRepair) -> RawRows:
    """Return the rows with nan for every value that no machine can write, each column's share noted."""
    mended: dict[str, Any] = {}
    for name, most in MOST_TOLD.items():
        column = getattr(rows, name)
        beyond = np.abs(column) > most
        if beyond.any():
            note(UNBELIEVABLE, int(beyond.sum()), unbelievable_words(name.rpartition("_")[0].replace("_", " ")))
            mended[name] = np.where(beyond, np.nan, column)
    return replace(rows, **mended) if mended else rows
