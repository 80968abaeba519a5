"""A ledger that grows piece by piece: the same bits as that of the whole trace, wherever it was cut.

Which bins and widths get a place in the compiled loop's tables is settled on the first rows. Rows that find no place
are tallied by NumPy; when they become many, the tables are emptied and new places settled on what was seen so far.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.ledger import Ledger
from wetrun.fieldlog.places import Places, places_of
from wetrun.fieldlog.tally import FEW_ROWS, Entries, Tally, collapsed, entries_of, tally_from
from wetrun.fieldlog.trace import FloatArray, IntArray, Trace, countable, whole_cm2
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, METRE, METRE_PER_SECOND, SQUARE_METRE

ROWS_PER_SET_ASIDE: Final = 64
MOST_SETTLED: Final = 12
SAMPLE_STEP: Final = 8
RARE_SHARES: Final = (0.0005, 0.9995)
MOST_ENTRIES: Final = 1 << 18
MOST_LOST: Final = 256
ROWS_AT_ONCE: Final = 1 << 17


@dataclass(frozen=True, slots=True)
class LedgerColumns:
    """What a ledger reads of a trace, in the order the compiled loop takes it; arrays of one length [instants]."""

    speed_mps: Annotated[FloatArray, METRE_PER_SECOND]
    applied_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    target_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    width_m: Annotated[FloatArray, METRE]
    area_m2: Annotated[FloatArray, SQUARE_METRE]

    def arrays(self) -> tuple[FloatArray, ...]:
        """Return the columns."""
        return tuple(getattr(self, part.name) for part in fields(self))

    def at(self, rows: IntArray) -> LedgerColumns:
        """Return the columns of some rows only."""
        return LedgerColumns(*(values[rows] for values in self.arrays()))

    def variables(self) -> tuple[FloatArray, FloatArray]:
        """Return the two variables of a ledger: the speed, and the flow per width with the target standing in."""
        known = np.isfinite(self.applied_m3pm2)
        rate = np.where(known, self.applied_m3pm2, self.target_m3pm2)
        with np.errstate(invalid="ignore", over="ignore"):  # an endless rate while standing: no known flow
            return self.speed_mps, rate * self.speed_mps


NEEDED: Final = tuple(part.name for part in fields(LedgerColumns))


def ledger_columns(trace: Trace) -> LedgerColumns:
    """Return what a ledger reads of a trace."""
    return LedgerColumns(**{name: getattr(trace, name) for name in NEEDED})


class RunningLedger:
    """The ledger of one log so far. Each thread has its own; `joined` makes one of them.

    ``compiled`` uses the compiled loop, which takes some seconds to load and is worth it for millions of instants.
    """

    def __init__(self, *, compiled: bool) -> None:
        self._compiled = compiled
        self._places: Places | None = None
        self._cells: IntArray = np.zeros((0, 2), dtype=np.int64)
        self._shape: IntArray = np.zeros((2, 3), dtype=np.int64)
        self._aside: IntArray = np.empty((2, 0), dtype=np.int64)
        self._lost: tuple[list[LedgerColumns], list[LedgerColumns]] = ([], [])
        self._seen: list[tuple[FloatArray, ...]] = []
        self.entries: tuple[list[Entries], list[Entries]] = ([_NOTHING], [_NOTHING])
        self.counts: IntArray = np.zeros(3, dtype=np.int64)

    def add(self, columns: LedgerColumns) -> None:
        """Add the next instants."""
        if self._compiled and self._places is None:
            self._settle(columns)
        if self._places is None:
            self._add_plainly(columns)
            return
        lost = self._add_compiled(columns, self._places)
        if lost * ROWS_PER_SET_ASIDE > columns.speed_mps.size and len(self._seen) < MOST_SETTLED:
            self.empty()
            self._settle(columns)

    def empty(self) -> None:
        """Take what the tables hold, and what found no place in them, into the entries."""
        if self._places is None:
            return
        for number in range(2):
            self._add_lost(number)
        from wetrun.fieldlog.kernels import entries_in

        for number, entries in enumerate(self.entries):
            entries.append(entries_in(self._places, number, self._cells[np.newaxis]))
        self._places = None

    def _settle(self, columns: LedgerColumns) -> None:
        """Give places to what these rows and those looked at before hold; none where there would be too many."""
        self._seen.append(tuple(values[::SAMPLE_STEP].copy() for values in (*columns.variables(), columns.width_m)))
        speed, flow, width = (np.concatenate(parts) for parts in zip(*self._seen, strict=True))
        self._places = places_of((_bulk(speed), _bulk(flow)), width, slice(None))
        self._compiled = self._places is not None
        if self._places:
            self._cells = np.zeros((self._places.cells + 1, 2), dtype=np.int64)
            self._shape = np.stack([self._places.base, self._places.before, self._places.columns], axis=1)

    def _add_compiled(self, columns: LedgerColumns, places: Places) -> int:
        """Add rows by the compiled loop, and return how many found no place there."""
        from wetrun.fieldlog import stream_kernels as kernels

        if self._aside.shape[1] < columns.speed_mps.size:
            self._aside = np.empty((2, columns.speed_mps.size), dtype=np.int64)
        counters = np.zeros(kernels.COUNTERS, dtype=np.int64)
        tables = (self._cells, self._cells.view(np.uint32))
        kernels.add_rows(columns.arrays(), places.level, self._shape, tables, self._aside, counters)
        self.counts += counters[:3]
        lost = counters[3:]
        for number in range(2):
            if lost[number]:
                self._lost[number].append(columns.at(self._aside[number, : lost[number]]))
                if len(self._lost[number]) > MOST_LOST:
                    self._add_lost(number)
        return int(lost.max())

    def _add_lost(self, number: int) -> None:
        """Tally the rows of one variable that found no place."""
        lost = list(self._lost[number])
        self._lost[number].clear()
        if lost:
            together = LedgerColumns(*map(np.concatenate, zip(*(some.arrays() for some in lost), strict=True)))
            self._add_entries(together, number)

    def _add_plainly(self, columns: LedgerColumns) -> None:
        counted = countable(columns.speed_mps, columns.width_m, columns.area_m2)
        area_cm2 = whole_cm2(columns.area_m2)
        applied = counted & np.isfinite(columns.applied_m3pm2)
        self.counts += (counted.sum(), area_cm2[applied].sum(), area_cm2[~counted].sum())
        known = columns.at(np.flatnonzero(counted))
        self._add_entries(known, 0)
        self._add_entries(known.at(np.flatnonzero(np.isfinite(known.variables()[1]))), 1)

    def _add_entries(self, columns: LedgerColumns, number: int) -> None:
        entries = self.entries[number]
        entries.append(entries_of(columns.variables()[number], columns.width_m, columns.area_m2))
        if sum(entry[0].size for entry in entries) > MOST_ENTRIES:
            entries[:] = [_collapsed(entries)]


def _bulk(values: FloatArray) -> FloatArray:
    """Return values without the few at either end, whose bins would make the tables many times as long."""
    known = values[np.isfinite(values) & (values > 0)]
    if not known.size:
        return known
    low, high = np.quantile(known, RARE_SHARES)
    bulk: FloatArray = known[(known >= low) & (known <= high)]
    return bulk


class PiecedLedger:
    """The ledger of one log that comes as traces: its first instants plainly, the many that follow by the loop."""

    def __init__(self) -> None:
        self._parts: list[RunningLedger] = []
        self._rows = 0
        self._compiled = False

    def add(self, piece: Trace) -> None:
        """Add the next piece, so many instants at a time as stay in the processor's cache."""
        self._rows += piece.time_s.size
        compiled = self._compiled or self._rows > FEW_ROWS or loop_is_ready()
        if not self._parts or compiled is not self._compiled:
            self._parts.append(RunningLedger(compiled=compiled))
            self._compiled = compiled
        columns = ledger_columns(piece).arrays()
        for at in range(0, piece.time_s.size, ROWS_AT_ONCE):
            # The loop knows one kind of array only; what is so already is not copied.
            cut = (np.require(values[at : at + ROWS_AT_ONCE], np.float64, ["C", "W"]) for values in columns)
            self._parts[-1].add(LedgerColumns(*cut))

    def ledger(self) -> Ledger:
        """Return the ledger of all that was added."""
        return joined(self._parts)


def loop_is_ready() -> bool:
    """Return whether this process has compiled the loop already, so that short logs may use it too."""
    kernels = sys.modules.get("wetrun.fieldlog.stream_kernels")
    return kernels is not None and bool(kernels.add_rows.signatures)


def joined(parts: Sequence[RunningLedger]) -> Ledger:
    """Return the ledger of one log whose instants were added to several: the same bits however they were shared."""
    for part in parts:
        part.empty()
    counts = np.sum([part.counts for part in parts], axis=0)
    tallies = [_tally([entry for part in parts for entry in part.entries[number]]) for number in range(2)]
    return Ledger(
        speed=tallies[0],
        flow_per_width=tallies[1],
        flow_applied_cm2=int(counts[1]),
        left_out_cm2=int(counts[2]),
        instants=int(counts[0]),
        logs=1,
    )


def _tally(entries: Sequence[Entries]) -> Tally:
    return tally_from(*_collapsed(entries))


def _collapsed(entries: Sequence[Entries]) -> Entries:
    return collapsed(*(np.concatenate(parts) for parts in zip(*entries, strict=True)))


_NOTHING: Final = entries_of(np.empty(0), np.empty(0), np.empty(0))
