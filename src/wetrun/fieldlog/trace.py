"""The trace: a field log as columns in SI, one entry per instant, with everything that was done to it on the way.

An *instant* is one clock reading of the terminal, however many rows (one per boom section) the file spent on it.
Where the instants around a gap, a jump or a new recording are not neighbours, ``interval_s`` and ``speed_mps`` are
nan: nothing is ever driven across a cut. A section without a row at an instant was off.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Annotated, Any, Final

import numpy as np
import numpy.typing as npt

from wetrun.units import (
    CUBIC_METRE_PER_SQUARE_METRE,
    M2,
    METRE,
    METRE_PER_SECOND,
    PER_METRE,
    RADIAN,
    RATIO,
    SECOND,
    SQUARE_CENTIMETRE,
    SQUARE_METRE,
    M,
    Rad,
    S,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
SwingArray = Annotated[npt.NDArray[np.float32], RATIO]

CM2_PER_M2 = 10_000
CM_PER_M = 100


@dataclass(frozen=True, slots=True)
class Repair:
    """One kind of thing put right while reading: how often, over how much area, and what was done."""

    kind: str
    count: int
    area_m2: M2
    words: str


DO_NOT_PLAN: Final = "Do not plan by this log"
"""The remedy of a doubt that no column map and no care can lift."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something the log leaves open, and what the user can do about it."""

    words: str
    remedy: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Instants that no tally counts, the area they cover, and why."""

    why: str
    count: int
    area_m2: M2


@dataclass(frozen=True, slots=True)
class ColumnUse:
    """What one column of the file was taken to mean.

    ``unit`` is as typed in the file or mapping; empty where none is known. ``stated`` is False for a unit that was
    worked out, and ``evidence`` says from what.
    """

    meaning: str
    column: str
    unit: str
    stated: bool
    evidence: str


@dataclass(frozen=True, slots=True)
class RawColumn:
    """Numbers of a column without a unit, shown as they stand in the file (5, 50 and 95 of 100)."""

    meaning: str
    column: str
    p5: float
    p50: float
    p95: float


@dataclass(frozen=True, slots=True)
class SectionFacts:
    """One boom section of the log. ``bit`` is its place in `Trace.sections_on`, ``group`` counts from 0."""

    name: str
    group: int
    bit: int
    rows: int
    width_m: M
    width_varies: bool


@dataclass(frozen=True, slots=True)
class Origin:
    """Where on Earth ``east_m`` and ``north_m`` count from: the place of the first fix.

    ``longitude_rad`` [rad] counts eastward from Greenwich, ``latitude_rad`` [rad] northward from the equator.
    """

    longitude_rad: Rad
    latitude_rad: Rad


@dataclass(frozen=True, slots=True)
class LogFacts:
    """What was found in the file: counts, columns, repairs, doubts, and what is left out."""

    file: str
    format: str
    rows: int
    instants: int
    recordings: int
    section_groups: tuple[tuple[str, ...], ...]
    backward_steps: int
    gaps: int
    gap_total_s: S
    columns: tuple[ColumnUse, ...]
    raw_columns: tuple[RawColumn, ...]
    repairs: tuple[Repair, ...]
    doubts: tuple[Doubt, ...]
    left_out: tuple[LeftOut, ...]


@dataclass(frozen=True, slots=True)
class Trace:
    """A cleaned log, all arrays of one length [instants].

    ``time_s`` counts from the first instant of the earliest recording; ``interval_s`` reaches back to the previous
    instant (nan at a cut); ``distance_m`` is what was travelled in it; ``width_m`` is the active width;
    ``shown_speed_mps`` is a speed column of the file, kept apart from ``speed_mps`` = distance / interval. Rates are
    nan where the log has none or its unit is unknown. ``curvature_radpm`` is positive when turning right, nan where
    unknown. ``sections_on`` is a bit set over `SectionFacts.bit`. ``east_m`` and ``north_m`` are the position of the
    middle section of each group (nan while it is off), from the first fix. Only maps need ``origin``, the place of
    that fix; None where the log has no position or it was taken out. ``swing_ratio`` [instants, bits], in single
    precision, is each section's own distance over the instant's (nan while it is off); None where the log gives all
    sections of an instant one distance. ``told_of_whole`` is True for a piece of a longer log whose ``facts`` and
    ``sections`` tell of all of that log, not of the piece.
    """

    time_s: Annotated[FloatArray, SECOND]
    interval_s: Annotated[FloatArray, SECOND]
    distance_m: Annotated[FloatArray, METRE]
    speed_mps: Annotated[FloatArray, METRE_PER_SECOND]
    shown_speed_mps: Annotated[FloatArray, METRE_PER_SECOND]
    width_m: Annotated[FloatArray, METRE]
    target_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    applied_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    heading_rad: Annotated[FloatArray, RADIAN]
    curvature_radpm: Annotated[FloatArray, PER_METRE]
    area_m2: Annotated[FloatArray, SQUARE_METRE]
    east_m: Annotated[FloatArray, METRE]
    north_m: Annotated[FloatArray, METRE]
    sections_on: IntArray
    full_width_m: M
    sections: tuple[SectionFacts, ...]
    facts: LogFacts
    origin: Origin | None = None
    swing_ratio: SwingArray | None = None
    told_of_whole: bool = False


def whole_cm2(area_m2: Annotated[FloatArray, SQUARE_METRE]) -> Annotated[IntArray, SQUARE_CENTIMETRE]:
    """Return each area [m2] as whole square centimetres [cm2]; what is not a positive number counts as none."""
    known = np.where(np.isfinite(area_m2) & (area_m2 > 0), area_m2, 0.0)
    whole: IntArray = np.rint(known * CM2_PER_M2).astype(np.int64)
    return whole


def whole_cm(width_m: Annotated[FloatArray, METRE]) -> IntArray:
    """Return each width [m] as whole centimetres [cm], the grain in which active widths are told apart."""
    known = np.where(np.isfinite(width_m) & (width_m > 0), width_m, 0.0)
    whole: IntArray = np.rint(known * CM_PER_M).astype(np.int64)
    return whole


def usable(trace: Trace) -> npt.NDArray[np.bool_]:
    """Return which instants have a speed, a width and an area, so that tallies and replays may count them."""
    return countable(trace.speed_mps, trace.width_m, trace.area_m2)


def countable(
    speed_mps: Annotated[FloatArray, METRE_PER_SECOND],
    width_m: Annotated[FloatArray, METRE],
    area_m2: Annotated[FloatArray, SQUARE_METRE],
) -> npt.NDArray[np.bool_]:
    """Return which instants with this speed [m/s], active width [m] and area [m2] may be counted."""
    driven = np.isfinite(speed_mps) & (speed_mps >= 0)
    counted: npt.NDArray[np.bool_] = driven & (width_m > 0) & (area_m2 > 0)
    return counted


def with_columns_of(trace: Trace, chosen: slice) -> Trace:
    """Return a trace with the columns of the chosen instants only, as views; all that is said of it stays."""
    held = {one.name: getattr(trace, one.name) for one in fields(trace)}
    cut: dict[str, Any] = {name: column[chosen] for name, column in held.items() if isinstance(column, np.ndarray)}
    return replace(trace, **cut)
