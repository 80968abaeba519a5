"""One process, two, a cluster, any order of arrival, a worker killed in the middle: the same bits."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from tests.fleet_cases import AnyOrder, Unwatched, bits_of, holder_of_stop, work_in, write_fleet, write_log
from tests.fleet_tasks import DEADLY, STOP, die, tally_or_die, tally_when_free, wait_for

from wetrun.errors import InputProblems, WorkersFailed
from wetrun.fleet import cluster
from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.cluster import Cluster, check_address
from wetrun.fleet.engine import Died, Engine, InOrder
from wetrun.fleet.keys import method_words
from wetrun.fleet.pool import Pool
from wetrun.fleet.probe import Probe
from wetrun.fleet.tally_task import LogOutcome, LogTask, outcome_of
from wetrun.fleet.tallying import Keeping, outcomes_of
from wetrun.fleet.work import moved

LOGS = 17


@pytest.fixture(scope="module")
def fleet_root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("fleet")
    write_fleet(root)
    (root / "logs" / "south" / "bad.csv").write_bytes(b"\0nothing a reader knows")
    return root


@pytest.fixture(scope="module")
def plain_bits(fleet_root: Path) -> bytes:
    """What no worker at all makes of the fleet."""
    return run(fleet_root, fleet_root / "plain", InOrder())


@pytest.fixture(scope="module")
def local_cluster() -> Iterator[Any]:
    """Two workers of a Dask cluster on this computer, each a process that is started again when it dies."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address="127.0.0.1:0") as cluster:
        yield cluster


def run(
    root: Path,
    cache: Path,
    engine: Engine,
    *,
    tally: Callable[[LogTask], LogOutcome] = outcome_of,
    watcher: Unwatched | None = None,
    sent_back: bool = False,
) -> bytes:
    keeping = Keeping(LedgerCache(cache), None)
    work = work_in(root, cache)
    work = moved(work, None) if sent_back else work
    return bits_of(keeping.cache, outcomes_of(work, engine, keeping, watcher=watcher or Unwatched(), tally=tally))


