"""Columns of a time log in SI: positions, speeds of every source, and values held until they are written again.

A terminal may write a value only when it changes. It is then carried on to later records, but not for ever: a state
for `STATE_HOLD_S`, a measured value for `MEASURED_HOLD_S`. Both limits are our own choice (no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.readers.data_dictionary import (
    PGN_WRAPPED,
    SPEED,
    SPEED_SIGNALS,
    SPEED_SOURCE,
    SPEED_SOURCES,
    section_states,
    si_of,
)
from wetrun.fieldlog.readers.earth import Drawn, drawn_after, positions_on_earth
from wetrun.fieldlog.readers.held_values import MEASURED_HOLD_S
from wetrun.fieldlog.readers.record_facts import Positions, SpeedSource
from wetrun.fieldlog.readers.timelog_header import LoggedValue, TimeLogHeader
from wetrun.fieldlog.readers.timelog_records import TimeLogRecords, clock_ms
from wetrun.fieldlog.readers.timelog_survey import ValueSurvey, survey_of
from wetrun.fieldlog.readers.timelog_sync import NOT_THERE
from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.units import S

STATE_HOLD_S: Final[S] = 600.0
DEGREE_STEPS: Final = 1e7
# On the tractor's network the topmost words of 16 bits mean "error" or "not available" (from memory).
GREATEST_WORD: Final = 0xFAFF
SIMULATED: Final = 8
FIRST_TAIL: Final = 1 << 12
NO_STATUS: Final = 15


@dataclass(frozen=True, slots=True)
class Held:
    """Each value of the header as it was last written before a piece: raw number, clock [ms since 1980], if at all."""

    raw: IntArray
    at_ms: IntArray
    known: npt.NDArray[np.bool_]

    @classmethod
    def nothing(cls, header: TimeLogHeader) -> Held:
        """Return what is held before a log begins."""
        count = len(header.values)
        return cls(np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64), np.zeros(count, dtype=bool))


class TimeLogTable:
    """Decoded records with their header: columns are made when asked for.

    Parameters
    ----------
    header, records
        As decoded: a whole log, or one piece of it.
    survey
        What the whole log writes; of these records if it is not given.
    held
        Values written before a piece.
    drawn
        Where the positions before a piece left off.
    start_ms
        Clock of the log's first record [ms since 1980]; of these records if it is not given.
    """

    def __init__(
        self,
        header: TimeLogHeader,
        records: TimeLogRecords,
        *,
        survey: ValueSurvey | None = None,
        held: Held | None = None,
        drawn: Drawn | None = None,
        start_ms: int | None = None,
    ) -> None:
        self.header = header
        self.records = records
        self.survey = survey_of(header, [records]) if survey is None else survey
        self.held = Held.nothing(header) if held is None else held
        self.drawn = drawn
        self.time_ms: IntArray = clock_ms(records.fields)
        self.start_ms = int(self.time_ms[0]) if start_ms is None else start_ms
        self._value_ends: IntArray = np.cumsum(records.value_counts, dtype=np.int64)

    def raw(self, index: int, hold_s: S) -> tuple[IntArray, npt.NDArray[np.bool_]]:
        """Return a value [records] carried on for at most ``hold_s`` [s], and where it is known."""
        of_it = np.flatnonzero(self.records.value_index == index)
        record = self._records_of(of_it)
        before = [index] if self.held.known[index] else []
        raw = np.concatenate([self.held.raw[before], self.records.value_raw[of_it]])
        written_ms = np.concatenate([self.held.at_ms[before], self.time_ms[record]])
        if not raw.size:
            return np.zeros(self.records.count, dtype=np.int64), np.zeros(self.records.count, dtype=bool)
        last = np.cumsum(np.bincount(record, minlength=self.records.count)) - 1 + len(before)
        age_ms = self.time_ms - written_ms[last]
        return raw[last], (last >= 0) & (age_ms >= 0) & (age_ms <= hold_s * 1000)

    def value(self, index: int, hold_s: S) -> FloatArray:
        """Return a value of the dictionary in SI [records], held for ``hold_s`` [s], nan where it is not known."""
        raw, known = self.raw(index, hold_s)
        return np.where(known, si_of(self.header.values[index].number, raw.astype(np.float64)), np.nan)

    def states(self, index: int) -> IntArray:
        """Return the states of 16 sections [records, 16], "not there" where nothing is known."""
        raw, known = self.raw(index, STATE_HOLD_S)
        return np.where(known[:, np.newaxis], section_states(raw), 3)

    def indices(self, number: int, elements: frozenset[str] | None = None) -> list[int]:
        """Return where the header lists a number that the log writes, of some elements; the most often written first.

        Over the whole log, so that all its pieces are read alike.
        """
        listed = [
            index
            for index, value in enumerate(self.header.values)
            if value.number == number and (elements is None or value.element in elements)
        ]
        written = self.survey.written
        return sorted((index for index in listed if written[index]), key=lambda index: -written[index])

    def held_after(self) -> Held:
        """Return each value as last written up to the end of these records."""
        last = _last_places(self.records.value_index, len(self.header.values))
        here = last >= 0
        held = Held(self.held.raw.copy(), self.held.at_ms.copy(), here | self.held.known)
        held.raw[here] = self.records.value_raw[last[here]]
        held.at_ms[here] = self.time_ms[self._records_of(last[here])]
        return held

    def _records_of(self, values: IntArray) -> IntArray:
        """Return the record that each of these values belongs to."""
        return np.searchsorted(self._value_ends, values, side="right")


def _last_places(index: npt.NDArray[np.uint8], count: int) -> IntArray:
    """Return where each index stands last, -1 where it does not; from the end on, as far as need be."""
    last = np.full(count, -1, dtype=np.int64)
    end, width = index.size, FIRST_TAIL
    while end and (last < 0).any():
        begin = max(end - width, 0)
        found = np.full(count, -1, dtype=np.int64)
        found[index[begin:end]] = np.arange(begin, end)  # of a place named often the last assignment stays
        last = np.where(last < 0, found, last)
        end, width = begin, 2 * width
    return last


def positions_of(table: TimeLogTable) -> Positions | None:
    """Return positions from the first fix, None where records carry none. Status never rejects one."""
    fixes = _fixes(table)
    return None if fixes is None else positions_on_earth(*fixes, table.drawn)


def drawn_after_table(table: TimeLogTable) -> Drawn | None:
    """Return where the positions of these records leave off, None where no record so far has one."""
    fixes = _fixes(table)
    return None if fixes is None else drawn_after(*fixes, table.drawn)


def _fixes(table: TimeLogTable) -> tuple[FloatArray, FloatArray, npt.NDArray[np.bool_]] | None:
    """Return longitude and latitude [records] [rad], and which of them are positions at all."""
    fields = table.records.fields
    if not {"north", "east"} <= fields.keys():
        return None
    north, east = fields["north"].astype(np.float64), fields["east"].astype(np.float64)
    known = ~((north == 0) & (east == 0)) & ~np.isin(north, NOT_THERE) & ~np.isin(east, NOT_THERE)
    return np.radians(east / DEGREE_STEPS), np.radians(north / DEGREE_STEPS), known


def speeds_of(table: TimeLogTable) -> tuple[SpeedSource, ...]:
    """Return the speed of every source the log carries, each on its own, in the order they are trusted.

    References
    ----------
    iso-11783-11, iso-11783-pgn
    """
    found = {}
    for index in table.indices(SPEED)[:1]:
        value = table.value(index, MEASURED_HOLD_S)
        words = f"actual speed as the log has it, number {SPEED}{_told_source(table)}"
        found["logged"] = SpeedSource("logged", words, np.where(value < 0, np.nan, value))
    for index in table.indices(PGN_WRAPPED):
        signal = SPEED_SIGNALS.get(table.header.values[index].message)
        if signal and _is_speed(table.header.values[index]) and signal.source not in found:
            raw, known = table.raw(index, MEASURED_HOLD_S)
            word = raw & 0xFFFF
            speed_mps = np.where(known & (word <= GREATEST_WORD), word * signal.per_raw, np.nan)
            found[signal.source] = SpeedSource(signal.source, signal.words, speed_mps)
    order = ("logged", "GNSS", "radar", "wheel")
    return tuple(found[source] for source in order if source in found)


def _told_source(table: TimeLogTable) -> str:
    """Return words on what number 400 says the logged speed is from; nothing where it is not written."""
    indices = table.indices(SPEED_SOURCE)
    if not indices:
        return ""
    written = np.unique(table.records.value_raw[table.records.value_index == indices[0]])
    told = [SPEED_SOURCES.get(int(raw), f"source {int(raw)}") for raw in written]
    return f"; number {SPEED_SOURCE} says: {', '.join(told)}" if told else ""


def _is_speed(value: LoggedValue) -> bool:
    """Return whether the bits of a wrapped message are those of its speed; no bits stated stands for all of it."""
    signal = SPEED_SIGNALS[value.message]
    return (value.first_bit, value.last_bit) in ((signal.first_bit, signal.last_bit), (0, 0))
