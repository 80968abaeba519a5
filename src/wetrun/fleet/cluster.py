"""A Dask cluster: workers on other computers that see the same folders under the same names."""

from __future__ import annotations

import asyncio
import re
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import CancelledError
from dataclasses import dataclass, field
from importlib import import_module
from queue import Empty, SimpleQueue
from types import TracebackType
from typing import Any, Final, Self

from wetrun.errors import InputProblems, Problem, WorkersFailed
from wetrun.fleet.engine import Died, Result, Task
from wetrun.fleet.probe import Probe, Seen, seen_by_worker

CONNECT_S: Final = 10
WAIT_FOR_WORKER_S: Final = 30
FETCH_S: Final = 30
LOOK_EVERY_S: Final = 5.0
MOST_IDLE: Final = 24
IN_FLIGHT: Final = 4
LEAST_IN_FLIGHT: Final = 16
SCHEMES: Final = ("tcp://", "tls://")
PLACE: Final = re.compile(r"(?:[^\s:/@\[\]]+|\[[0-9A-Fa-f:.]+\]):([0-9]{1,5})")
MOST_PORT: Final = 65_535


def check_address(address: str) -> None:
    """Check the form of a scheduler's address, before anything is done.

    Parameters
    ----------
    address : str
        As typed.

    Raises
    ------
    InputProblems
        If it is not ``tcp://host:port`` or ``tls://host:port``; a scheme or a port that is missing is named.

    Example
    -------
    >>> check_address("tcp://192.168.1.20:8786")
    """
    scheme = next((one for one in SCHEMES if address.startswith(one)), "")
    found = PLACE.fullmatch(address.removeprefix(scheme))
    port = found is not None and 0 < int(found[1]) <= MOST_PORT
    if scheme and port:
        return
    limit = "an address is tcp://host:port or tls://host:port"
    if port:
        limit, remedy = f"tcp:// or tls:// is missing in front; {limit}", f"Write tcp://{address}."
    else:
        limit += f", with a port from 1 to {MOST_PORT}" if scheme else ""
        remedy = "Write it as `dask scheduler` shows it, such as tcp://192.168.1.20:8786."
    raise InputProblems([Problem("--cluster", "", address, limit, remedy)])


