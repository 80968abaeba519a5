"""Two workers against one on the same hundred logs, in the same run: ``python -m bench.fleet``, or in the whole bench.

Every turn tallies all logs with one worker and with two, each into an empty cache, and takes the ratio of the two. The
workers are started and have read a log before the clock starts; what starting costs stands beside it. How much of the
machine others took meanwhile is measured and told, since a ratio from a busy machine says little.
"""

from __future__ import annotations

import resource
import shutil
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

from bench.made_log import made_log

from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.log_sets import log_set_of
from wetrun.fleet.machines import FleetLog
from wetrun.fleet.pool import Pool, cores
from wetrun.fleet.tally_task import LogOutcome, LogTask
from wetrun.fleet.tallying import Keeping, outcomes_of
from wetrun.fleet.work import Work

LOGS = 100
ROWS = (40_000, 4_000, 12_000, 8_000)  # a long day in every four
TURNS = 3
LEAST_RATIO = 1.8
HEADER = "time (s),distance (m),swath width (m),applied rate (L/ha),target rate (L/ha)"
CLOCK_TICKS_PER_S = 100


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn: seconds of starting and of tallying with so many workers, and cores that others kept busy."""

    start_s: float
    tally_s: float
    others: float


class Silent:
    """Watches nothing but that no log is refused."""

    def done(self, _size: int, outcome: LogOutcome) -> None:
        """Take no note of it; what was refused would make the turn look quick."""
        if outcome.refused:
            raise RuntimeError(outcome.refused)


def fleet_figures() -> list[tuple[str, str, str]]:
    """Return the rows of the table: what, figure, verdict."""
    if cores() < 2:
        return [("fleet: 2 workers / 1 worker", "this machine has one core", "not told")]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        logs, size = written_logs(folder / "logs")
        turns = [(_turn(folder, logs, 1), _turn(folder, logs, 2)) for _ in range(TURNS)]
    warm = [one.tally_s / two.tally_s for one, two in turns]
    # The quickest turns are the least disturbed ones; the turns' own ratios stand beside.
    alone_s, both_s = (min(pair[nth].tally_s for pair in turns) for nth in (0, 1))
    start_s = [min(pair[nth].start_s for pair in turns) for nth in (0, 1)]
    whole = (start_s[0] + alone_s) / (start_s[1] + both_s)
    others = [turn.others for pair in turns for turn in pair]
    verdict = "meets" if alone_s / both_s >= LEAST_RATIO else "misses"
    span = f"{statistics.median(warm):.2f} ({min(warm):.2f} to {max(warm):.2f})"
    return [
        (f"fleet: {LOGS} logs, {size / 1e6:.0f} MB, 1 worker", f"{alone_s:.1f} s, {size / alone_s / 1e6:.1f} MB/s", ""),
        ("  2 workers / 1 worker, started before", f"{alone_s / both_s:.2f} (target {LEAST_RATIO} or more)", verdict),
        (f"  same, median of {TURNS} turns (least to most)", span, ""),
        ("  same, starting the workers counted", f"{whole:.2f} (starting 2: {start_s[1]:.1f} s)", ""),
        ("  cores that others kept busy meanwhile", f"{min(others):.2f} to {max(others):.2f}", ""),
    ]


def written_logs(folder: Path) -> tuple[list[FleetLog], int]:
    """Return made logs of unlike length on the disk, and their bytes together; one more to warm the workers up."""
    folder.mkdir(parents=True)
    drive = made_log(max(ROWS))
    found = []
    for nth in range(LOGS + 1):
        rows = ROWS[nth % len(ROWS)] - nth
        lines = [
            f"{0.2 * i:.1f},{0.2 * v:.4f},{w:.2f},{140 + i % 5},140"
            for i, (v, w) in enumerate(zip(drive.speed_mps[:rows], drive.width_m[:rows], strict=True))
        ]
        path = folder / f"{nth}.csv"
        path.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
        found.append(FleetLog(log_set_of(path), None))
    return found, sum(log.log_set.path.stat().st_size for log in found[:LOGS])


def _turn(folder: Path, logs: list[FleetLog], workers: int) -> Turn:
    cache = folder / "cache"
    own, busy, began = _own_s(), _busy_s(), time.perf_counter()
    with Pool(workers) as pool:
        # As many at once as there are workers, so that each one starts and reads.
        list(pool.results(_warmed, [_task(logs[-1], folder / f"warm {nth}") for nth in range(2 * workers)]))
        start_s = time.perf_counter() - began
        work = Work({log: _task(log, cache) for log in logs[:LOGS]}, frozenset())
        clock = time.perf_counter()
        outcomes_of(work, pool, Keeping(LedgerCache(cache), None), watcher=Silent())
        tally_s = time.perf_counter() - clock
    took_s = time.perf_counter() - began
    for place in (cache, *folder.glob("warm *")):
        shutil.rmtree(place, ignore_errors=True)
    return Turn(start_s, tally_s, max(_busy_s() - busy - (_own_s() - own), 0.0) / took_s)


def _warmed(task: LogTask) -> LogOutcome:
    from wetrun.fleet.tally_task import outcome_of

    return outcome_of(task)


def _task(log: FleetLog, cache: Path) -> LogTask:
    return LogTask(path=log.log_set.path, parts=log.log_set.parts, column_map=None, questions=(), cache=cache)


def _own_s() -> float:
    """Processor time of this process and of its workers that have ended."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def _busy_s() -> float:
    """Processor time of the whole machine that was not idle, where the system tells it."""
    try:
        ticks = [int(word) for word in Path("/proc/stat").read_text(encoding="utf-8").split()[1:9]]
    except OSError:
        return 0.0
    return (sum(ticks) - ticks[3] - ticks[4]) / CLOCK_TICKS_PER_S


if __name__ == "__main__":
    for what, figure, verdict in fleet_figures():
        print(f"{what:<58} {figure:>28}  {verdict}")
