"""What the columns of a table without a header line seem to be: shown to the user as lines for a mapping file.

Only longitude, latitude and a clock are also used without being confirmed, and only where nothing else fits: they tell
where and how fast, and a wrong one shows at once. A distance is proposed and left alone; a rate is never even proposed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import permutations
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.readers.clock import clock_of, counts_rows
from wetrun.fieldlog.readers.columns import ColumnRole
from wetrun.fieldlog.readers.earth import EARTH_RADIUS_M
from wetrun.fieldlog.readers.inference import Way, distance_unit
from wetrun.fieldlog.readers.log_units import ANGLE, TIME
from wetrun.fieldlog.trace import FloatArray
from wetrun.units import METRE, Mps

# Our own choices (no source): a day's work lies within two degrees, a step within a thousandth of one, and its middle
# speed is that of a machine on land.
WIDEST_DEG: Final = 2.0
LONGEST_STEP_DEG: Final = 1e-3
SLOWEST_MPS: Final[Mps] = 0.2
FASTEST_MPS: Final[Mps] = 20.0
STEADY: Final = 0.8
LEAST_ROWS: Final = 20
CLEARLY_STEADIER: Final = 0.5
THOUSANDTHS: Final = 1000
SAME: Final = 1e-6
MOST_AGAINST_THE_CLOCK: Final = 0.01

Numbers = Mapping[int, FloatArray]

# Our own choice (no source): no clock, place or distance is a larger number, whatever its unit; microseconds since
# 1970 have sixteen digits.
MOST: Final = 1e18


@dataclass(frozen=True, slots=True)
class Proposal:
    """A column's likely meaning; ``used`` where it is read so already."""

    role: ColumnRole
    used: bool

    @property
    def line(self) -> str:
        """The line of a mapping file that says so."""
        unit = f', unit = "{self.role.unit}"' if self.role.unit else ""
        return f'{self.role.meaning} = {{ column = "{self.role.column}"{unit} }}'


def proposals_in(header: tuple[str, ...], numbers: Numbers, known: Mapping[str, ColumnRole]) -> tuple[Proposal, ...]:
    """Return what columns of numbers [rows], by place, seem to mean; ``known`` are those already mapped."""
    believable = {place: np.where(np.abs(values) <= MOST, values, np.nan) for place, values in numbers.items()}
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):  # a number next to nothing agrees with nothing
        return _proposals(header, believable, known)


def _proposals(header: tuple[str, ...], numbers: Numbers, known: Mapping[str, ColumnRole]) -> tuple[Proposal, ...]:
    taken = {role.index for role in known.values()}
    free = {place: values for place, values in numbers.items() if place not in taken and values.size >= LEAST_ROWS}
    found = [] if {"longitude", "latitude"} & known.keys() else _positions(header, free)
    places = {one.role.meaning: one.role.index for one in found}
    places |= {meaning: role.index for meaning, role in known.items() if role.index in numbers}
    if not {"longitude", "latitude"} <= places.keys():
        return tuple(found)
    east_m, north_m = _metres(numbers[places["longitude"]], numbers[places["latitude"]])
    free = {place: values for place, values in free.items() if place not in places.values()}
    if "time" not in known:
        found += (clock := _clock(header, free, (east_m, north_m)))
        free = {place: values for place, values in free.items() if place not in {one.role.index for one in clock}}
    if "distance" not in known:
        found += _distance(header, free, (east_m, north_m))
    return tuple(found)


def _positions(header: tuple[str, ...], free: Numbers) -> list[Proposal]:
    """Return longitude and latitude: two columns of degrees that change smoothly; first come, first taken."""
    smooth = [place for place, values in free.items() if _is_smooth(values)]
    pairs = [(i, j) for i, j in permutations(smooth, 2) if np.nanmax(np.abs(free[j])) <= 90]
    if not pairs:
        return []
    first = min(smooth)
    (east, north), sure = _east_and_north(free, [pair for pair in pairs if first in pair] or pairs)
    evidence = "degrees that change smoothly" + ("" if sure else ", but which is which cannot be told")
    return [
        Proposal(ColumnRole(meaning, header[place], place, "deg", "", evidence, worked_out=True), used=sure)
        for meaning, place in (("longitude", east), ("latitude", north))
    ]


def _is_smooth(values: FloatArray) -> bool:
    finite = values[np.isfinite(values)]
    if finite.size < LEAST_ROWS or np.abs(finite).max() > 180 or np.ptp(finite) > WIDEST_DEG:
        return False
    fine = np.abs(finite * THOUSANDTHS - np.rint(finite * THOUSANDTHS)) > SAME
    slow = np.percentile(np.abs(np.diff(finite)), 95) < LONGEST_STEP_DEG
    return bool(fine.mean() > STEADY and slow and np.unique(finite).size >= LEAST_ROWS)


