"""A small fleet the tests write themselves, and what is made of it, to be held against what another run made."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np
from tests.fleet_tasks import STOP, tally_when_free

from wetrun.fieldlog.ledger import merged
from wetrun.fieldlog.tally import stored_entries
from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.engine import Died, Result, Task
from wetrun.fleet.journal import Journal
from wetrun.fleet.machines import FleetLog, fleet_in
from wetrun.fleet.pool import Pool
from wetrun.fleet.tally_task import LogOutcome
from wetrun.fleet.tallying import Keeping, outcomes_of
from wetrun.fleet.work import Work, work_of

HEADER = "time (s),distance (m),swath width (m),applied rate (L/ha),target rate (L/ha)"
SEASON = """\
format_version = 1
title = "Season"
units = "us"
[customer]
name = "Farm of {name}"
[machine]
name = "{name}, 80 ft"
[machine.boom]
spacing = "20 in"
sections = [12, 12, 12, 12]
[machine.control]
loop = "flow meter"
hold = {{ pressure = "15 psi" }}
[[pass]]
name = "Burndown"
crop = "soybeans"
area = "400 ac"
first = 2031-04-01
last = 2031-04-30
carrier = "water"
rate = "15 gal/ac"
[[pass.product]]
name = "Herbicide"
rate = "20 fl oz/ac"
label_max = "{label_max}"
[[pass]]
name = "Post"
crop = "soybeans"
area = "300 ac"
first = 2031-06-01
last = 2031-06-30
carrier = "water"
rate = "20 gal/ac"
"""


def write_season(folder: Path, name: str, *, label_max: str = "24 fl oz/ac") -> Path:
    """A season of two passes that name neither speeds nor logs."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.toml"
    path.write_text(SEASON.format(name=name, label_max=label_max), encoding="utf-8")
    return path


def write_log(path: Path, seed: int, rows: int = 200) -> Path:
    """A drive of its own on a 24 m boom that is half on now and then; most drives differ in length as well."""
    rng = np.random.default_rng(seed)
    speed = np.clip(4.0 + seed % 5 * 0.3 + rng.normal(0, 0.4, rows + seed).cumsum() * 0.05, 1.0, 9.0)
    width = rng.choice([24.0, 24.0, 24.0, 12.0], rows + seed)
    lines = [
        f"{0.2 * i:.1f},{0.2 * v:.4f},{w:g},{140 + i % 5},140"
        for i, (v, w) in enumerate(zip(speed, width, strict=True))
    ]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
    return path


def write_fleet(root: Path, logs: int = 8, machines: Sequence[str] = ("north", "south")) -> tuple[Path, Path]:
    """Machines with so many logs each, one of them the log that waits; return the folders of seasons and logs."""
    for number, name in enumerate(machines):
        write_season(root / "seasons", name)
        for nth in range(logs):
            write_log(root / "logs" / name / f"{nth}.csv", 100 * number + nth)
    write_log(root / "logs" / machines[0] / f"{STOP}.csv", 99)
    return root / "seasons", root / "logs"


def work_in(root: Path, cache: Path) -> Work:
    """The work of the fleet under a folder."""
    return work_of(fleet_in([root / "seasons"], root / "logs").machines, cache=cache)


def holder_of_stop(folder: Path) -> int | None:
    """The process that has the log that waits, once one has."""
    return next((int(file.name.split(".")[1]) for file in folder.glob(".*.pid")), None)


class Unwatched:
    """Counts what is done."""

    def __init__(self) -> None:
        self.count = 0

    def done(self, *_: object) -> None:
        self.count += 1


class AnyOrder:
    """An engine whose results come in an order of their own."""

    def __init__(self, seed: int) -> None:
        self._rng = np.random.default_rng(seed)

    def results(self, function: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[tuple[int, Result | Died]]:
        for at in self._rng.permutation(len(tasks)).tolist():
            yield at, function(tasks[at])


def bits_of(cache: LedgerCache, outcomes: dict[FleetLog, LogOutcome]) -> bytes:
    """Everything that was made of the logs, and of all of them together, as bytes; equal only if all of it is."""
    entries = [cache.found(outcome.key)[0] for outcome in outcomes.values() if outcome.key]
    logs = [log for entry in entries if entry is not None for log in entry.logs]
    whole = merged([log.ledger for log in logs])
    arrays = [*stored_entries(whole.speed), *stored_entries(whole.flow_per_width)]
    rates = [part for log in logs for part in stored_entries(log.rate)]
    said = [(log.drive, log.facts, log.full_width_m, sorted(log.turns.items(), key=repr)) for log in logs]
    refused = [(str(log.log_set.path), outcome.refused) for log, outcome in outcomes.items() if outcome.refused]
    return b"".join(array.tobytes() for array in (*arrays, *rates)) + repr((said, refused)).encode()


def run_to_be_killed(root: str) -> None:
    """A whole run with two workers and a journal, for a test to kill."""
    here = Path(root)
    keeping = Keeping(LedgerCache(here / "cache"), Journal(here / "out"))
    with Pool(2) as pool:
        outcomes_of(work_in(here, here / "cache"), pool, keeping, watcher=Unwatched(), tally=tally_when_free)


if __name__ == "__main__":
    run_to_be_killed(sys.argv[1])
