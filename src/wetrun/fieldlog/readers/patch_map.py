"""As-applied maps: patches of ground with what was put on them. They tell where and how much, never how fast.

The middle of a patch is a place on the ground, not where the machine was at a time: patches are cut, merged and drawn
again by the program that made the map. So no speed is taken from them, and no map becomes a trace.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.inspect import PERCENTILES, RatePercentiles
from wetrun.fieldlog.readers.column_table import ColumnTable, ParsedColumns, parsed
from wetrun.fieldlog.readers.csv_units import FIELD_OF, RATES, SiColumns, place_uses, positions_in, si_columns
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.fieldlog.readers.patches import Patches
from wetrun.fieldlog.readers.record_facts import Positions, RecordFacts, Track, facts_of_track
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.trace import ColumnUse, Doubt, FloatArray, Repair
from wetrun.units import CUBIC_METRE, SQUARE_METRE

KIND: Final = "as-applied map of patches"
NO_SPEED: Final = "it is a map of patches, not a track: no speed can be had from it safely"
LATEST_S: Final = 1e13


def map_of_table(table: ColumnTable, area_m2: Annotated[FloatArray, SQUARE_METRE], request: ReadRequest) -> FoundLogs:
    """Return the map that a table of patches is; ``area_m2`` is the area of each [rows] [m2].

    Raises
    ------
    InputProblems
        When the mapping names columns the table does not have.
    """
    columns = parsed(table, request.mapping)
    rates = {meaning: role for meaning, role in columns.roles.items() if meaning in RATES}
    found = si_columns(rates, columns.numbers, (columns.time_s, columns.section), file=table.file, mapping=None)
    positions, nowhere = positions_in(columns.roles, columns.numbers)
    log = FoundLog(
        name=table.file,
        kind=KIND,
        facts=_facts(columns, positions),
        columns=(*place_uses(columns.roles), *_time_use(columns), *found.uses),
        raw_columns=found.raw,
        repairs=(*columns.repairs, *_repairs(columns, area_m2, nowhere)),
        doubts=(_no_speed(), *columns.doubts, *found.doubts),
        lacks=LogRefused(table.file, place="", reason=NO_SPEED, remedy="Send the log the terminal wrote, as points"),
        patches=_patches(found, positions, area_m2),
    )
    return FoundLogs(table.file, table.format, (log,))


def _facts(columns: ParsedColumns, positions: Positions | None) -> RecordFacts:
    """Return counts and times of the patches, without anything that would come from one patch to the next."""
    timed = np.isfinite(columns.time_s) & (np.abs(columns.time_s) < LATEST_S)
    time_ms = np.where(timed, np.rint(np.where(timed, columns.time_s, 0.0) * 1000), 0).astype(np.int64)
    facts = facts_of_track(Track(time_ms, timed, None))
    placed = int(positions.known.sum()) if positions else 0
    return replace(facts, no_fix=columns.rows - placed)


def _patches(found: SiColumns, positions: Positions | None, area_m2: FloatArray) -> Patches:
    sound = np.isfinite(area_m2) & (area_m2 > 0)
    reach = [0.0, 0.0]
    if positions is not None and positions.known.any():
        reach = [float(np.ptp(axis[positions.known])) for axis in (positions.east_m, positions.north_m)]
    applied = found.columns[FIELD_OF["applied_rate"]]
    put_down_m3: Annotated[FloatArray, CUBIC_METRE] = applied * area_m2
    return Patches(
        count=area_m2.size,
        without_area=int((~sound).sum()),
        area_m2=float(area_m2[sound].sum()),
        east_m=reach[0],
        north_m=reach[1],
        rates=tuple(_rates(found)),
        put_down_m3=float(np.nansum(put_down_m3)) if np.isfinite(applied).any() else None,
    )


def _rates(found: SiColumns) -> list[RatePercentiles]:
    columns = {meaning: found.columns[FIELD_OF[meaning]] for meaning in RATES}
    known = {meaning: values[np.isfinite(values)] for meaning, values in columns.items()}
    return [
        RatePercentiles(meaning, values.size, np.percentile(values, PERCENTILES))
        for meaning, values in known.items()
        if values.size
    ]


def _time_use(columns: ParsedColumns) -> list[ColumnUse]:
    role = columns.roles.get("time")
    if role is None or columns.clock is None:
        return []
    words = role.unit or columns.clock.words
    return [ColumnUse("time", role.column, words, bool(role.unit or role.format), role.evidence)]


def _repairs(columns: ParsedColumns, area_m2: Annotated[FloatArray, SQUARE_METRE], nowhere: int) -> list[Repair]:
    flat = int((~(area_m2 > 0)).sum())
    untimed = int((~np.isfinite(columns.time_s)).sum()) if columns.clock else 0
    repairs = (
        Repair("no area", flat, 0.0, "patches without an area cover nothing"),
        Repair("no position", nowhere, 0.0, "patches at 0/0 or off the globe"),
        Repair("no time", untimed, 0.0, "patches without a readable time"),
    )
    return [one for one in repairs if one.count]


def _no_speed() -> Doubt:
    words = "This is a map of patches: the middle of a patch is a place, not where the machine was at that time"
    return Doubt(words, "No speed is taken from it; send the log the terminal wrote, as points")
