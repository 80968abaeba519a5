"""Values of a text log that are written only when they change: carried on, within a section and track, for a while.

A column with a few blanks is another thing: there a blank is a value that is missing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.readers.column_table import ParsedColumns
from wetrun.fieldlog.trace import FloatArray, IntArray, Repair
from wetrun.units import SECOND, Frac, S

# Our own choices (no source): after a minute a measured value says nothing any more, and a column is written only on
# change when most of its cells are blank. Time, place and distance are told by each record or not at all.
MEASURED_HOLD_S: Final[S] = 60.0
MOSTLY_BLANK_FRAC: Final[Frac] = 0.5
HELD: Final = ("target_rate", "applied_rate", "width", "speed")
EVIDENCE: Final = f"mostly blank: written only when it changes, and carried on for {MEASURED_HOLD_S:g} s at most"


@dataclass(slots=True)
class LastWritten:
    """Columns that are carried on, and what was last written of each: value and clock [s] by kind of row."""

    meanings: tuple[str, ...]
    of: dict[str, dict[int, tuple[float, S]]] = field(default_factory=dict)

    def carried(
        self, numbers: dict[str, FloatArray], time_s: Annotated[FloatArray, SECOND], kind: IntArray
    ) -> dict[str, FloatArray]:
        """Return columns with their blanks filled, and remember what was last written for the rows to come.

        Parameters
        ----------
        numbers
            Columns by meaning [rows], nan where a cell is blank; the rows come after those given before.
        time_s
            Clock of each row [rows] [s].
        kind
            What each row is of [rows]: values are carried on between rows of one kind only.
        """
        filled = dict(numbers)
        for meaning in self.meanings:
            filled[meaning] = _filled(numbers[meaning], time_s, kind, self.of.setdefault(meaning, {}))
        return filled


def mostly_blank(columns: ParsedColumns) -> tuple[str, ...]:
    """Return the columns, by meaning, that are written only when they change."""
    shares = {meaning: np.isnan(columns.numbers[meaning]).mean() for meaning in HELD if meaning in columns.numbers}
    return tuple(meaning for meaning, blank in shares.items() if MOSTLY_BLANK_FRAC < blank < 1)


def with_values_held(columns: ParsedColumns) -> ParsedColumns:
    """Return the columns of a text log with the values carried on that it writes only when they change."""
    meanings = mostly_blank(columns)
    if not meanings:
        return columns
    kind = columns.track * (max(len(columns.section_names), 1)) + columns.section
    numbers = LastWritten(meanings).carried(columns.numbers, columns.time_s, kind)
    roles = {
        meaning: replace(role, evidence=f"{role.evidence}; {EVIDENCE}") if meaning in meanings else role
        for meaning, role in columns.roles.items()
    }
    repairs = held_repairs(meanings, columns.numbers, numbers)
    return replace(columns, roles=roles, numbers=numbers, repairs=[*columns.repairs, *repairs])


def held_repairs(
    meanings: tuple[str, ...], written: dict[str, FloatArray], filled: dict[str, FloatArray]
) -> tuple[Repair, ...]:
    """Return how many blanks of each column took a value, and how many had none that was written recently."""
    repairs = []
    for meaning in meanings:
        blank, left = (int(np.isnan(values[meaning]).sum()) for values in (written, filled))
        cells = f"blank cells in the {meaning.replace('_', ' ')} column"
        words = f"{cells} took the value last written in their section, at most {MEASURED_HOLD_S:g} s before"
        late = f"{cells} have no value written in the {MEASURED_HOLD_S:g} s before and count as missing"
        repairs += [Repair("carried on", blank - left, 0.0, words), Repair("not carried on", left, 0.0, late)]
    return tuple(one for one in repairs if one.count)


def _filled(values: FloatArray, time_s: FloatArray, kind: IntArray, last: dict[int, tuple[float, S]]) -> FloatArray:
    """Return a column with each blank filled by what was last written in a row of its kind, if that is not long ago."""
    before = np.array(list(last), dtype=np.int64)
    told = np.array(list(last.values()), dtype=np.float64).reshape(-1, 2)
    all_values = np.concatenate([told[:, 0], values])
    all_s, all_kinds = np.concatenate([told[:, 1], time_s]), np.concatenate([before, kind])
    order = np.argsort(all_kinds, kind="stable")
    value, at_s, of = all_values[order], all_s[order], all_kinds[order]
    place = np.where(np.isnan(value), -1, np.arange(value.size))
    source = np.maximum.accumulate(place)
    with np.errstate(over="ignore", invalid="ignore"):  # clock readings beyond all measure hold nothing
        held_s = at_s - at_s[source]
    holds = (source >= 0) & (of[source] == of) & (held_s >= 0) & (held_s <= MEASURED_HOLD_S)
    written = np.flatnonzero(place >= 0)
    newest = written[np.append(of[written][1:] != of[written][:-1], True)] if written.size else written
    last |= {int(of[one]): (float(value[one]), float(at_s[one])) for one in newest}
    result = np.empty_like(value)
    result[order] = np.where(place >= 0, value, np.where(holds, value[source], np.nan))
    return result[before.size :]
