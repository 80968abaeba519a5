"""Made working files of any length, and the ledger from them against plain decoding of the same columns."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pyarrow.parquet as pq
from bench.first_reading import first_readings
from bench.made_log import made_log

from wetrun.fieldlog.readers.working_columns import COLUMNS
from wetrun.fieldlog.readers.working_ledger import ledger_of_file
from wetrun.fieldlog.readers.working_writer import TraceWriter
from wetrun.fieldlog.running import NEEDED
from wetrun.fieldlog.trace import LogFacts, Origin, Trace

ROWS = 40_000_000
PIECE = 1_000_000
TURNS = 7
FIRST_TURNS = 3
LEAST_RATIO = 0.6
LEDGER = "ledger"
CHECKED = "pyarrow, checksums held too"
FACTS = LogFacts("made", "made", PIECE, PIECE, 1, (), 0, 0, 0.0, (), (), (), (), ())


def ledger_file_figures(rows: int = ROWS) -> list[tuple[str, str, str]]:
    """Return the rows of the ledger from files of two kinds of log."""
    with tempfile.TemporaryDirectory(prefix="wetrun-bench-") as folder:
        return [row for kind in ("clock steps", "no repeats") for row in _figures(Path(folder), kind, rows)]


def _figures(folder: Path, kind: str, rows: int) -> list[tuple[str, str, str]]:
    path = folder / f"{kind}.parquet"
    write_made(path, rows, repeats=kind == "clock steps")
    took, worked = timed_in_turns(path)
    small = folder / "small.parquet"
    write_made(small, 100_000, repeats=True)
    first = {how: min(took for _, took in each) for how, each in first_readings(path, small, FIRST_TURNS).items()}
    path.unlink()
    ledger, winner = min(took[LEDGER]), min(_others(took), key=lambda name: min(took[name]))
    by_turn = [min(_others(took)[name][turn] for name in _others(took)) / took[LEDGER][turn] for turn in range(TURNS)]
    fastest, least = min(took[winner]), min(min(each) for each in _others(worked).values())
    spread = ", ".join(f"{ratio:.2f}" for ratio in (min(by_turn), np.median(by_turn), max(by_turn)))
    what = f"working file, {rows:,} instants, {kind}"
    return [
        (f"{what}: ledger", f"{ledger:.2f} s, {rows / ledger / 1e6:.0f} million/s", ""),
        (f"  plain decode of its columns, fastest: {winner}", f"{fastest:.2f} s", ""),
        ("  plain decode / ledger", *_judged(fastest / ledger)),
        ("  same, turn by turn: least, middle, greatest", spread, ""),
        ("  same, by processor time", *_judged(least / min(worked[LEDGER]))),
        ("  decode with checksums, as the ledger does / ledger", *_judged(min(took[CHECKED]) / ledger)),
        (
            "  same, first reading of a process",
            *_judged(min(first[how] for how in first if how != LEDGER) / first[LEDGER]),
        ),
    ]


def _others(times: dict[str, list[float]]) -> dict[str, list[float]]:
    return {name: each for name, each in times.items() if name not in (LEDGER, CHECKED)}


def _judged(ratio: float) -> tuple[str, str]:
    return f"{ratio:.3g} (target {LEAST_RATIO:g} or more)", "meets" if ratio >= LEAST_RATIO else "misses"


def timed_in_turns(path: Path) -> tuple[dict[str, list[float]], dict[str, list[float]]]:
    """Return how long the ledger and each general reader took, and their processor time.

    They take turns, so that whatever else the machine does falls on all of them; the first turn only warms up.
    """
    columns = list(NEEDED)
    works: dict[str, Callable[[], object]] = {
        LEDGER: lambda: ledger_of_file(path),
        "pyarrow": lambda: pq.read_table(path, columns=columns),
        "pyarrow, mapped": lambda: pq.read_table(path, columns=columns, memory_map=True),
        "pyarrow, not ahead": lambda: pq.read_table(path, columns=columns, pre_buffer=False),
        CHECKED: lambda: pq.read_table(path, columns=columns, page_checksum_verification=True),
        "polars": lambda: pl.read_parquet(path, columns=columns),
    }
    took: dict[str, list[float]] = {name: [] for name in works}
    worked: dict[str, list[float]] = {name: [] for name in works}
    for turn in range(TURNS + 1):
        for name, work in works.items():
            start, worked_before = time.perf_counter(), time.process_time()
            result = work()
            if turn:
                took[name].append(time.perf_counter() - start)
                worked[name].append(time.process_time() - worked_before)
            del result
    return took, worked


def write_made(path: Path, rows: int, *, repeats: bool) -> None:
    """Write a made working file; with ``repeats`` distances are whole centimetres and the clock has 10 ms steps."""
    with TraceWriter(path) as writer:
        for start in range(0, rows, PIECE):
            writer.add(made_piece(start, min(PIECE, rows - start), repeats=repeats))


def made_piece(start: int, rows: int, *, repeats: bool) -> Trace:
    """Return a piece of a made trace, from an instant on: every column filled, as a log with positions has them."""
    made, rng = made_log(rows, seed=start + 1), np.random.default_rng(start + 2)
    interval = rng.choice([0.19, 0.2, 0.21], rows, p=[0.1, 0.8, 0.1]) if repeats else np.full(rows, 0.2)
    distance = np.rint(made.speed_mps * interval * 100) / 100 if repeats else made.speed_mps * interval
    speed = distance / interval
    heading = np.cumsum(rng.normal(0, 0.002, rows))
    columns = {
        "time_s": np.round(0.2 * start + np.cumsum(interval), 2),
        "interval_s": interval,
        "distance_m": distance,
        "speed_mps": speed,
        "shown_speed_mps": np.round(speed, 1),
        "width_m": made.width_m,
        "target_m3pm2": np.full(rows, made.rate_m3pm2),
        "applied_m3pm2": made.flow_m2ps / made.speed_mps,
        "heading_rad": heading,
        "curvature_radpm": np.gradient(heading) / np.maximum(distance, 0.1) if rows > 1 else np.zeros(rows),
        "area_m2": distance * made.width_m,
        "east_m": np.cumsum(distance * np.sin(heading)),
        "north_m": np.cumsum(distance * np.cos(heading)),
        "sections_on": (1 << (made.level + 1)) - 1,
    }
    ordered = {name: columns[name] for name in COLUMNS}
    return Trace(**ordered, full_width_m=30.48, sections=(), facts=FACTS, origin=Origin(0.2, 0.9))
