"""How far a fleet is: logs a minute, megabytes a second and the time left, on standard error."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Final, Self

from wetrun.cli.telling import console

if TYPE_CHECKING:
    from rich.status import Status

    from wetrun.fleet.tally_task import LogOutcome

LINE_EVERY_S: Final = 30.0
MEGABYTE: Final = 1_000_000
S_PER_MIN: Final = 60


class FleetProgress:
    """Watches logs get done; a context manager. A terminal sees one line that moves, a file one line now and then.

    Parameters
    ----------
    logs : int
        How many there are.
    size : int
        Their bytes together.
    clock : callable
        Seconds that only go forward.
    """

    def __init__(self, logs: int, size: int, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._logs, self._size, self._clock = logs, size, clock
        self._done = self._known = self._refused = 0
        self._read = self._passed = 0
        self._start = self._told = clock()
        self._status: Status | None = None

    def __enter__(self) -> Self:
        shown = console(to_error=True)
        if shown.is_terminal:
            self._status = shown.status(self.words())
            self._status.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._status is not None:
            self._status.stop()

    def done(self, size: int, outcome: LogOutcome) -> None:
        """Take note of a log of so many bytes."""
        self._done += 1
        self._known += outcome.known
        self._refused += bool(outcome.refused)
        self._passed += size
        # What was there already took no time, and would make the rest look quicker than it will be.
        self._read += 0 if outcome.known else size
        if self._status is not None:
            self._status.update(self.words())
        elif self._clock() - self._told >= LINE_EVERY_S:
            self._told = self._clock()
            print(self.words(), file=sys.stderr, flush=True)  # noqa: T201

    def words(self) -> str:
        """Return how far it is, as one line.

        Returns
        -------
        str
            Rates are those of logs that were really read; the time left is that of the bytes still to come.
        """
        parts = [f"{self._done:,} of {self._logs:,} logs"]
        parts += [f"{self._known:,} known before"] if self._known else []
        parts += [f"{self._refused:,} refused"] if self._refused else []
        took_s = self._clock() - self._start
        worked = self._done - self._known
        if worked and took_s > 0:
            parts.append(f"{worked / took_s * S_PER_MIN:.0f} logs/min")
            parts.append(f"{self._read / took_s / MEGABYTE:.1f} MB/s")
        if self._read and took_s > 0:
            parts.append(f"{_clock_words((self._size - self._passed) / self._read * took_s)} left")
        return ", ".join(parts)


def _clock_words(left_s: float) -> str:
    minutes, seconds = divmod(round(left_s), S_PER_MIN)
    hours, minutes = divmod(minutes, S_PER_MIN)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes}:{seconds:02d} min"
