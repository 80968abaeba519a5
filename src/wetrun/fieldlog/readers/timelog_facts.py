"""The facts of a time log's records as written, in the terms all formats share."""

from __future__ import annotations

import numpy as np

from wetrun.fieldlog.readers.record_facts import RecordFacts, Track, facts_of_track
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable, positions_of, speeds_of


def facts_of(table: TimeLogTable) -> RecordFacts:
    """Return the facts of decoded records."""
    timed = np.ones(table.records.count, dtype=bool)
    track = Track(table.time_ms, timed, positions_of(table), speeds_of(table))
    return facts_of_track(track, values=int(table.records.value_raw.size))
