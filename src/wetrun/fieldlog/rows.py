"""What a reader hands to cleaning: the rows of a file as SI columns, in file order, not yet put right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from wetrun.fieldlog.trace import ColumnUse, Doubt, FloatArray, IntArray, Origin, RawColumn, Repair
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, METRE, METRE_PER_SECOND, RADIAN, SECOND, M


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
