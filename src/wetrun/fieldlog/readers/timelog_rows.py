"""From a time log's records to the rows that cleaning takes, and what the reader put right or leaves open."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.held_values import MEASURED_HOLD_S
from wetrun.fieldlog.readers.record_facts import Positions, RecordFacts, repairs_and_doubts
from wetrun.fieldlog.readers.timelog_boom import Boom
from wetrun.fieldlog.readers.timelog_columns import (
    NO_STATUS,
    SIMULATED,
    STATE_HOLD_S,
    TimeLogTable,
    positions_of,
    speeds_of,
)
from wetrun.fieldlog.readers.timelog_facts import facts_of
from wetrun.fieldlog.rows import LogSource, RawRows
from wetrun.fieldlog.trace import DO_NOT_PLAN, ColumnUse, Doubt, FloatArray, IntArray, Repair
from wetrun.percent import per_cent

# Our own choices (no source): a receiver tells a new position at least once a second, and a speed that is missing on
# half the records is no speed column.
ONE_POSITION_MS: Final = 1000
LEAST_SPEED_SHARE: Final = 0.5
NOTHING_ON: Final = "no section on at any time"
HOLDS: Final = f"values are held until written again: states {STATE_HOLD_S:g} s at most, others {MEASURED_HOLD_S:g} s"


def findings_of(table: TimeLogTable, facts: RecordFacts) -> tuple[tuple[Repair, ...], tuple[Doubt, ...]]:
    """Return what was put right in a time log as written, and what it leaves open."""
    records = table.records
    skipped = f"places out of step; {records.skipped_bytes} bytes belong to no record"
    recounted = "records state a wrong number of values: told from where the next one starts"
    own = (
        Repair("wrong count", records.recounted, 0.0, recounted),
        Repair("out of step", records.resynchronised, 0.0, skipped),
    )
    repairs, doubts = repairs_and_doubts(facts)
    return (*(one for one in own if one.count), *repairs), (*_status_doubts(table), *doubts)


def _status_doubts(table: TimeLogTable) -> Iterator[Doubt]:
    status = table.records.fields.get("status", np.empty(0, dtype=np.uint8))
    count = table.records.count
    simulated, without = int((status == SIMULATED).sum()), int((status == NO_STATUS).sum())
    if simulated:
        share = per_cent(simulated / count, places=1)
        yield Doubt(f"Positions are marked as simulated on {share} of the records", DO_NOT_PLAN)
    if without:
        share = per_cent(without / count, places=1)
        words = f"The receiver told no position status on {share} of the records; the positions are used as they are"
        yield Doubt(words, "Nothing to do")


def rows_of(table: TimeLogTable, boom: Boom, *, file: str, words: str, speed_by: str = "") -> RawRows:
    """Return rows, one per section that is on and instant; records at one position within a second are one instant.

    ``speed_by`` is the source of speed to take, for a piece of a log whose head settled it; empty to choose one here.

    Raises
    ------
    LogRefused
        When no section is ever on, or nothing tells a speed.
    """
    positions = positions_of(table)
    first, last = _instants(table, positions)
    on = np.array([section.on[last] & (section.width_m[last] > 0) for section in boom.sections])
    if not on.any():
        raise LogRefused(file, place="", reason=NOTHING_ON, remedy="Nothing was sprayed in it")
    instant, section = np.nonzero(on.T)
    uses, doubts, speed_mps = _speed(table, positions, last, file=file, speed_by=speed_by)
    none = np.full(instant.size, np.nan)
    rates = {meaning: rate[last][instant] for meaning, rate in boom.rates.items()}
    known = positions is not None and bool(positions.known.any())
    return RawRows(
        time_s=(table.time_ms[first] - table.start_ms)[instant] / 1000,
        section=section.astype(np.int64),
        section_names=tuple(one.name for one in boom.sections) if boom.sections[0].name else (),
        distance_m=none,
        width_m=np.array([one.width_m[last] for one in boom.sections])[section, instant],
        target_m3pm2=rates.get("target_rate", none),
        applied_m3pm2=rates.get("applied_rate", none),
        heading_rad=none,
        shown_speed_mps=speed_mps[instant],
        east_m=positions.east_m[first][instant] if positions and known else none,
        north_m=positions.north_m[first][instant] if positions and known else none,
        full_width_m=None,
        origin=positions.origin if positions else None,
        source=_source(table, boom, (uses, doubts), (first.size, int((~on.any(axis=0)).sum())), file=file, words=words),
    )


def _source(
    table: TimeLogTable,
    boom: Boom,
    found: tuple[list[ColumnUse], list[Doubt]],
    instants: tuple[int, int],
    *,
    file: str,
    words: str,
) -> LogSource:
    count, off_count = instants
    repairs, doubts = findings_of(table, facts_of(table))
    joined = Repair("joined", table.records.count - count, 0.0, "records at one position within a second were joined")
    off = Repair("all off", off_count, 0.0, "instants with every section off, or none known to be on, were left out")
    time = ColumnUse("time", "clock of the terminal", "ms", stated=True, evidence=HOLDS)
    return LogSource(
        file=file,
        format=words,
        rows=table.records.count,
        columns=(time, *found[0], *boom.uses),
        raw_columns=(),
        repairs=(*repairs, *(one for one in (joined, off) if one.count)),
        doubts=(*doubts, *boom.doubts, *found[1]),
    )


def _instants(table: TimeLogTable, positions: Positions | None) -> tuple[IntArray, IntArray]:
    """Return the first and the last record of each instant: one position for up to a second, or one clock reading."""
    time_ms = table.time_ms
    moved = np.ones(time_ms.size, dtype=bool)
    if positions:
        east_m, north_m = np.nan_to_num(positions.east_m), np.nan_to_num(positions.north_m)
        moved[1:] = (np.diff(east_m) != 0) | (np.diff(north_m) != 0) | (np.diff(positions.known) != 0)
    run = np.cumsum(moved) - 1
    slot = (time_ms - time_ms[np.flatnonzero(moved)][run]) // ONE_POSITION_MS
    fresh = np.ones(time_ms.size, dtype=bool)
    fresh[1:] = ((np.diff(run) != 0) | (np.diff(slot) != 0)) & (np.diff(time_ms) != 0)
    first = np.flatnonzero(fresh)
    return first, np.append(first[1:], time_ms.size) - 1


def _speed(
    table: TimeLogTable, positions: Positions | None, last: IntArray, *, file: str, speed_by: str
) -> tuple[list[ColumnUse], list[Doubt], FloatArray]:
    for source in speeds_of(table):
        speed_mps = source.speed_mps[last]
        enough = np.isfinite(speed_mps).mean() >= LEAST_SPEED_SHARE
        if source.source == speed_by or (enough and not speed_by):
            return [ColumnUse("speed", source.source, "mm/s", stated=True, evidence=source.words)], [], speed_mps
    if positions is None or positions.known.sum() < 2:
        reason = "no speed and fewer than two positions"
        raise LogRefused(file, place="", reason=reason, remedy="Log the speed or the position")
    return [], [], np.full(last.size, np.nan)
