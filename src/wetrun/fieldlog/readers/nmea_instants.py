"""Sentences of one clock reading joined into one instant: where the receiver was, how fast, and how well it knew."""

from __future__ import annotations

import datetime as dt
import re
from array import array
from functools import lru_cache
from math import isnan
from typing import Final

import numpy as np

from wetrun.fieldlog.readers.log_units import SPEED
from wetrun.fieldlog.readers.nmea_clock import NO_DATE
from wetrun.fieldlog.readers.nmea_sentences import Fields
from wetrun.fieldlog.trace import FloatArray, IntArray

NUMBER: Final = re.compile(rb"-?\d{1,12}(?:\.\d{0,12})?")
CLOCK: Final = re.compile(rb"([01]\d|2[0-3])([0-5]\d)([0-5]\d|60)(\.\d{1,9})?")
EPOCH_DAY: Final = dt.date(1970, 1, 1).toordinal()
FIRST_YEAR: Final = 80  # two digits: 80 to 99 are of the last century
NOWHERE: Final = float("nan")
SIMULATED: Final = 8
QUALITY_OF_MODE: Final = {b"E": 6.0, b"M": 7.0, b"S": 8.0}
PLACES: Final = ("GGA", "RMC", "GLL")
COLUMNS: Final = (
    *(f"{kind} {axis}" for kind in PLACES for axis in ("lon", "lat")), "RMC speed", "VTG speed", "RMC course",
    "VTG course", "quality",
)  # fmt: skip


class NmeaInstants:
    """Instants in file order; columns hold nan where no sentence tells a value.

    Attributes
    ----------
    untimed, void
        Sentences that tell no time, and those that say themselves that their place is not to be used.
    """

    def __init__(self) -> None:
        self.columns = {name: array("d") for name in COLUMNS}
        self.untimed = self.void = 0
        self._day_ms, self._date = array("q"), array("q")

    @property
    def count(self) -> int:
        """Instants so far."""
        return len(self._day_ms)

    @property
    def day_ms(self) -> IntArray:
        """Time of day [instants] [ms]."""
        return np.frombuffer(self._day_ms, dtype=np.int64)

    @property
    def date(self) -> IntArray:
        """Days since 1970, `NO_DATE` where none is told [instants]."""
        return np.frombuffer(self._date, dtype=np.int64)

    def column(self, name: str) -> FloatArray:
        """Return a column by its name [instants]."""
        return np.frombuffer(self.columns[name], dtype=np.float64)

    def add(self, kind: bytes, fields: Fields) -> None:
        """Take a sentence in."""
        fields += [b""] * (13 - len(fields))
        if kind == b"RMC":
            self._add_rmc(fields)
        elif kind == b"GGA":
            self._add_gga(fields)
        elif kind == b"GLL":
            if self._at(fields[4]) and not self._is_void(fields[5], fields[6]):
                self._put_place("GLL", fields[:4])
        elif kind == b"VTG":
            self._add_vtg(fields)
        elif self._at(fields[0]):
            self._put_date(fields[1], fields[2], fields[3])

    def _add_rmc(self, fields: Fields) -> None:
        if not self._at(fields[0]):
            return
        self._put_date(fields[8][:2], fields[8][2:4], fields[8][4:])
        self._put("quality", QUALITY_OF_MODE.get(fields[11], NOWHERE))
        if not self._is_void(fields[1], fields[11]):
            self._put_place("RMC", fields[2:6])
            self._put("RMC speed", _number(fields[6]))
            self._put("RMC course", _number(fields[7]))

    def _add_gga(self, fields: Fields) -> None:
        if not self._at(fields[0]):
            return
        quality = _number(fields[5])
        self.columns["quality"][-1] = quality
        if quality == 0:
            self.void += 1
        else:
            self._put_place("GGA", fields[1:5])

    def _add_vtg(self, fields: Fields) -> None:
        """Take in a speed, which belongs to the clock reading before it: this sentence has none of its own."""
        if not self.count:
            self.untimed += 1
            return
        lettered = fields[1] == b"T"
        if lettered and fields[8] == b"N":
            self.void += 1
            return
        knots, km_per_h = (_number(fields[4 if lettered else 2]), _number(fields[6 if lettered else 3]))
        self._put("VTG speed", km_per_h * SPEED["km/h"] / SPEED["kn"] if isnan(knots) else knots)
        self._put("VTG course", _number(fields[0]))

    def _at(self, clock: bytes) -> bool:
        """Go to the instant of a clock reading, which is the last one or a new one; False if it tells none."""
        found = CLOCK.fullmatch(clock)
        if found is None:
            self.untimed += 1
            return False
        hours, minutes, seconds, parts = found.groups()
        day_ms = (int(hours) * 60 + int(minutes)) * 60_000 + int(seconds) * 1000 + round(float(parts or 0) * 1000)
        if not self.count or self._day_ms[-1] != day_ms:
            self._day_ms.append(day_ms)
            self._date.append(NO_DATE)
            for column in self.columns.values():
                column.append(NOWHERE)
        return True

    def _is_void(self, status: bytes, mode: bytes) -> bool:
        void = status == b"V" or mode == b"N"
        self.void += void
        return void

    def _put(self, name: str, value: float) -> None:
        """Set a value of the instant that no sentence has told before."""
        if isnan(self.columns[name][-1]):
            self.columns[name][-1] = value

    def _put_place(self, kind: str, fields: Fields) -> None:
        north, east = _degrees(fields[0], fields[1], b"NS"), _degrees(fields[2], fields[3], b"EW")
        self._put(f"{kind} lon", east)
        self._put(f"{kind} lat", north)

    def _put_date(self, day: bytes, month: bytes, year: bytes) -> None:
        date = _day_number(day, month, year)
        if date != NO_DATE:
            self._date[-1] = date


def _number(text: bytes) -> float:
    return float(text) if NUMBER.fullmatch(text) else NOWHERE


def _degrees(text: bytes, side: bytes, sides: bytes) -> float:
    """Return degrees from degrees and minutes written as one number, negative on the second of two sides."""
    value = _number(text)
    whole, minutes = divmod(value, 100)
    if len(side) != 1 or side not in sides or not (value >= 0 and minutes < 60):
        return NOWHERE
    degrees = whole + minutes / 60
    return -degrees if sides.index(side) else degrees


@lru_cache(maxsize=64)
def _day_number(day: bytes, month: bytes, year: bytes) -> int:
    if not (day.isdigit() and month.isdigit() and year.isdigit()) or len(year) not in (2, 4):
        return NO_DATE
    full = int(year) if len(year) == 4 else int(year) + (1900 if int(year) >= FIRST_YEAR else 2000)
    try:
        number = dt.date(full, int(month), int(day)).toordinal() - EPOCH_DAY
    except ValueError:
        return NO_DATE
    return max(number, NO_DATE)
