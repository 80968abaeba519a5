"""Units a file does not state, worked out from what else it holds: logged steps against steps between positions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.readers.log_units import LENGTH, SPEED
from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.units import METRE, SECOND, S

LONGEST_STEP_S: Final[S] = 5.0
ROWS_PER_WINDOW: Final = 10
LEAST_WINDOWS: Final = 5
# Positions come in steps of a decimetre or worse, so a ratio further off than this names no unit.
FARTHEST_OFF: Final = 0.12
# Our own choice (no source): a step of a log is no larger number than this, in whatever unit.
MOST_STEP: Final = 1e9


@dataclass(frozen=True, slots=True)
class InferredUnit:
    """A unit with the sentence that says what it was worked out from."""

    unit: str
    evidence: str


@dataclass(frozen=True, slots=True)
class Way:
    """Rows of one section in time order: clock and position."""

    time_s: Annotated[FloatArray, SECOND]
    east_m: Annotated[FloatArray, METRE]
    north_m: Annotated[FloatArray, METRE]
    rows: IntArray


def way_of_one_section(
    time_s: Annotated[FloatArray, SECOND],
    section: IntArray,
    east_m: Annotated[FloatArray, METRE],
    north_m: Annotated[FloatArray, METRE],
) -> Way:
    """Return the rows of the section that has most of them in time order: clock [s] and position [m] of each."""
    rows = np.flatnonzero(section == np.bincount(section).argmax())
    rows = rows[np.argsort(time_s[rows], kind="stable")]
    return Way(time_s[rows], east_m[rows], north_m[rows], rows)


def distance_unit(way: Way, distance: FloatArray) -> InferredUnit | None:
    """Return the unit in which the logged steps agree with positions, None where none does."""
    return _unit(way, distance[way.rows], {unit: LENGTH[unit] for unit in ("m", "ft", "in", "cm")}, "distance")


def speed_unit(way: Way, speed: FloatArray) -> InferredUnit | None:
    """Return the unit in which the logged speeds agree with positions, None where none does."""
    with np.errstate(over="ignore"):  # speeds beyond all measure make no step
        steps = speed[way.rows] * np.diff(way.time_s, prepend=np.nan)
    return _unit(way, steps, SPEED, "speed times interval")


def _unit(way: Way, steps: FloatArray, factors: dict[str, float], words: str) -> InferredUnit | None:
    ratio = _metres_per_logged(way, steps)
    if ratio is None:
        return None
    unit = min(factors, key=lambda name: abs(np.log(ratio / factors[name])))
    if abs(ratio / factors[unit] - 1) > FARTHEST_OFF:
        return None
    evidence = f"positions moved {ratio:.4g} m for each 1 of {words}; 1 {unit} is {factors[unit]:.4g} m"
    return InferredUnit(unit, evidence)


def _metres_per_logged(way: Way, steps: FloatArray) -> float | None:
    """Return metres between positions for one unit of the logged steps: the median over windows of rows."""
    interval_s = np.diff(way.time_s, prepend=np.nan)
    step_m = np.hypot(np.diff(way.east_m, prepend=np.nan), np.diff(way.north_m, prepend=np.nan))
    known = (
        np.isfinite(step_m) & (interval_s > 0) & (interval_s <= LONGEST_STEP_S) & (steps >= 0) & (steps <= MOST_STEP)
    )
    whole = known.sum() // ROWS_PER_WINDOW * ROWS_PER_WINDOW
    moved_m = step_m[known][:whole].reshape(-1, ROWS_PER_WINDOW).sum(axis=1)
    logged = steps[known][:whole].reshape(-1, ROWS_PER_WINDOW).sum(axis=1)
    useful = (logged > 0) & (moved_m > 0)
    if useful.sum() < LEAST_WINDOWS:
        return None
    return float(np.median(moved_m[useful] / logged[useful]))