def killed_in_the_middle(
    root: Path, cache: Path, engine: Engine, *, sent_back: bool = False
) -> tuple[bytes, int | None]:
    """Kill the worker that holds the log that waits, once half of the others are done; then let go."""
    folder, watcher, killed = root / "logs" / "north", Unwatched(), list[int]()
    for left in (*folder.glob(".*.pid"), *folder.glob(".free")):
        left.unlink()

    def kill() -> None:
        wait_for(lambda: holder_of_stop(folder) and watcher.count >= LOGS // 2)
        pid = holder_of_stop(folder)
        assert pid is not None
        os.kill(pid, signal.SIGKILL)
        killed.append(pid)
        (folder / ".free").touch()

    killer = threading.Thread(target=kill)
    killer.start()
    bits = run(root, cache, engine, tally=tally_when_free, watcher=watcher, sent_back=sent_back)
    killer.join()
    return bits, next(iter(killed), None)


def tries_of_stop(root: Path) -> int:
    return len(list((root / "logs" / "north").glob(".*.pid")))


@pytest.mark.parametrize("seed", range(5))
def test_any_order_of_arrival_gives_the_same_bits(
    fleet_root: Path, plain_bits: bytes, tmp_path: Path, seed: int
) -> None:
    assert run(fleet_root, tmp_path, AnyOrder(seed)) == plain_bits
    assert b"bad.csv" in plain_bits


def test_one_process_and_two_give_the_same_bits_and_a_killed_worker_loses_nothing(
    fleet_root: Path, plain_bits: bytes, tmp_path: Path
) -> None:
    with Pool(1) as alone:
        assert run(fleet_root, tmp_path / "1", alone) == plain_bits
    with Pool(2) as pool:
        bits, killed = killed_in_the_middle(fleet_root, tmp_path / "2", pool)
    assert killed is not None
    assert tries_of_stop(fleet_root) == 2
    assert bits == plain_bits


def test_a_cluster_s_workers_are_asked_what_they_see(tmp_path: Path, local_cluster: Any) -> None:
    log = write_log(tmp_path / "a.csv", 1)
    (tmp_path / "mark").touch()
    seen = Probe(method_words(), ((log, log.stat().st_size),), tmp_path, "mark")
    with Cluster(local_cluster.scheduler_address) as cluster:
        wait_for(lambda: cluster.workers() == 2)
        assert cluster.check_sees(seen)
        assert not cluster.check_sees(Probe(seen.methods, seen.files, tmp_path, "other mark"))
        missing = tmp_path / "share" / "b.csv"
        with pytest.raises(WorkersFailed, match=r"worker tcp://.*cannot see .*b\.csv.*; worker tcp://"):
            cluster.check_sees(Probe(seen.methods, ((missing, 1),), tmp_path, "mark"))
        with pytest.raises(WorkersFailed, match="runs another version of Wetrun"):
            cluster.check_sees(Probe("older", seen.files, tmp_path, "mark"))
        with pytest.raises(WorkersFailed, match=r"sees another .*a\.csv"):
            cluster.check_sees(Probe(seen.methods, ((log, 7),), tmp_path, "mark"))


@pytest.mark.parametrize("sent_back", [False, True], ids=["workers keep", "results sent back"])
def test_a_cluster_of_two_gives_the_same_bits_with_a_worker_killed(
    fleet_root: Path, plain_bits: bytes, tmp_path: Path, local_cluster: Any, sent_back: bool
) -> None:
    with Cluster(local_cluster.scheduler_address) as cluster:
        wait_for(lambda: cluster.workers() == 2)
        bits, killed = killed_in_the_middle(fleet_root, tmp_path, cluster, sent_back=sent_back)
    assert killed is not None
    assert tries_of_stop(fleet_root) == 2
    assert bits == plain_bits


def test_a_log_that_kills_its_workers_is_listed_and_the_rest_is_done(tmp_path: Path) -> None:
    write_fleet(tmp_path, logs=3)
    (tmp_path / "logs" / "north" / f"{STOP}.csv").unlink()
    write_log(tmp_path / "logs" / "south" / f"{DEADLY}.csv", 5)
    keeping = Keeping(LedgerCache(tmp_path / "cache"), None)
    work = work_in(tmp_path, tmp_path / "cache")
    with Pool(2) as pool:
        found = outcomes_of(work, pool, keeping, watcher=Unwatched(), tally=tally_or_die)
    refused = {log.log_set.path.name: outcome.refused for log, outcome in found.items() if outcome.refused}
    assert list(refused) == [f"{DEADLY}.csv"]
    assert "the worker died on it, 3 times" in refused[f"{DEADLY}.csv"]
    assert sum(bool(outcome.key) for outcome in found.values()) == 6


def test_what_a_scheduler_gives_up_is_tried_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Task 2 kills whoever has it; task 1 stood beside when it did."""

    def together(
        _: Cluster, function: Callable[[int], int], tasks: Sequence[int], numbers: Iterable[int]
    ) -> Iterator[tuple[int, int | Died]]:
        given_up = {1, 2} if len(list(numbers)) > 1 else {2}
        yield from ((at, Died(4) if at in given_up else function(tasks[at])) for at in numbers)

    monkeypatch.setattr(Cluster, "_together", together)
    found = dict(Cluster("tcp://127.0.0.1:8786").results(abs, [-10, -11, -12, -13]))
    assert found == {0: 10, 1: 11, 2: Died(8), 3: 13}


def test_workers_that_only_die_are_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wetrun.fleet.pool.MOST_DEATHS_IN_VAIN", 2)
    write_fleet(tmp_path, logs=2)
    with Pool(1) as pool, pytest.raises(WorkersFailed, match="died 2 times in a row"):
        list(pool.results(die, list(work_in(tmp_path, tmp_path / "cache").tasks.values())))


def test_a_cluster_whose_workers_are_all_gone_is_not_waited_for_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    distributed = pytest.importorskip("distributed")
    monkeypatch.setattr("wetrun.fleet.cluster.LOOK_EVERY_S", 0.02)
    with (
        distributed.LocalCluster(n_workers=1, processes=False, dashboard_address="127.0.0.1:0") as cluster,
        Cluster(cluster.scheduler_address) as left,
    ):
        cluster.scale(0)
        wait_for(lambda: not left.workers())
        with pytest.raises(WorkersFailed, match="it has had no worker for"):
            list(left.results(abs, [-1]))


def test_without_the_extra_a_cluster_is_refused_with_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    def absent(name: str) -> None:
        raise ModuleNotFoundError(f"No module named {name!r}")

    monkeypatch.setattr("wetrun.fleet.cluster.import_module", absent)
    with pytest.raises(WorkersFailed, match=r"pip install 'wetrun\[fleet\]'"):
        Cluster("tcp://127.0.0.1:8786").__enter__()


def test_a_scheduler_that_does_not_answer_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wetrun.fleet.cluster.CONNECT_S", 1)
    with pytest.raises(WorkersFailed, match=r"tcp://127\.0\.0\.1:9: no scheduler"):
        Cluster("tcp://127.0.0.1:9").__enter__()


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("192.168.1.20:8786", "tcp:// or tls:// is missing in front.*Write tcp://192.168.1.20:8786"),
        ("tcp://192.168.1.20", "a port from 1 to 65535"),
        ("tcp://192.168.1.20:70000", "a port from 1 to 65535"),
        ("http://192.168.1.20:8786", "an address is tcp://host:port or tls://host:port"),
        ("tcp://", "such as tcp://192.168.1.20:8786"),
        ("", "an address is"),
    ],
)
def test_an_address_that_can_be_none_is_told_by_its_form(address: str, told: str) -> None:
    with pytest.raises(InputProblems, match=f"^--cluster.*{told}"):
        check_address(address)


@pytest.mark.parametrize("address", ["tcp://shop-7:8786", "tls://10.0.0.1:1", "tcp://[::1]:8786"])
def test_an_address_of_a_scheduler_passes(address: str) -> None:
    check_address(address)


WITHOUT_SCHEDULER = """
import sys
from wetrun.errors import InputProblems, WorkersFailed
from wetrun.fleet import cluster
cluster.CONNECT_S = 1
try:
    with cluster.Cluster(sys.argv[1]):
        pass
except WorkersFailed as fault:
    print(fault)
"""


@pytest.mark.parametrize("listens", [False, True], ids=["nobody there", "somebody else, who says nothing"])
def test_a_scheduler_that_does_not_answer_ends_in_a_sentence_and_leaves_no_traceback(listens: bool) -> None:
    pytest.importorskip("distributed")
    with socket.socket() as place:
        place.bind(("127.0.0.1", 0))
        if listens:
            place.listen()
        address = f"tcp://127.0.0.1:{place.getsockname()[1]}"
        done = subprocess.run(
            [sys.executable, "-c", WITHOUT_SCHEDULER, address],
            env=os.environ | {"PYTHONPATH": str(Path(cluster.__file__).parents[2])},
            capture_output=True, text=True, timeout=120, check=True,
        )  # fmt: skip
    assert done.stdout.startswith(f"{address}: no scheduler with a worker answers there")
    assert done.stderr == ""


def test_a_worker_s_own_address_is_no_scheduler_s(local_cluster: Any) -> None:
    worker = next(iter(local_cluster.workers.values())).worker_address
    with pytest.raises(WorkersFailed, match="answers there"), Cluster(worker):
        pass
