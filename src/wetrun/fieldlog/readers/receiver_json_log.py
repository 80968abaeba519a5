"""Reports of a satellite receiver as JSON lines: one object to a line, of which class TPV tells time, place and speed.

Other classes are counted and passed over. A line that is cut off or is no JSON is counted and left out.
"""

from __future__ import annotations

import json
import re
from array import array
from collections import Counter
from collections.abc import Iterator, MutableSequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.clock import clock_of
from wetrun.fieldlog.readers.column_table import NamedColumn
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.receiver_track import ReceiverTrack, logs_of_receiver
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.trace import Repair

FORMAT: Final = "receiver reports as JSON lines"
FIRST_BYTES: Final = 4096
REPORT: Final = re.compile(rb'^\s*\{[^\n]{0,200}?"class"\s*:\s*"[A-Z]{2,12}"', re.MULTILINE)
KIND: Final = re.compile(r"[A-Z]{2,12}")
USED: Final = "TPV"
NUMBERS: Final = ("lon", "lat", "speed", "track")
LONGEST_LINE: Final = 1 << 16
LEAST_FIX: Final = 2  # mode 2: a fix in the plane, 3: with height
MOST_KINDS: Final = 50
MOST: Final = 1e9


@dataclass(slots=True)
class Reports:
    """The reports read so far: columns of numbers, times as written, and what was passed over."""

    columns: dict[str, MutableSequence[float]] = field(default_factory=lambda: {name: array("d") for name in NUMBERS})
    times: list[str] = field(default_factory=list)
    others: Counter[str] = field(default_factory=Counter)
    unreadable: int = 0
    no_fix: int = 0

    def add(self, report: dict[str, Any]) -> None:
        """Take a report in."""
        mode = report.get("mode")
        fix = not isinstance(mode, int) or mode >= LEAST_FIX
        self.no_fix += not fix
        time = report.get("time")
        self.times.append(time if isinstance(time, str) else "")
        for name, column in self.columns.items():
            column.append(_number(report.get(name)) if fix else float("nan"))

    def repairs(self) -> tuple[Repair, ...]:
        """Return what was left out and passed over, with counts."""
        kinds = ", ".join(f"{kind} {count:,}" for kind, count in sorted(self.others.items()))
        told = {
            f"other reports were passed over: {kinds}": self.others.total(),
            "lines are cut off or no JSON and were left out": self.unreadable,
            "reports say themselves that the receiver had no fix: their place was left out": self.no_fix,
        }
        return tuple(Repair("report", count, 0.0, words) for words, count in told.items() if count)


def sniff(file: SentFile) -> bool:
    """Return whether a file begins with such reports, one to a line."""
    return REPORT.search(file.head(FIRST_BYTES)) is not None


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return the log of a receiver.

    Raises
    ------
    LogRefused
        When it breaks off, is too long, or no report tells time and place.
    InputProblems
        When the mapping names columns it does not have.
    """
    reports = _reports_in(file, request)
    if not reports.times:
        reason = f"none of its lines is a report of time, place and speed (class {USED})"
        raise LogRefused(file.name, place="", reason=reason, remedy="Record the receiver's own reports")
    clock = clock_of([text for text in reports.times if text], unit="", format_="")
    count = len(reports.times)
    track = ReceiverTrack(
        file=file.name, format=FORMAT, time_s=clock.seconds(reports.times) if clock else np.full(count, np.nan),
        clock=clock.words if clock else "", columns=_columns(reports), part=np.zeros(count, dtype=np.int64),
        repairs=reports.repairs(),
    )  # fmt: skip
    return logs_of_receiver(track, request)


def _columns(reports: Reports) -> tuple[NamedColumn, ...]:
    stated = {
        "lon": ("deg", "longitude"),
        "lat": ("deg", "latitude"),
        "speed": ("m/s", "speed"),
        "track": ("deg", "heading"),
    }
    values = {name: np.array(column, dtype=np.float64) for name, column in reports.columns.items()}
    return tuple(
        NamedColumn(name, column, *stated[name])
        for name, column in values.items()
        if name in ("lon", "lat") or np.isfinite(column).any()
    )


def _reports_in(file: SentFile, request: ReadRequest) -> Reports:
    reports = Reports()
    for line in _lines(file, request):
        try:
            report = json.loads(line)
        except (ValueError, RecursionError):
            reports.unreadable += 1
            continue
        kind = report.get("class") if isinstance(report, dict) else None
        if kind == USED:
            reports.add(report)
        elif isinstance(kind, str):
            known = KIND.fullmatch(kind) and len(reports.others) < MOST_KINDS
            reports.others[kind if known else "others"] += 1
        else:
            reports.unreadable += 1
        file.limits.check_held(len(reports.times), "reports", file=file.name)
    return reports


def _lines(file: SentFile, request: ReadRequest) -> Iterator[bytes]:
    """Yield the lines; one longer than any report comes in pieces, none of which is one."""
    with file.open_plain(request.progress) as stream:
        while line := stream.readline(LONGEST_LINE):
            if line.strip():
                yield line


def _number(value: object) -> float:
    """Return a number as it stands, nan for anything else and for what no receiver writes."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return float("nan")
    return float(value) if abs(value) < MOST else float("nan")
