"""A process of the shop: started, watched, started again if it may die, stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Final

from wetrun.shop.lifeline import VARIABLE
from wetrun.units import S

FIRST_PAUSE_S: Final = 1.0
LONGEST_PAUSE_S: Final = 60.0
HEALTHY_S: Final = 60.0
"""A process that lived this long is taken to have been well: the pause before its next start is the first one again."""


class Pauses:
    """How long to wait before something that died is started again: twice as long each time, and not for ever."""

    def __init__(self) -> None:
        self._next_s = FIRST_PAUSE_S

    def after(self, lived_s: S) -> S:
        """Return the pause after a life of some length.

        Parameters
        ----------
        lived_s : float
            How long it lived [s].

        Returns
        -------
        float
            In seconds [s].

        Example
        -------
        >>> pauses = Pauses()
        >>> [pauses.after(lived_s) for lived_s in (0.1, 0.1, 0.1, 90.0, 0.1)]
        [1.0, 2.0, 4.0, 1.0, 2.0]
        """
        if lived_s >= HEALTHY_S:
            self._next_s = FIRST_PAUSE_S
        pause_s, self._next_s = self._next_s, min(2 * self._next_s, LONGEST_PAUSE_S)
        return pause_s


class Child:
    """One process, in a session of its own so that Ctrl-C reaches the shop once and not every part of it.

    Parameters
    ----------
    name : str
        As it is told of: "the job worker".
    words : sequence of str
        What follows ``python``.
    environ : mapping of str to str
        Its environment.
    """

    def __init__(self, name: str, words: Sequence[str], environ: Mapping[str, str]) -> None:
        self.name = name
        self._words = [sys.executable, *words]
        self._environ = {**environ, VARIABLE: "1"}
        self._process: subprocess.Popen[bytes] | None = None
        self._begun = 0.0
        self._pauses = Pauses()
        self._next: float | None = None

    def start(self) -> None:
        """Start it. Its standard input is a pipe that ends with this process, whatever ends this process."""
        self._process = subprocess.Popen(  # noqa: S603 - our own interpreter
            self._words, stdin=subprocess.PIPE, env=self._environ, start_new_session=True
        )
        self._begun = time.monotonic()

    @property
    def runs(self) -> bool:
        """Whether it was started and has not ended."""
        return self._process is not None and self.code is None

    @property
    def code(self) -> int | None:
        """Its exit code; None while it runs, or before it was started."""
        return None if self._process is None else self._process.poll()

    def keep(self) -> str:
        """Start it again if it died, after a pause that doubles each time, and return what to say of that.

        Returns
        -------
        str
            Empty unless it just died.
        """
        if self.code is None:
            return ""
        now = time.monotonic()
        if self._next is None:
            pause_s = self._pauses.after(now - self._begun)
            self._next = now + pause_s
            return f"{self.name.capitalize()} ended (code {self.code}); it is started again in {pause_s:.0f} s."
        if now >= self._next:
            self._next = None
            self.start()
        return ""

    def ask_to_stop(self) -> None:
        """Ask it to end; what it is at, it may finish."""
        if self._process is not None and self.runs:
            self._process.terminate()

    def end(self) -> None:
        """End it and whatever it started, if it did not come to an end by itself."""
        if self._process is None:
            return
        if os.name == "posix":
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(self._process.pid, signal.SIGKILL)
        elif self.code is None:
            self._process.kill()
        self._process.wait()
        if self._process.stdin is not None:
            self._process.stdin.close()