@dataclass(slots=True)
class Cluster:
    """A cluster that is up and reached by the address of its scheduler; a context manager.

    Attributes
    ----------
    address : str
        Such as ``tcp://192.168.1.20:8786``.
    """

    address: str
    _client: Any = field(default=None, init=False)

    def __enter__(self) -> Self:
        try:
            distributed = import_module("distributed")
        except ImportError as missing:
            reason = "the part of Wetrun that talks to a cluster is not installed"
            remedy = "Install it with `pip install 'wetrun[fleet]'`, or leave --cluster out"
            raise WorkersFailed(self.address, reason=reason, remedy=remedy) from missing
        try:
            # A client that finds nobody leaves a traceback behind when the process ends: so somebody is looked for.
            asyncio.run(_answer_of(self.address))
            self._client = distributed.Client(self.address, timeout=f"{CONNECT_S}s", set_as_default=False)
            self._client.wait_for_workers(1, timeout=WAIT_FOR_WORKER_S)
        except (OSError, ValueError) as fault:
            self.stop()
            reason = f"no scheduler with a worker answers there ({str(fault) or f'no answer within {CONNECT_S} s'})"
            remedy = "Start `dask scheduler` and at least one `dask worker`, and check the address"
            raise WorkersFailed(self.address, reason=reason, remedy=remedy) from fault
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def stop(self) -> None:
        """Leave the cluster; its workers stay up for others."""
        if self._client is not None:
            self._client.close()
            self._client = None

    def workers(self) -> int:
        """Return how many tasks it can carry out at once."""
        try:
            return sum(self._client.nthreads().values())
        except OSError as gone:
            raise self._gone() from gone

    def check_sees(self, probe: Probe) -> bool:
        """Return whether every worker sees the cache, after checking that it can be given work at all.

        Parameters
        ----------
        probe : Probe
            What it has to see.

        Returns
        -------
        bool
            True if tallied logs can be kept by the workers themselves.

        Raises
        ------
        WorkersFailed
            Naming every worker that runs another Wetrun or does not see the logs.
        """
        answers: Mapping[str, Seen | BaseException] = self._client.run(seen_by_worker, probe, on_error="return")
        wrong = {worker: _wrong(seen) for worker, seen in sorted(answers.items())}
        told = [f"worker {worker} {words}" for worker, words in wrong.items() if words]
        if told:
            remedy = "Give every worker the same Wetrun and the same shared folder under the same name"
            raise WorkersFailed(self.address, reason="; ".join(told), remedy=remedy)
        return all(isinstance(seen, Seen) and seen.cache for seen in answers.values())

    def results(self, function: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[tuple[int, Result | Died]]:
        """Yield the number of each task with its result, as they come.

        Raises
        ------
        WorkersFailed
            If the scheduler is lost. A lost worker is not: the scheduler gives its tasks to others.

        Notes
        -----
        A scheduler gives up a task when several workers died while they had it, be it the culprit or not. So what was
        given up is tried once more at the end, one task at a time: who dies alone is told from who stood beside.
        """
        given_up: list[tuple[int, Died]] = []
        for at, result in self._together(function, tasks, range(len(tasks))):
            if isinstance(result, Died):
                given_up.append((at, result))
            else:
                yield at, result
        for at, before in sorted(given_up, key=lambda one: one[0]):
            for _, result in self._together(function, tasks, [at]):
                yield at, Died(before.times + result.times) if isinstance(result, Died) else result

    def _together(
        self, function: Callable[[Task], Result], tasks: Sequence[Task], numbers: Iterable[int]
    ) -> Iterator[tuple[int, Result | Died]]:
        """Hand out so many tasks at once that no worker waits, and take in results as they come."""
        waiting, out, arrived = deque(numbers), dict[Any, int](), SimpleQueue[Any]()
        while waiting or out:
            while waiting and len(out) < max(LEAST_IN_FLIGHT, IN_FLIGHT * self.workers()):
                at = waiting.popleft()
                future = self._client.submit(function, tasks[at], pure=False)
                out[future] = at
                future.add_done_callback(arrived.put)
            done = self._next_of(arrived)
            found = self._fetched(done)
            if not found:
                # Its worker died with the result before it was fetched: it is being done again.
                done.add_done_callback(arrived.put)
                continue
            yield out.pop(done), found[0]
            done.release()

    def _next_of(self, arrived: SimpleQueue[Any]) -> Any:  # noqa: ANN401 - Dask's own type is not always there
        """Wait for the next task that is done, as long as there is anybody to do it."""
        idle = 0
        while idle < MOST_IDLE:
            try:
                return arrived.get(timeout=LOOK_EVERY_S)
            except Empty:
                idle = 0 if self.workers() else idle + 1
        reason = f"it has had no worker for {MOST_IDLE * LOOK_EVERY_S:.0f} s"
        raise WorkersFailed(self.address, reason=reason, remedy="Start workers and run again; what is finished is kept")

    def _fetched(self, done: Any) -> tuple[Any, ...]:  # noqa: ANN401
        """The result of a task that is done, alone in a tuple; an empty one if it was lost on the way."""
        distributed = import_module("distributed")
        if done.status in {"lost", "pending"}:
            return ()
        try:
            return (done.result(timeout=FETCH_S),)
        except distributed.KilledWorker as killed:
            return (Died(killed.allowed_failures + 1),)
        except TimeoutError:
            return ()
        except CancelledError as gone:
            raise self._gone() from gone

    def _gone(self) -> WorkersFailed:
        remedy = "Start it again and run again; what is finished is kept"
        return WorkersFailed(self.address, reason="the scheduler went away", remedy=remedy)


async def _answer_of(address: str) -> None:
    """Wait until a scheduler says that it is one; `TimeoutError` if nobody says anything."""
    distributed = import_module("distributed")
    secured = distributed.Security().get_connection_args("client")
    async with asyncio.timeout(CONNECT_S), distributed.rpc(address, connection_args=secured) as asked:
        kind = (await asked.identity()).get("type")
    if kind != "Scheduler":
        raise ValueError(f"a {kind} answers")


def _wrong(answer: Seen | BaseException) -> str:
    return answer.wrong if isinstance(answer, Seen) else f"cannot run Wetrun ({type(answer).__name__}: {answer})"
