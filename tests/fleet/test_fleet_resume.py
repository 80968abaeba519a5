"""A run that was killed goes on from what it had, and ends at the same bits."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from tests.fleet_cases import Unwatched, bits_of, holder_of_stop, work_in, write_fleet, write_log, write_season
from tests.fleet_tasks import wait_for

from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.engine import InOrder
from wetrun.fleet.journal import NAME, Journal, claim_of
from wetrun.fleet.tally_task import LogOutcome, LogTask, outcome_of
from wetrun.fleet.tallying import Keeping, outcomes_of

ROOT = Path(__file__).parents[2]


def run(root: Path, *, cache: str = "cache") -> tuple[list[str], bytes]:
    """Run in this process; return which logs were opened, and the bits."""
    opened: list[str] = []

    def tally(task: LogTask) -> LogOutcome:
        opened.append(f"{task.path.parent.name}/{task.path.name}")
        return outcome_of(task)

    keeping = Keeping(LedgerCache(root / cache), Journal(root / "out") if cache == "cache" else None)
    found = outcomes_of(work_in(root, root / cache), InOrder(), keeping, watcher=Unwatched(), tally=tally)
    return opened, bits_of(keeping.cache, found)


def journaled(root: Path) -> list[str]:
    path = root / "out" / NAME
    return path.read_text(encoding="utf-8").splitlines() if path.exists() else []


def is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{pid}/stat")
    # A zombie is dead; it waits for somebody to take note of it.
    return not state.exists() or state.read_text(encoding="utf-8").rpartition(")")[2].split()[0] != "Z"


def test_a_killed_run_goes_on_from_what_it_had_and_leaves_no_worker_behind(tmp_path: Path) -> None:
    write_fleet(tmp_path)
    north = tmp_path / "logs" / "north"
    environment = os.environ | {"PYTHONPATH": os.pathsep.join((str(ROOT / "src"), str(ROOT)))}
    with subprocess.Popen([sys.executable, "-m", "tests.fleet_cases", str(tmp_path)], env=environment) as begun:
        wait_for(lambda: holder_of_stop(north) and len(journaled(tmp_path)) >= 6)
        begun.send_signal(signal.SIGKILL)
    worker = holder_of_stop(north)
    assert worker is not None
    wait_for(lambda: not is_alive(worker))
    done = len(journaled(tmp_path))
    opened, bits = run(tmp_path)
    assert len(opened) == 17 - done
    assert "north/stop.csv" in opened
    assert bits == run(tmp_path, cache="other")[1]
    assert run(tmp_path) == ([], bits)


def test_half_a_line_costs_one_log_and_no_more(tmp_path: Path) -> None:
    write_fleet(tmp_path, logs=3, machines=("north",))
    bits = run(tmp_path)[1]
    path = tmp_path / "out" / NAME
    path.write_bytes(path.read_bytes()[:-20])
    opened, again = run(tmp_path)
    assert (len(opened), again) == (1, bits)
    assert run(tmp_path) == ([], bits)
    assert len(journaled(tmp_path)) == 5


@pytest.mark.parametrize("change", ["content", "label", "map", "cache"])
def test_a_log_is_looked_at_again_when_something_that_counts_has_changed(tmp_path: Path, change: str) -> None:
    write_fleet(tmp_path, logs=2, machines=("north",))
    run(tmp_path)
    if change == "content":
        write_log(tmp_path / "logs" / "north" / "1.csv", 50)
        again = ["north/1.csv"]
    elif change == "label":
        write_season(tmp_path / "seasons", "north", label_max="22 fl oz/ac")
        again = ["north/0.csv", "north/1.csv", "north/stop.csv"]
    elif change == "map":
        width = '[boom]\nfull_width = { value = 30, unit = "m" }\n'
        (tmp_path / "logs" / "north" / "map.toml").write_text(f"format_version = 1\n{width}", encoding="utf-8")
        again = ["north/0.csv", "north/1.csv", "north/stop.csv"]
    else:
        kept = min((tmp_path / "cache").glob("*/*"))
        line = next(json.loads(line) for line in journaled(tmp_path) if kept.stem in line)
        again = [f"north/{Path(line['log']).name}"]
        kept.unlink()
    opened, _ = run(tmp_path)
    assert sorted(opened) == again


def test_a_claim_needs_the_files_to_be_there(tmp_path: Path) -> None:
    write_fleet(tmp_path, logs=1, machines=("north",))
    task = next(iter(work_in(tmp_path, tmp_path / "cache").tasks.values()))
    assert claim_of(task) == claim_of(task)
    task.path.unlink()
    assert claim_of(task) is None
