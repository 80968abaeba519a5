"""The worker: takes jobs, one at a time, and sees each to an end or back into the queue."""

from __future__ import annotations

import logging
import os
import secrets
import socket
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from typing import Final

from django.db import InterfaceError, OperationalError, close_old_connections, connection
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.errors import WetrunError
from wetrun.quantity import System, sentence
from wetrun.shop.jobs.ended import let_go
from wetrun.shop.jobs.handlers import NobodyHandles, handler_of
from wetrun.shop.jobs.heart import beating
from wetrun.shop.jobs.lease import Cancelled, Hold, LeaseLost, claimed, give_back, stop
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.jobs.running import Running, Stopped
from wetrun.units import S

LEASE: Final = timedelta(seconds=60)
"""How long a job of a worker that was killed waits for the next one. Longer than SQLite makes a writer wait, by far."""
NAP_S: Final = 0.1
TIDIED_EVERY: Final = timedelta(hours=1)
_DATABASE_GONE: Final = (OperationalError, InterfaceError)

logger = logging.getLogger(__name__)


def name_of_worker() -> str:
    """Return a name that no other worker has, nor has had."""
    return f"{socket.gethostname()[:60]} {os.getpid()} {secrets.token_hex(6)}"


def drop_broken_connection() -> None:
    """Let the next query begin with a connection that works; not inside a transaction, whose connection it needs."""
    if not connection.in_atomic_block:
        close_old_connections()


class Worker:
    """Does jobs, one at a time.

    Parameters
    ----------
    lease : timedelta
        How long it may be silent before another worker takes its job over.
    now : callable
        The clock.
    heart : callable
        Renews the lease while a job is under way.
    """

    def __init__(
        self,
        *,
        lease: timedelta = LEASE,
        now: Callable[[], datetime] = timezone.now,
        heart: Callable[[Hold, Callable[[], datetime]], AbstractContextManager[None]] = beating,
    ) -> None:
        self.name = name_of_worker()
        self.lease = lease
        self.is_stopping = False
        self._now = now
        self._tidied_at: datetime | None = None
        self._heart = heart

    def stop(self) -> None:
        """Ask the worker to end: it gives its job back at the job's next look, unless that is done before."""
        self.is_stopping = True

    def run(self, idle_s: S, *, once: bool = False) -> None:
        """Do jobs until asked to end.

        Parameters
        ----------
        idle_s : float
            Time between two looks when there is nothing to do [s].
        once : bool
            End as soon as there is nothing to do.
        """
        while not self.is_stopping:
            drop_broken_connection()
            try:
                job = self.do_next()
                if job is None:
                    self._tidy()
            except _DATABASE_GONE:
                logger.exception("the database cannot be reached; trying again")
                job = None
            if job is None:
                if once:
                    break
                self._rest(idle_s)

    def _tidy(self) -> None:
        """Let old jobs go, once an hour, when there is nothing to do."""
        now = self._now()
        if self._tidied_at is None or now - self._tidied_at >= TIDIED_EVERY:
            self._tidied_at = now
            if count := let_go(now):
                logger.info("%s jobs that ended long ago were let go", count)

    def _rest(self, idle_s: float) -> None:
        # In naps: a signal only sets a flag, and nobody has to wait for the end of a long rest.
        until = time.monotonic() + idle_s
        while not self.is_stopping and time.monotonic() < until:
            time.sleep(min(NAP_S, idle_s))

    def do_next(self) -> Job | None:
        """Do the next job and return it as it was claimed; None if there is nothing to do."""
        job = claimed(self.name, self.lease, self._now())
        if job is not None:
            hold = Hold(job.pk, self.name, job.attempts, self.lease)
            logger.info("job %s begun: %s, attempt %s", job.pk, job.kind, job.attempts)
            with self._heart(hold, self._now):
                self._see_through(job, hold)
        return job

    def _see_through(self, job: Job, hold: Hold) -> None:
        try:
            self._handle(job, hold)
            logger.info("job %s is off the bench", job.pk)
        except LeaseLost:
            logger.warning("job %s is no longer this worker's: nothing of it was written", job.pk)

    def _handle(self, job: Job, hold: Hold) -> None:
        try:
            running = Running(job, hold, now=self._now, stopping=lambda: self.is_stopping)
            result = handler_of(job.kind)(running)
            if not running.is_finished:
                running.finish(lambda: result)
        except Cancelled:
            stop(hold, State.CANCELLED, self._now())
        except Stopped:
            give_back(hold, self._now(), counted=False)
        except _DATABASE_GONE:
            logger.exception("job %s: the database is gone", job.pk)
            drop_broken_connection()
            give_back(hold, self._now(), counted=True)
        except Exception as error:
            logger.log(_level(error), "job %s failed", job.pk, exc_info=True)
            drop_broken_connection()
            stop(hold, State.FAILED, self._now(), problem_of(error, job))


def _level(error: Exception) -> int:
    return logging.INFO if isinstance(error, WetrunError) else logging.ERROR


def problem_of(error: Exception, job: Job) -> str:
    """Return what to tell people about a job that failed.

    Parameters
    ----------
    error : Exception
        What its handler raised.
    job : Job
        The job.

    Returns
    -------
    str
        Wetrun's own sentence, in the branch's units; of any other error its name, and where to find the rest.
    """
    if isinstance(error, WetrunError):
        return sentence(error, System(job.branch.units))
    if isinstance(error, NobodyHandles):
        return _(
            "This worker does not know how to do “%(kind)s”. Update it to the server's version, then try again."
        ) % {"kind": error.kind}
    return _(
        "Something went wrong that Wetrun has no words for (%(name)s). What was finished is kept. Try again; if that "
        "ends the same way, look into the worker's log on the server, under job %(key)s."
    ) % {"name": type(error).__name__, "key": job.pk}
