"""How a job goes on: how long it will still take, and whether anybody is at it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from wetrun.shop.jobs.models import Job, State

LEAST_FRAC: Final = 0.02
"""Progress of an attempt below which its pace says nothing."""


def time_left(job: Job, at: datetime) -> timedelta | None:
    """Return how long a job will still take if it goes on at the pace of its latest attempt.

    Parameters
    ----------
    job : Job
        Of any state.
    at : datetime
        Now.

    Returns
    -------
    timedelta or None
        None while nothing can be said: nobody at it, or hardly begun.
    """
    if job.state != State.RUNNING or job.begun_at is None or silence(job, at) is not None:
        return None
    done = job.progress - job.begun_progress
    if done < LEAST_FRAC:
        return None
    return max(timedelta(), at - job.begun_at) * ((1 - job.progress) / done)


def silence(job: Job, at: datetime) -> timedelta | None:
    """Return for how long nobody has been at an open job.

    Parameters
    ----------
    job : Job
        Of any state.
    at : datetime
        Now.

    Returns
    -------
    timedelta or None
        Since it waits, or since its worker's lease ran out; None while somebody is at it, and after it has ended.
    """
    if job.state == State.WAITING:
        return max(timedelta(), at - job.waiting_since)
    if job.lease_until is not None and job.lease_until < at:
        return at - job.lease_until
    return None
