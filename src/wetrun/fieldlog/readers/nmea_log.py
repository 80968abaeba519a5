"""NMEA 0183 logs of satellite receivers: what RMC, GGA, GLL, VTG and ZDA tell, joined by clock reading.

Speed is speed over ground; speed through water is another thing and passed over. A position counts unless the receiver
itself says that it has none. Nothing tells when the boom was on.

References
----------
nmea-0183
"""

from __future__ import annotations

from typing import Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.column_table import NamedColumn
from wetrun.fieldlog.readers.earth import EARTH_RADIUS_M
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.nmea_clock import receiver_clock
from wetrun.fieldlog.readers.nmea_instants import PLACES, SIMULATED, NmeaInstants
from wetrun.fieldlog.readers.nmea_sentences import SENTENCE, Found, sentences_in
from wetrun.fieldlog.readers.receiver_track import ReceiverTrack, logs_of_receiver
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.trace import Doubt, FloatArray, Repair
from wetrun.units import M

FORMAT: Final = "NMEA 0183 receiver log"
FIRST_BYTES: Final = 4096
LEAST_SENTENCES: Final = 2
# Our own choice (no source): two sentences of one clock reading that are this far apart were not measured together.
APART_M: Final[M] = 1.0
FIXES: Final = {
    1: "satellites alone", 2: "corrected", 3: "military", 4: "RTK fixed", 5: "RTK float", 6: "dead reckoning",
    7: "typed by hand", SIMULATED: "simulated",
}  # fmt: skip
NOT_MEASURED: Final = (6, 7, SIMULATED)


def sniff(file: SentFile) -> bool:
    """Return whether a file begins with such sentences, junk between them or not."""
    return len(SENTENCE.findall(file.head(FIRST_BYTES))) >= LEAST_SENTENCES


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return the log of a receiver.

    Raises
    ------
    LogRefused
        When it breaks off, is too long, or no sentence tells a time.
    InputProblems
        When the mapping names columns it does not have.
    """
    found, instants = Found(), NmeaInstants()
    for kind, fields in sentences_in(file, request, found):
        instants.add(kind, fields)
        file.limits.check_held(instants.count, "clock readings", file=file.name)
    if not instants.count:
        raise _no_time(file, found)
    clock = receiver_clock(instants.day_ms, instants.date)
    track = ReceiverTrack(
        file=file.name, format=FORMAT, time_s=clock.time_s, clock=clock.words, columns=_columns(instants),
        part=np.zeros(instants.count, dtype=np.int64),
        repairs=(*found.repairs(), *_repairs(instants), *clock.repairs),
        doubts=(*clock.doubts, *_doubts(instants)),
    )  # fmt: skip
    return logs_of_receiver(track, request)


def _columns(instants: NmeaInstants) -> tuple[NamedColumn, ...]:
    order = _sources(instants)
    east, north = (_first(*(instants.column(f"{kind} {axis}") for kind in order)) for axis in ("lon", "lat"))
    columns = [
        NamedColumn(f"{order[0]} longitude", east, "deg", "longitude"),
        NamedColumn(f"{order[0]} latitude", north, "deg", "latitude"),
    ]
    for name, unit, meaning in (("speed", "kn", "speed"), ("course", "deg", "heading")):
        values = _first(instants.column(f"RMC {name}"), instants.column(f"VTG {name}"))
        if np.isfinite(values).any():
            columns.append(NamedColumn(f"{name} over ground", values, unit, meaning))
    return tuple(columns)


def _sources(instants: NmeaInstants) -> list[str]:
    """Return the sentences that tell places, the one that does so most often first.

    Two sentences of one reading may hold places of different moments: to change from one to the other would make jumps.
    """
    counts = {kind: int(np.isfinite(instants.column(f"{kind} lat")).sum()) for kind in PLACES}
    return sorted(PLACES, key=lambda kind: -counts[kind])


def _first(*columns: FloatArray) -> FloatArray:
    """Return of each instant the first value there is."""
    chosen = columns[0]
    for other in columns[1:]:
        chosen = np.where(np.isnan(chosen), other, chosen)
    return chosen


def _repairs(instants: NmeaInstants) -> tuple[Repair, ...]:
    told = {
        "sentences without a clock reading were left out": instants.untimed,
        "sentences say themselves that the receiver had no fix: their place was left out": instants.void,
    }
    return tuple(Repair("sentence", count, 0.0, words) for words, count in told.items() if count)


def _doubts(instants: NmeaInstants) -> tuple[Doubt, ...]:
    doubts = []
    quality = instants.column("quality")
    for number in NOT_MEASURED:
        count = int((quality == number).sum())
        if count:
            words = f"At {count:,} of {quality.size:,} clock readings the position is {FIXES[number]}, not measured"
            doubts.append(Doubt(words, "Do not judge a machine by these"))
    apart_m = _between(instants)
    if apart_m > APART_M:
        words = f"At one clock reading GGA and RMC tell places {apart_m:.1f} m apart: one of them is written late"
        doubts.append(Doubt(words, f"Nothing to do: positions are taken from {_sources(instants)[0]}"))
    return tuple(doubts)


def _between(instants: NmeaInstants) -> M:
    """Return how far the places of two sentences at one reading usually are from each other [m]."""
    north, other = np.radians(instants.column("GGA lat")), np.radians(instants.column("RMC lat"))
    east = np.radians(instants.column("GGA lon") - instants.column("RMC lon")) * np.cos(north)
    apart_m = np.hypot(north - other, east) * EARTH_RADIUS_M
    return float(np.median(apart_m[np.isfinite(apart_m)])) if np.isfinite(apart_m).any() else 0.0


def _no_time(file: SentFile, found: Found) -> LogRefused:
    sentences = found.used + found.wrong + found.without + found.passed_over.total()
    reason = f"none of its {sentences:,} sentences tells a time (RMC, GGA, GLL or ZDA with a right checksum)"
    remedy = "Log RMC and GGA at the receiver's own rate"
    return LogRefused(file.name, place="", reason=reason, remedy=remedy)
