"""Columns of a text log turned into SI: stated units first, inferred ones shown as such, rates never guessed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.columns import ColumnRole
from wetrun.fieldlog.readers.earth import positions_in_metres, positions_on_earth
from wetrun.fieldlog.readers.inference import InferredUnit, Way, distance_unit, speed_unit, way_of_one_section
from wetrun.fieldlog.readers.log_units import ACCEPTED, LENGTH
from wetrun.fieldlog.readers.mapping import ColumnMapping
from wetrun.fieldlog.readers.record_facts import Positions
from wetrun.fieldlog.trace import ColumnUse, Doubt, FloatArray, IntArray, RawColumn, Repair
from wetrun.units import RADIAN, M

RATES: Final = ("target_rate", "applied_rate")
FARTHEST_M: Final[M] = 1e8  # no grid counts further than twice round the Earth
FIELD_OF: Final = {
    "distance": "distance_m",
    "width": "width_m",
    "target_rate": "target_m3pm2",
    "applied_rate": "applied_m3pm2",
    "heading": "heading_rad",
    "speed": "shown_speed_mps",
}


@dataclass(slots=True)
class SiColumns:
    """SI columns under the field names of `wetrun.fieldlog.rows.RawRows`, and how each unit was come by.

    ``lacks`` says why they make no trace: a unit neither read nor worked out, or nothing that tells the width.
    """

    columns: dict[str, FloatArray]
    full_width_m: M | None = None
    positions: Positions | None = None
    uses: list[ColumnUse] = field(default_factory=list)
    raw: tuple[RawColumn, ...] = ()
    doubts: list[Doubt] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)
    lacks: LogRefused | None = None


def si_columns(
    roles: dict[str, ColumnRole],
    numbers: dict[str, FloatArray],
    keys: tuple[FloatArray, IntArray],
    *,
    file: str,
    mapping: ColumnMapping | None,
) -> SiColumns:
    """Return the SI columns of a log from its numbers by meaning; ``keys`` are time [s] and section of each row."""
    time_s, section = keys
    none = np.full(time_s.size, np.nan)
    found = SiColumns(dict.fromkeys([*FIELD_OF.values(), "east_m", "north_m"], none))
    found.full_width_m = mapping.full_width_m if mapping else None
    _add_positions(found, roles, numbers)
    way = way_of_one_section(time_s, section, found.columns["east_m"], found.columns["north_m"])
    _add_steps(found, roles, numbers, way, file=file)
    _add_width(found, roles, numbers, section, file=file)
    if "heading" in roles:
        _add(found, roles["heading"], numbers["heading"], InferredUnit("deg", "headings are usually in degrees"))
    for meaning in RATES:
        if meaning in roles:
            _add_rate(found, roles[meaning], numbers[meaning])
    return found


def _add(found: SiColumns, role: ColumnRole, values: FloatArray, inferred: InferredUnit | None = None) -> str:
    """Put a column in by its stated unit, else the inferred one; return the unit used."""
    unit = role.unit or (inferred.unit if inferred else "")
    evidence = role.evidence if role.unit or not inferred else f"{role.evidence}; {inferred.evidence}"
    found.columns[FIELD_OF[role.meaning]] = values * ACCEPTED[role.meaning][unit]
    found.uses.append(ColumnUse(role.meaning, role.column, unit, role.stated, evidence))
    return unit


def positions_in(roles: Mapping[str, ColumnRole], numbers: Mapping[str, FloatArray]) -> tuple[Positions | None, int]:
    """Return the positions that columns of longitude and latitude, or of a flat grid, hold, and how many are none.

    Those are places at 0/0 or off the globe; of a flat grid nobody knows where its 0/0 is.
    """
    if not {"longitude", "latitude"} <= roles.keys():
        return _grid_positions(roles, numbers), 0
    east, north, known = degrees_in(roles, numbers)
    told = np.isfinite(numbers["longitude"]) & np.isfinite(numbers["latitude"])
    return positions_on_earth(east, north, known), int((told & ~known).sum())


def degrees_in(
    roles: Mapping[str, ColumnRole], numbers: Mapping[str, FloatArray]
) -> tuple[Annotated[FloatArray, RADIAN], Annotated[FloatArray, RADIAN], npt.NDArray[np.bool_]]:
    """Return longitude and latitude [rows] [rad], and which of them are places on the globe other than 0/0."""
    east, north = (
        numbers[meaning] * ACCEPTED[meaning][roles[meaning].unit or "deg"] for meaning in ("longitude", "latitude")
    )
    nowhere = (east == 0) & (north == 0) | (np.abs(north) > np.pi / 2) | (np.abs(east) > 2 * np.pi)
    known = ~nowhere & np.isfinite(east) & np.isfinite(north)
    return np.where(known, east, np.nan), np.where(known, north, np.nan), known


def place_uses(roles: dict[str, ColumnRole]) -> list[ColumnUse]:
    """Return what the columns that hold the places were taken to mean."""
    pair, usual = (("longitude", "latitude"), "deg")
    if not set(pair) <= roles.keys():
        pair, usual = ("east", "north"), "m"
    places = [roles[meaning] for meaning in pair if meaning in roles]
    return [ColumnUse(role.meaning, role.column, role.unit or usual, role.stated, role.evidence) for role in places]


def _grid_positions(roles: Mapping[str, ColumnRole], numbers: Mapping[str, FloatArray]) -> Positions | None:
    if not {"east", "north"} <= roles.keys():
        return None
    east_m, north_m = (numbers[meaning] * LENGTH[roles[meaning].unit or "m"] for meaning in ("east", "north"))
    return positions_in_metres(east_m, north_m, (np.abs(east_m) < FARTHEST_M) & (np.abs(north_m) < FARTHEST_M))


def _add_positions(found: SiColumns, roles: dict[str, ColumnRole], numbers: dict[str, FloatArray]) -> None:
    found.positions, nowhere = positions_in(roles, numbers)
    if found.positions is None:
        return
    found.uses += place_uses(roles)
    if nowhere:
        words = "positions of 0/0 or off the globe were left out"
        found.repairs.append(Repair("no position", nowhere, 0.0, words))
    found.columns |= {"east_m": found.positions.east_m, "north_m": found.positions.north_m}


def _add_steps(
    found: SiColumns, roles: dict[str, ColumnRole], numbers: dict[str, FloatArray], way: Way, *, file: str
) -> None:
    """Put in distance and speed, with a unit worked out from positions where none is stated."""
    if "distance" in roles:
        role = roles["distance"]
        inferred = None if role.unit else distance_unit(way, numbers["distance"])
        if role.unit or inferred:
            _add(found, role, numbers["distance"], inferred)
            _doubt_inferred(found, role, inferred)
        else:
            found.lacks = _no_unit(role, file=file)
            _leave_raw(found, role, numbers["distance"])
    if "speed" in roles:
        role = roles["speed"]
        inferred = None if role.unit else speed_unit(way, numbers["speed"])
        if role.unit or inferred:
            _add(found, role, numbers["speed"], inferred)
            _doubt_inferred(found, role, inferred)
        else:
            _leave_raw(found, role, numbers["speed"])


def _add_width(
    found: SiColumns,
    roles: dict[str, ColumnRole],
    numbers: dict[str, FloatArray],
    section: IntArray,
    *,
    file: str,
) -> None:
    if "width" not in roles:
        _add_equal_sections(found, section, file=file)
        return
    role = roles["width"]
    if role.unit:
        _add(found, role, numbers["width"])
        return
    unit = next((use.unit for use in found.uses if use.meaning == "distance"), "")
    if not unit:
        found.lacks = found.lacks or _no_unit(role, file=file)
        _leave_raw(found, role, numbers["width"])
        return
    inferred = InferredUnit(unit, "taken to be in the unit of the distance column")
    _add(found, role, numbers["width"], inferred)
    _doubt_inferred(found, role, inferred)


def _add_equal_sections(found: SiColumns, section: IntArray, *, file: str) -> None:
    if found.full_width_m is None:
        remedy = 'State the boom in a mapping file: [boom] full_width = { value = 100, unit = "ft" }'
        lacks = LogRefused(file, place="line 1", reason="no column tells the width sprayed", remedy=remedy)
        found.lacks = found.lacks or lacks
        return
    sections = int(section.max()) + 1
    words = f"No column tells widths: {sections} equal sections of the stated boom were taken"
    found.doubts.append(Doubt(words, "Export the width of each section if they differ"))
    found.columns["width_m"] = np.full(section.size, found.full_width_m / sections)


def _add_rate(found: SiColumns, role: ColumnRole, values: FloatArray) -> None:
    if role.unit:
        _add(found, role, values)
    else:
        _leave_raw(found, role, values)


def _leave_raw(found: SiColumns, role: ColumnRole, values: FloatArray) -> None:
    """Show a column whose unit is unknown as it stands, unused."""
    finite = values[np.isfinite(values)]
    p5, p50, p95 = np.percentile(finite, [5, 50, 95]).tolist() if finite.size else [float("nan")] * 3
    found.raw = (*found.raw, RawColumn(role.meaning, role.column, p5, p50, p95))
    found.uses.append(ColumnUse(role.meaning, role.column, "", stated=False, evidence=role.evidence))
    found.doubts.append(Doubt(f"The unit of column {role.column} is not stated; it is not used", _mapping_line(role)))


def _doubt_inferred(found: SiColumns, role: ColumnRole, inferred: InferredUnit | None) -> None:
    if inferred:
        words = f"The unit of column {role.column} is not stated; {inferred.unit} was inferred: {inferred.evidence}"
        found.doubts.append(Doubt(words, _mapping_line(role, inferred.unit)))


def _mapping_line(role: ColumnRole, unit: str = "…") -> str:
    accepted = ", ".join(ACCEPTED[role.meaning])
    line = f'{role.meaning} = {{ column = "{role.column}", unit = "{unit}" }}'
    return f"State it in the mapping: {line} (one of {accepted})"


def _no_unit(role: ColumnRole, *, file: str) -> LogRefused:
    reason = "its unit is not stated and cannot be worked out from positions"
    return LogRefused(file, place=f"column {role.column}", reason=reason, remedy=_mapping_line(role))
