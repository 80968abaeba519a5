"""The cores of this computer: processes that are started afresh, watched, and replaced when one dies."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import Counter, deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from types import TracebackType
from typing import Any, Final, Self

from wetrun.errors import WorkersFailed
from wetrun.fleet.engine import Died, Result, Task

MOST_TRIES: Final = 3
IN_FLIGHT: Final = 2
"""Tasks handed out per worker: one at work, one waiting."""
MOST_DEATHS_IN_VAIN: Final = 20
"""So many deaths without one task done between them are not the logs' fault."""


def cores() -> int:
    """Return how many cores this process may use."""
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1


class Pool:
    """Workers on this computer; a context manager.

    A worker that dies takes every task down that was out at that moment, and nobody can say which it died on. So these
    are then tried one at a time: whoever dies alone is told apart from those who only stood beside.

    Parameters
    ----------
    workers : int
        How many.
    """

    def __init__(self, workers: int) -> None:
        self._workers = workers
        self._executor: ProcessPoolExecutor | None = None
        self._in_vain = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def stop(self) -> None:
        """End the workers; tasks not begun are dropped."""
        if self._executor is not None:
            self._executor.shutdown(wait=True, cancel_futures=True)
            self._executor = None

    def results(self, function: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[tuple[int, Result | Died]]:
        """Yield the number of each task with its result, as they come.

        Raises
        ------
        WorkersFailed
            If workers die again and again and nothing gets done.
        """
        waiting, alone = deque(range(len(tasks))), deque[int]()
        tries: Counter[int] = Counter()
        while waiting or alone:
            queue, most = (alone, 1) if alone else (waiting, IN_FLIGHT * self._workers)
            lost = yield from self._until_a_death(function, tasks, queue, most)
            for at in lost:
                tries[at] += 1
                if tries[at] < MOST_TRIES:
                    alone.append(at)
                else:
                    yield at, Died(tries[at])

    def _until_a_death(
        self, function: Callable[[Task], Result], tasks: Sequence[Task], queue: deque[int], most: int
    ) -> Generator[tuple[int, Result | Died], None, list[int]]:
        """Work a queue off; return what was out when a worker died, or nothing when the queue is empty."""
        out: dict[Future[Result], int] = {}
        lost: list[int] = []
        while (queue or out) and not lost:
            try:
                while queue and len(out) < most:
                    out[self._started().submit(function, tasks[queue[0]])] = queue[0]
                    queue.popleft()
            except BrokenProcessPool:
                if not out:  # it died between two tasks, and took none with it
                    self._replace()
                    continue
            for done in wait(out, return_when=FIRST_COMPLETED).done:
                if isinstance(done.exception(), BrokenProcessPool):
                    lost.append(out.pop(done))
                    continue
                self._in_vain = 0
                yield out.pop(done), done.result()
        if lost:
            lost += yield from self._left_over(out)
            self._replace()
        return sorted(lost)

    def _left_over(self, out: dict[Future[Result], int]) -> Generator[tuple[int, Result | Died], None, list[int]]:
        """Take in what was done just before the death; return the rest."""
        lost = []
        for done in wait(out).done:
            if done.exception() is None:
                yield out[done], done.result()
            else:
                lost.append(out[done])
        return lost

    def _started(self) -> ProcessPoolExecutor:
        if self._executor is None:
            # Forking a process that has threads can stop it for ever; a fresh one cannot.
            fresh = multiprocessing.get_context("spawn")
            self._executor = ProcessPoolExecutor(self._workers, mp_context=fresh, initializer=begin_worker)
        return self._executor

    def _replace(self) -> None:
        self.stop()
        self._in_vain += 1
        if self._in_vain >= MOST_DEATHS_IN_VAIN:
            reason = f"workers died {self._in_vain} times in a row before anything was done"
            raise WorkersFailed("the workers of this computer", reason=reason, remedy="Use fewer with --workers")


def begin_worker() -> None:
    """Make a fresh process a worker: one thread, gone at Ctrl-C without a word, and when who started it is gone."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    os.environ["NUMBA_NUM_THREADS"] = "1"  # the workers share the cores among them already
    parent: Any = multiprocessing.parent_process()
    threading.Thread(target=_leave_with, args=(parent,), daemon=True).start()


def _leave_with(parent: Any) -> None:  # noqa: ANN401 - the standard library's own type is private
    parent.join()
    os._exit(1)
