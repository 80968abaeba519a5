"""Decoding binary time logs: against a plain loop in the same run, from a cold start, and in how much memory."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from bench.made_time_log import driven, header_text, log_bytes, plainly_decoded

from wetrun.fieldlog.readers.timelog_decoder import LONG_LOG_BYTES
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_records import records_in

ROOT = Path(__file__).parents[1]
MIB = 1 << 20
SIZES = (MIB, 16 * MIB, 128 * MIB)
TURNS = 9
LEAST_RATIO = 20
LEAST_RATE = 2e6
LONG_GB = 2
MOST_PEAK_MIB = 1000

START = """
import sys, time
from bench.made_time_log import driven, header_text, log_bytes
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_records import records_in
header = header_in(header_text("ABD", ['A="0002" C="DET-1"'] * 3).encode(), file="made")
few = log_bytes(driven(10_000), "ABD")
log = few * (int(sys.argv[1]) // len(few) + 1)
start = time.perf_counter()
records_in(log, header, file="made")
print(time.perf_counter() - start)
"""
LONG = """
import resource, sys
from bench.made_time_log import Repeated, driven, header_text, log_bytes
from wetrun.fieldlog.readers.timelog_columns import positions_of, speeds_of
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_pieces import tables_in
header = header_in(header_text("ABD", ['A="018D" C="DET-1"', *(['A="0002" C="DET-1"'] * 25)]).encode(), file="made")
few = log_bytes(driven(10_000, values=26), "ABD")
times = int(float(sys.argv[1]) * 1e9 / len(few))
for table in tables_in(lambda: Repeated(few, times), header, file="made"):
    positions_of(table), speeds_of(table)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10)
"""


def time_log_figures() -> list[tuple[str, str, str]]:
    """Return the rows: a cold start, sparse and full logs of several sizes, and the memory a long one takes."""
    with tempfile.TemporaryDirectory() as kept:
        first_s, later_s = (float(_run(START, str(LONG_LOG_BYTES), kept=kept)) for _ in range(2))
    peak_mib = int(_run(LONG, str(LONG_GB)))
    kinds = ((3, 10), (3, 1), (9, 1), (26, 1))
    from wetrun.fieldlog.readers import timelog_kernels

    del timelog_kernels  # loaded, so that it serves the small logs too
    return [
        (f"time log of {LONG_LOG_BYTES // MIB} MiB, first run after an install", f"{first_s:.2f} s", ""),
        ("  same, from the second run on", f"{later_s:.2f} s", ""),
        *(row for values, every in kinds for size in SIZES for row in _figures(values, every, size)),
        (
            f"peak memory, {LONG_GB} GB log with 26 values, read in pieces",
            f"{peak_mib} MiB (target under {MOST_PEAK_MIB})",
            _verdict(good=peak_mib < MOST_PEAK_MIB),
        ),
    ]


def _run(code: str, argument: str, kept: str = "") -> str:
    """Return what a fresh process prints; ``kept`` is where it keeps compiled loops, if not where it always does."""
    environment = {**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"}
    if kept:
        environment["NUMBA_CACHE_DIR"] = kept
    command = [sys.executable, "-c", code, argument]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout


def _figures(values: int, every: int, size: int) -> list[tuple[str, str, str]]:
    few = _mebibyte(values, every)
    many = few * (size // MIB)
    header = header_in(header_text("ABD", ['A="0002" B="" C="DET-1"'] * values).encode(), file="made")
    quick, plain, records = [], [], 0
    for _ in range(TURNS):  # taking turns, so that whatever else the machine does falls on both
        quick.append(_seconds(lambda: records_in(many, header, file="made")))
        plain.append(_seconds(lambda: plainly_decoded(few, "ABD")))
        records = len(plainly_decoded(few, "ABD")[0])
    rate, plain_rate = records * (size // MIB) / min(quick), records / min(plain)
    what = f"time log, {size // MIB} MiB, {values} values on 1 of {every} records"
    return [
        (f"{what}: decoding", f"{rate / 1e6:.1f} million/s (target 2)", _verdict(good=rate >= LEAST_RATE)),
        (
            "  same / plain loop",
            f"{rate / plain_rate:.3g} (target {LEAST_RATIO} or more)",
            _verdict(good=rate / plain_rate >= LEAST_RATIO),
        ),
    ]


def _mebibyte(values: int, every: int) -> bytes:
    """Return about a mebibyte of records, whole ones."""
    fixed, value = 16, 5
    count = int(MIB / (fixed + value * values / every))
    made, bare = driven(count, values=values), driven(count, values=0)
    mixed = [full if nth % every == 0 else empty for nth, (full, empty) in enumerate(zip(made, bare, strict=True))]
    return log_bytes(mixed, "ABD")


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _verdict(*, good: bool) -> str:
    return "meets" if good else "misses"
