"""What a whole time log writes of each value, gathered before its pieces are read, so that all are read alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.data_dictionary import CONDENSED, STATE_ABSENT, WORKING_WIDTH, section_states
from wetrun.fieldlog.readers.limits import RECORDS, remedy_of
from wetrun.fieldlog.readers.timelog_header import TimeLogHeader
from wetrun.fieldlog.readers.timelog_records import TimeLogRecords
from wetrun.fieldlog.trace import IntArray

ALL_ABSENT = -1  # the raw word of 16 sections that are not there: every bit is set


@dataclass(frozen=True, slots=True)
class ValueSurvey:
    """By index of the header: how often it was written, its greatest raw number, the bits set in every raw number.

    The last two are kept for working widths and section states only; nothing is said of the others.
    """

    records: int
    written: IntArray
    greatest: IntArray
    common_bits: IntArray

    def sections_there(self, index: int) -> npt.NDArray[np.bool_]:
        """Return which of the 16 sections of a word are ever told to be there [16]."""
        there: npt.NDArray[np.bool_] = section_states(self.common_bits[index]) != STATE_ABSENT
        return there


def survey_of(
    header: TimeLogHeader, pieces: Iterable[TimeLogRecords], *, file: str = "", most_records: int | None = None
) -> ValueSurvey:
    """Return what all pieces of a log write.

    Raises
    ------
    LogRefused
        When it has more records than are allowed.
    """
    count, records = len(header.values), 0
    written = np.zeros(count, dtype=np.int64)
    greatest = np.full(count, np.iinfo(np.int64).min)
    common_bits = np.full(count, ALL_ABSENT, dtype=np.int64)
    kept = [nth for nth, value in enumerate(header.values) if value.number in {WORKING_WIDTH, *CONDENSED}]
    for piece in pieces:
        records += piece.count
        check_records(records, most_records, file)
        written += np.bincount(piece.value_index, minlength=count)
        for index in kept:
            raw = piece.value_raw[piece.value_index == index]
            greatest[index] = max(greatest[index], raw.max(initial=np.iinfo(np.int32).min))
            common_bits[index] &= np.bitwise_and.reduce(raw, initial=ALL_ABSENT)
    return ValueSurvey(records, written, greatest, common_bits)


def check_records(records: int, most: int | None, file: str) -> None:
    """Raise `LogRefused` where a log has more records than are allowed; None allows any number."""
    if most is not None and records > most:
        reason = f"it has more than {most:,} records"
        raise LogRefused(file, place="", reason=reason, remedy=remedy_of(RECORDS))
