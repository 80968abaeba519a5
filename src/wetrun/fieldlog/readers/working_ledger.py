"""The ledger straight from a working file: only the columns it needs, decoded and tallied by every core at once.

Each thread takes the next row group, decodes a batch that stays in the processor's cache, and tallies it before it
decodes the next: while one thread decodes, another tallies, and memory holds a few batches however long the log is.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Lock
from typing import Final

from wetrun.fieldlog.ledger import Ledger
from wetrun.fieldlog.readers.parquet_checks import Source
from wetrun.fieldlog.readers.parquet_trace import WorkingFile, arrays_in, working_file
from wetrun.fieldlog.running import NEEDED, LedgerColumns, RunningLedger, joined, loop_is_ready
from wetrun.fieldlog.tally import FEW_ROWS

BATCH: Final = 1 << 17
MOST_THREADS: Final = 8
Progress = Callable[[float], None]


def ledger_of_file(
    source: Source,
    progress: Progress | None = None,
    *,
    threads: int | None = None,
    batch: int = BATCH,
    compiled: bool | None = None,
) -> Ledger:
    """Return the ledger of a working file: the same bits as `wetrun.fieldlog.ledger.ledger_of` of its trace.

    Parameters
    ----------
    source
        The file; an open stream is read by one thread.
    progress
        Called after each row group with the share done, 0 to 1.
    threads
        How many threads; None for one per core.
    batch
        How many instants are decoded at a time.
    compiled
        Whether to use the compiled loop; None for where it is worth the seconds it takes to compile, which come once
        in a process.

    Raises
    ------
    LogRefused
        When it is no working file, or damaged.
    """
    file = working_file(source)
    if not isinstance(source, Path):
        threads = 1
    count = max(1, min(threads or os.cpu_count() or 1, MOST_THREADS, file.groups))
    groups = _Groups(file.groups, progress)
    if compiled is None:
        compiled = file.instants > FEW_ROWS or loop_is_ready()
    parts = [RunningLedger(compiled=compiled) for _ in range(count)]
    with ThreadPoolExecutor(count) as pool:
        waiting = [pool.submit(_add_groups, part, file, groups, batch) for part in parts]
        for done in waiting:
            done.result()
    return joined(parts)


class _Groups:
    """The row groups of a file, each given to one thread; telling how far it is, and ending early after a fault."""

    def __init__(self, count: int, progress: Progress | None) -> None:
        self._count = count
        self._progress = progress
        self._next = 0
        self._lock = Lock()

    def __iter__(self) -> Iterator[int]:
        while (number := self._taken()) is not None:
            yield number

    def _taken(self) -> int | None:
        with self._lock:
            number, self._next = self._next, self._next + 1
            if self._progress and number <= self._count:
                self._progress(number / max(self._count, 1))
            return number if number < self._count else None

    def end(self) -> None:
        """Give out no more."""
        self._count = 0


def _add_groups(part: RunningLedger, file: WorkingFile, groups: _Groups, batch: int) -> None:
    try:
        parquet = file.parquet()
        for group in groups:
            for arrays in arrays_in(file, NEEDED, instants=batch, groups=[group], parquet=parquet):
                part.add(LedgerColumns(**arrays))
        part.empty()
    except BaseException:
        groups.end()
        raise
