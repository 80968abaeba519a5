"""The lease: who may do a job, and who may write to it.

A worker holds a job until a moment, and renews that while it works. Past the moment anybody may take the job over. A
worker that was only slow and comes back finds that the job is no longer its own: every write asks for worker and
attempt in the same transaction. Clocks therefore decide how soon a job is taken over, never whose result stands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.utils.translation import gettext as _

from wetrun.shop.jobs.models import Job, JobPart, State


class Interrupted(BaseException):
    """Ends a handler from outside. Not an Exception, so that a handler's own `except` lets it through."""


class LeaseLost(Interrupted):
    """Another worker has the job now, or nobody; nothing was written."""


class Cancelled(Interrupted):
    """Somebody wants the job no more; nothing was written."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A worker's hold on a job.

    Attributes
    ----------
    job : int
        Key of the job.
    worker : str
        Name of the worker, like no other's.
    attempt : int
        Which attempt at the job this is.
    lease : timedelta
        For how long each renewal holds.
    """

    job: int
    worker: str
    attempt: int
    lease: timedelta


def claimed(worker: str, lease: timedelta, at: datetime) -> Job | None:
    """Return the next job, now held by a worker; None if there is nothing to do.

    Branches take turns: next is the one whose last job was begun longest ago, and within it the job asked for first.

    Parameters
    ----------
    worker : str
        Who takes it.
    lease : timedelta
        How long the worker may be silent before another takes over.
    at : datetime
        Now.

    Returns
    -------
    Job or None
        Under way, one attempt further.
    """
    due = Job.objects.filter(Q(state=State.WAITING) | Q(state=State.RUNNING, lease_until__lt=at))
    if not due.exists():  # most looks find nothing, and need not make writers wait
        return None
    with transaction.atomic():
        _take_back_expired(at)
        job = _next()
        if job is not None:
            _begin(job, worker, lease, at)
    return job


def _take_back_expired(at: datetime) -> None:
    expired = Job.objects.select_for_update(skip_locked=True).filter(state=State.RUNNING, lease_until__lt=at)
    for job in expired:
        _let_go(job, at)


def _next() -> Job | None:
    last_begun = Job.objects.filter(branch=OuterRef("branch"), begun_at__isnull=False).order_by("-begun_at")
    return (
        Job.objects.select_for_update(skip_locked=True)
        .filter(state=State.WAITING)
        .annotate(turn=Subquery(last_begun.values("begun_at")[:1]))
        .order_by(F("turn").asc(nulls_first=True), "pk")
        .first()
    )


def _begin(job: Job, worker: str, lease: timedelta, at: datetime) -> None:
    job.state = State.RUNNING
    job.worker = worker
    job.attempts += 1
    job.lease_until = at + lease
    job.begun_at = at
    job.begun_progress = job.progress
    job.save()


def _let_go(job: Job, at: datetime) -> None:
    """Put a job back whose worker is done with it, without a result; not for ever, and not if nobody wants it."""
    if job.cancel_asked:
        end(job, State.CANCELLED, at)
    elif job.attempts >= job.most_attempts:
        job.problem = _(
            "It was begun %(n)s times and never came to its end: each time the worker or the database was gone before. "
            "What was finished is kept. Try again; if that ends the same way, look into the worker's log on the server."
        ) % {"n": job.attempts}
        end(job, State.FAILED, at)
    else:
        job.state = State.WAITING
        job.worker = ""
        job.lease_until = None
        job.waiting_since = at
        job.save()


def end(job: Job, state: State, at: datetime) -> None:
    """Write that a job has ended. To be called inside a transaction that has the job locked.

    Parameters
    ----------
    job : Job
        As the transaction read it.
    state : State
        Done, failed or cancelled.
    at : datetime
        Now.
    """
    job.state = state
    job.worker = ""
    job.lease_until = None
    job.ended_at = at
    job.save()


def _held(hold: Hold) -> QuerySet[Job]:
    return Job.objects.filter(pk=hold.job, worker=hold.worker, attempts=hold.attempt, state=State.RUNNING)


def renew(hold: Hold, at: datetime, **columns: Any) -> None:  # noqa: ANN401 - columns of the job
    """Hold a job for one more lease, and write how far it is.

    Parameters
    ----------
    hold : Hold
        Whose.
    at : datetime
        Now.
    **columns
        Progress and its words.

    Raises
    ------
    LeaseLost
        If the job is no longer this worker's.
    """
    if not _held(hold).update(lease_until=at + hold.lease, **columns):
        raise LeaseLost


def look(hold: Hold) -> None:
    """Look whether a job is still this worker's, and still wanted.

    Raises
    ------
    LeaseLost
        If it is another's.
    Cancelled
        If nobody wants it any more.
    """
    asked = _held(hold).values_list("cancel_asked", flat=True).first()
    if asked is None:
        raise LeaseLost
    if asked:
        raise Cancelled


@contextmanager
def writing(hold: Hold) -> Iterator[Job]:
    """Open a transaction in which a job is this worker's, and stays so until it is through.

    Yields
    ------
    Job
        Locked.

    Raises
    ------
    LeaseLost
        If it is another's.
    """
    with transaction.atomic(durable=True):
        job = _held(hold).select_for_update().first()
        if job is None:
            raise LeaseLost
        yield job


def keep_part(hold: Hold, key: str, value: Any) -> None:  # noqa: ANN401 - a document
    """Keep a finished part of a job.

    Raises
    ------
    LeaseLost
        If the job is another's: then the part is that worker's to do.
    """
    with writing(hold) as job:
        JobPart.objects.create(job=job, key=key, value=value, attempt=hold.attempt)


def finish(hold: Hold, save: Callable[[], Any], at: datetime) -> Any:  # noqa: ANN401 - a document
    """Save what a job was for and mark it done, both or neither.

    Parameters
    ----------
    hold : Hold
        Whose.
    save : callable
        Saves; returns the job's result, a document. Called inside the transaction.
    at : datetime
        Now.

    Returns
    -------
    document
        What `save` returned.

    Raises
    ------
    LeaseLost
        If the job is another's.
    Cancelled
        If nobody wants it any more.
    """
    with writing(hold) as job:
        if job.cancel_asked:
            raise Cancelled
        job.result = save()
        job.progress = 1.0
        job.progress_words = ""
        end(job, State.DONE, at)
        job.parts.all().delete()
    return job.result


def stop(hold: Hold, state: State, at: datetime, problem: str = "") -> None:
    """Write that a job ended without a result; its parts stay for another try.

    Raises
    ------
    LeaseLost
        If it is another's.
    """
    with writing(hold) as job:
        job.problem = problem
        end(job, state, at)


def give_back(hold: Hold, at: datetime, *, counted: bool) -> None:
    """Let another worker go on with a job.

    Parameters
    ----------
    hold : Hold
        Whose.
    at : datetime
        Now.
    counted : bool
        Whether this attempt counts among those it may have; not if the worker was asked to end.

    Raises
    ------
    LeaseLost
        If it is another's already.
    """
    with writing(hold) as job:
        job.most_attempts += 0 if counted else 1
        _let_go(job, at)
