"""Ties a process to whoever started it: `wetrun serve` killed outright leaves nobody behind who holds its port."""

from __future__ import annotations

import os
import signal
import threading
from typing import Final

from wetrun.shop import environment

VARIABLE: Final = "WETRUN_LIFELINE"
"""Set where standard input is a pipe that ends when the starter does."""


def tie() -> None:
    """Let this process end, as if asked to, once its starter is gone; where nobody asked for that, do nothing."""
    if environment.is_on(VARIABLE):
        del os.environ[VARIABLE]  # what this process starts has another standard input
        threading.Thread(target=_end_with_starter, name="lifeline", daemon=True).start()


def _end_with_starter() -> None:
    while os.read(0, 1024):
        pass
    os.kill(os.getpid(), signal.SIGTERM)
