"""The heart of a job: renews its lease, whatever the work itself is busy with."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Final

from django.db import Error, connection

from wetrun.shop.jobs.lease import Hold, LeaseLost, renew

BEATS: Final = 4
"""Renewals per lease."""

logger = logging.getLogger(__name__)


@contextmanager
def beating(hold: Hold, now: Callable[[], datetime]) -> Iterator[None]:
    """Renew a lease from a thread of its own, however long the work says nothing.

    Parameters
    ----------
    hold : Hold
        Whose.
    now : callable
        The clock.
    """
    done = threading.Event()
    heart = threading.Thread(target=_beat, args=(hold, now, done), name=f"heart of job {hold.job}", daemon=True)
    heart.start()
    try:
        yield
    finally:
        done.set()
        heart.join()


def _beat(hold: Hold, now: Callable[[], datetime], done: threading.Event) -> None:
    while not done.wait(hold.lease.total_seconds() / BEATS):
        try:
            renew(hold, now())
        except LeaseLost:
            break
        except Error:
            logger.warning("job %s: its lease could not be renewed this time", hold.job, exc_info=True)
            connection.close()
    connection.close()