def _east_and_north(free: Numbers, pairs: list[tuple[int, int]]) -> tuple[tuple[int, int], bool]:
    """Return the likeliest pair and whether it is the only one: by the range, else by a column that is a distance."""
    if len(pairs) == 1:
        return pairs[0], True
    others = [values for place, values in free.items() if all(place not in pair for pair in pairs)]
    spread = {pair: min((_spread(free, pair, other) for other in others), default=np.inf) for pair in pairs}
    best, *rest = sorted(pairs, key=lambda pair: spread[pair])
    sure = np.isfinite(spread[best]) and all(spread[best] < CLEARLY_STEADIER * spread[pair] for pair in rest)
    return (best, True) if sure else (min(pairs), False)


def _spread(free: Numbers, pair: tuple[int, int], other: FloatArray) -> float:
    """Return how unsteady the way between positions is for each 1 of another column, infinite where it is none."""
    east_m, north_m = _metres(free[pair[0]], free[pair[1]])
    step_m = np.hypot(np.diff(east_m, prepend=np.nan), np.diff(north_m, prepend=np.nan))
    known = np.isfinite(step_m) & (other > 0)
    if known.sum() < LEAST_ROWS or np.ptp(other[known]) == 0:
        return float("inf")
    ratio = step_m[known] / other[known]
    middle = float(np.median(ratio))
    return float(np.median(np.abs(ratio / middle - 1))) if middle > 0 else float("inf")


def _metres(
    east_deg: FloatArray, north_deg: FloatArray
) -> tuple[Annotated[FloatArray, METRE], Annotated[FloatArray, METRE]]:
    finite_deg = north_deg[np.isfinite(north_deg)]
    parallel_rad = float(np.median(finite_deg)) * ANGLE["deg"] if finite_deg.size else 0.0
    metres_per_degree = EARTH_RADIUS_M * ANGLE["deg"]
    return east_deg * metres_per_degree * np.cos(parallel_rad), north_deg * metres_per_degree


def _clock(header: tuple[str, ...], free: Numbers, place_m: tuple[FloatArray, FloatArray]) -> list[Proposal]:
    """Return the column that goes on by steady steps, with the one unit in which the machine drives at a fair speed."""
    for place, values in free.items():
        if not _goes_on(values):
            continue
        told = clock_of([repr(float(value)) for value in values[np.isfinite(values)][:200]], unit="", format_="")
        if told is not None:
            unit = _unit_told(told.words)
            return [
                Proposal(ColumnRole("time", header[place], place, unit, "", told.words, worked_out=True), used=True)
            ]
        units = [unit for unit, seconds in TIME.items() if _is_driven(values * seconds, place_m)]
        if counts_rows(values):
            return [
                Proposal(
                    ColumnRole("time", header[place], place, "s", "", "it may only count rows", worked_out=True),
                    used=False,
                )
            ]
        if len(units) == 1:
            evidence = f"goes on by steady steps; in no other unit than {units[0]} would the speed be that of a machine"
            return [
                Proposal(ColumnRole("time", header[place], place, units[0], "", evidence, worked_out=True), used=True)
            ]
    return []


def _unit_told(words: str) -> str:
    unit = words.partition(" ")[0]
    return unit if unit in TIME else ""


def _goes_on(values: FloatArray) -> bool:
    steps = np.diff(values[np.isfinite(values)])
    if steps.size < LEAST_ROWS or not (steps > 0).any():
        return False
    usual = float(np.median(steps))
    steady = np.isclose(steps, usual, rtol=0.1).mean()
    return bool(usual > 0 and (steps < 0).mean() <= MOST_AGAINST_THE_CLOCK and steady >= STEADY)


def _is_driven(time_s: FloatArray, place_m: tuple[FloatArray, FloatArray]) -> bool:
    step_s, step_m = np.diff(time_s), np.hypot(np.diff(place_m[0]), np.diff(place_m[1]))
    driven = (step_s > 0) & (step_m > 0)
    return bool(driven.any() and SLOWEST_MPS < float(np.median(step_m[driven] / step_s[driven])) < FASTEST_MPS)


def _distance(header: tuple[str, ...], free: Numbers, place_m: tuple[FloatArray, FloatArray]) -> list[Proposal]:
    """Return the column whose ratio to the way between positions is steadiest and that of a unit of length."""
    east_m, north_m = place_m
    rows = np.arange(east_m.size)
    step_m = np.hypot(np.diff(east_m, prepend=np.nan), np.diff(north_m, prepend=np.nan))
    found = {}
    for place, values in free.items():
        unit = distance_unit(Way(rows.astype(np.float64), east_m, north_m, rows), values)
        agreement = _correlation(step_m, values)
        if unit is not None and agreement > CLEARLY_STEADIER:
            found[place] = agreement, unit
    if not found:
        return []
    place = max(found, key=lambda one: found[one][0])
    unit = found[place][1]
    return [
        Proposal(
            ColumnRole("distance", header[place], place, unit.unit, "", unit.evidence, worked_out=True), used=False
        )
    ]


def _correlation(step_m: FloatArray, values: FloatArray) -> float:
    known = np.isfinite(step_m) & np.isfinite(values)
    if known.sum() < LEAST_ROWS:
        return 0.0
    far = np.percentile(step_m[known], 99)
    near = known & (step_m <= far)
    if np.ptp(values[near]) == 0 or np.ptp(step_m[near]) == 0:
        return 0.0
    return float(np.nan_to_num(np.corrcoef(step_m[near], values[near])[0, 1]))
