"""Work on a log that waits until it is told to go on, or that ends the process that tries it.

These are carried out in processes of their own, so they stand in a module that those can import, and quickly.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable

from wetrun.fleet.tally_task import LogOutcome, LogTask, outcome_of

PATIENCE_S = 60.0
STOP = "stop"
DEADLY = "deadly"


def tally_when_free(task: LogTask) -> LogOutcome:
    """The work on a log; one named *stop* says which process has it, and waits until it may go on."""
    if task.path.stem == STOP:
        (task.path.parent / f".{os.getpid()}.pid").touch()
        wait_for((task.path.parent / ".free").exists)
    return outcome_of(task)


def tally_or_die(task: LogTask) -> LogOutcome:
    """The work on a log; one named *deadly* ends the process that tries it."""
    if task.path.stem.startswith(DEADLY):
        os._exit(9)
    return outcome_of(task)


def die(_: LogTask) -> LogOutcome:
    """End the process, whatever the log."""
    os._exit(9)


def wait_for(happened: Callable[[], object]) -> None:
    """Wait until something is so."""
    end = time.monotonic() + PATIENCE_S
    while not happened():
        if time.monotonic() > end:
            raise TimeoutError("it did not happen")
        time.sleep(0.01)
