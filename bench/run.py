"""How fast the field log's kernels are, as ratios to what this machine did in the same run, and how fast a season.

Prints a table; a target missed is printed as missed, not raised: a busy machine is not a defect.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

import numpy as np
from bench.fleet import fleet_figures
from bench.imports import import_figures
from bench.ledger_files import ledger_file_figures
from bench.made_log import MadeLog, made_log
from bench.made_season import MadeSeason, season_by_log, season_by_stated_speeds
from bench.time_logs import time_log_figures

from wetrun.fieldlog.ledger import demand_tallies
from wetrun.fieldlog.replay import SteadySetup, replay_areas
from wetrun.fieldlog.tally import Tally

Result = TypeVar("Result")

ROWS = 50_000_000
TIPS, PASSES = 300, 12
REPEATS = 5
TURNS = 9
BYTES_PER_ROW = 4 * 8  # speed, flow per width, active width and area, as doubles
LEAST_LEDGER_SHARE = 0.15
LEAST_JUDGING_RATIO = 100
MOST_SEASON_S = 2.0


def main() -> None:
    """Run every benchmark and print the table."""
    log = made_log(ROWS)
    compile_s = _compile_seconds(log)
    ledger_rows, tallies = ledger_figures(log)
    replay_s = _replay_seconds(log)
    judging_s, brackets = timed(lambda: judged(tallies[0]))
    rows = [
        ("compile time of the kernels, once", f"{compile_s:.1f} s", ""),
        *ledger_rows,
        (f"replay of {ROWS:,} rows, production kernel", f"{replay_s:.3f} s", ""),
        (f"judging {TIPS * PASSES} candidates on the ledger", f"{judging_s * 1e3:.1f} ms", ""),
        _ratio("3,600 x replay / judging", TIPS * PASSES * replay_s / judging_s, LEAST_JUDGING_RATIO),
        ("median bracket, share of area", f"{np.median(brackets):.1e}", _verdict(np.median(brackets) <= 1e-4)),
        ("ledger bins, speed and flow", f"{tallies[0].level.size:,} and {tallies[1].level.size:,}", ""),
        *season_figures("stated speeds", season_by_stated_speeds()),
        *season_figures("a log to each pass", season_by_log()),
        *import_figures(),
        *time_log_figures(),
        *fleet_figures(),
        *ledger_file_figures(),
    ]
    for what, figure, verdict in rows:
        print(f"{what:<58} {figure:>28}  {verdict}")


def season_figures(what: str, made: MadeSeason) -> list[tuple[str, str, str]]:
    """Return the row of a season: every number of sets solved; the plan is refused unless each optimum is proven."""
    seconds, plan = timed(made.planned)
    size = f"{len(made.season.passes)} passes x {len(made.catalogue)} tips"
    figure = f"{seconds:.2f} s (target under {MOST_SEASON_S:g})"
    return [(f"{size}, {what}, 1 to {len(plan.options)} sets", figure, _verdict(seconds < MOST_SEASON_S))]


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Return the median time of a few runs, and the last result."""
    took = []
    for _ in range(REPEATS - 1):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    start = time.perf_counter()
    result = work()
    return statistics.median([*took, time.perf_counter() - start]), result


def ledger_figures(log: MadeLog) -> tuple[list[tuple[str, str, str]], tuple[Tally, Tally]]:
    """Return the rows on the ledger against reading the very same arrays, and its tallies.

    Reading and tallying take turns, so that whatever else the machine does falls on both. The ratio is that of the
    quickest turns, the ones least disturbed; the middle one of the turns' own ratios stands beside it.
    """
    columns = (log.speed_mps, log.flow_m2ps, log.width_m, log.area_m2)
    works: dict[str, Callable[[], object]] = {
        "read 1": lambda: _read(columns, 1),
        "read 2": lambda: _read(columns, 2),
        "ledger": lambda: demand_tallies(*columns),
    }
    tallies = demand_tallies(*columns)
    turns: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(TURNS):
        for name, work in works.items():
            turns[name].append(_seconds(work))
    read_1, read_2, ledger = (np.array(turns[name]) for name in works)
    rate = {name: ROWS * BYTES_PER_ROW / min(took) / 1e9 for name, took in turns.items()}
    return [
        ("read bandwidth, 1 thread (sums of the ledger's four arrays)", f"{rate['read 1']:.1f} GB/s", ""),
        ("read bandwidth, 2 threads", f"{rate['read 2']:.1f} GB/s", ""),
        (f"ledger of {ROWS:,} rows, both tallies", f"{ledger.min():.2f} s, {rate['ledger']:.1f} GB/s", ""),
        _ratio("ledger / read bandwidth (2 threads)", read_2.min() / ledger.min(), LEAST_LEDGER_SHARE),
        ("  same, median of the turns", f"{np.median(read_2 / ledger):.3f}", ""),
        ("  same / read bandwidth (1 thread)", f"{read_1.min() / ledger.min():.3f}", ""),
    ], tallies


def _read(columns: tuple[np.ndarray, ...], threads: int) -> None:
    """Sum every array, each thread its own part."""
    with ThreadPoolExecutor(threads) as pool:
        for column in columns:
            list(pool.map(np.sum, np.array_split(column, threads)))


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _compile_seconds(log: MadeLog) -> float:
    from wetrun.fieldlog.kernels import binned_areas, replayed_areas

    few = slice(0, 1000)
    start = time.perf_counter()
    binned_areas((log.speed_mps[few], log.flow_m2ps[few]), log.width_m[few], log.area_m2[few])
    replayed_areas(log.flow_m2ps[few], log.area_cm2[few], log.level[few], _setup(log))
    return time.perf_counter() - start


def _replay_seconds(log: MadeLog) -> float:
    """Return the time of one candidate over every row: demand from speed, then the production kernel."""
    setup = _setup(log)
    seconds, _ = timed(lambda: replay_areas(log.speed_mps * log.rate_m3pm2, log.area_cm2, log.level, setup))
    return seconds


def _setup(log: MadeLog) -> SteadySetup:
    low, high = np.full(log.levels_m.size, 5e-5), np.full(log.levels_m.size, 9e-5)
    return SteadySetup(log.levels_m, low, high, low, high, label_ratio=1.1)


def judged(tally: Tally) -> np.ndarray:
    """Return the bracket width of every candidate, as a share of area: each tip's window at each pass's rate."""
    slowest = np.linspace(2.0, 6.0, TIPS)[:, np.newaxis]
    rates = np.linspace(0.7, 1.3, PASSES)
    low = (slowest / rates).reshape(-1, 1) * np.ones(tally.levels_m.size)
    lower, upper = tally.area_within(low, 1.7 * low)
    return (upper - lower) / tally.total_cm2


def _ratio(what: str, ratio: float, least: float) -> tuple[str, str, str]:
    return what, f"{ratio:,.3g} (target {least:g} or more)", _verdict(ratio >= least)


def _verdict(good: bool) -> str:  # noqa: FBT001 - the one thing it is about
    return "meets" if good else "misses"


if __name__ == "__main__":
    main()
