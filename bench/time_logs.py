"""Decoding binary time logs, against a plain loop in the same run; compiling once is not counted."""

from __future__ import annotations

import time
from collections.abc import Callable

from bench.made_time_log import driven, header_text, log_bytes, slowly_decoded

from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_records import records_in

RECORDS = 20_000
COPIES = 100
TURNS = 5
LEAST_RATIO = 20
LEAST_RATE = 2e6


def time_log_figures() -> list[tuple[str, str, str]]:
    """Return the rows of sparse and full time logs: values on every tenth record, and many on every record."""
    return [row for values, every in ((3, 10), (3, 1), (26, 1)) for row in _figures(values, every)]


def _figures(values: int, every: int) -> list[tuple[str, str, str]]:
    made = driven(RECORDS, values=values)
    bare = driven(RECORDS, values=0)
    mixed = [full if nth % every == 0 else empty for nth, (full, empty) in enumerate(zip(made, bare, strict=True))]
    few = log_bytes(mixed, "ABD")
    many = few * COPIES
    header = header_in(header_text("ABD", ['A="0002" B="" C="DET-1"'] * values).encode(), file="made")
    quick, slow = [], []
    for _ in range(TURNS):  # taking turns, so that whatever else the machine does falls on both
        quick.append(_seconds(lambda: records_in(many, header, file="made")))
        slow.append(_seconds(lambda: slowly_decoded(few, "ABD")))
    rate, slow_rate = RECORDS * COPIES / min(quick), RECORDS / min(slow)
    what = f"time log, {values} values on 1 of {every} records"
    return [
        (f"{what}: decoding", f"{rate / 1e6:.2f} million/s (target 2)", _verdict(good=rate >= LEAST_RATE)),
        (
            "  same / plain loop",
            f"{rate / slow_rate:.3g} (target {LEAST_RATIO} or more)",
            _verdict(good=rate / slow_rate >= LEAST_RATIO),
        ),
    ]


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _verdict(*, good: bool) -> str:
    return "meets" if good else "misses"
