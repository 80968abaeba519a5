"""What people do with jobs: ask for one, want it no more, try it again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from django.db import IntegrityError, models, transaction

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.document_field import document_text
from wetrun.shop.jobs.handlers import handler_of
from wetrun.shop.jobs.lease import end
from wetrun.shop.jobs.models import MOST_ATTEMPTS, OPEN, Job, State

MOST_ARGS_BYTES: Final = 100_000


def asked(
    branch: Branch,
    kind: str,
    *,
    by: User | None,
    words: str,
    args: Mapping[str, Any],
    subject: models.Model | None = None,
) -> Job:
    """Ask for a job. Asked again while it is waiting or under way, it is the same job.

    Called inside the transaction that keeps what the job is to work on, so that a worker sees both or neither.

    Parameters
    ----------
    branch : Branch
        Whose work it is.
    kind : str
        Which handler does it.
    by : User or None
        Who asks; None for the worker itself.
    words : str
        What it does, for people: "Tip plan for Number 7".
    args : mapping
        All the handler needs, as a small document: keys of records, not what is in them. Whatever makes the question
        another one belongs here: with the digest of a season in it, a season changed meanwhile is a new question.
    subject : Model or None
        The record it is about.

    Returns
    -------
    Job
        Waiting, or under way already.

    Raises
    ------
    NobodyHandles
        If nobody handles that kind.
    ValueError
        If the args are too large to be keys and settings.
    TypeError
        If they cannot stand in a document.
    """
    handler_of(kind)
    about = ("", "") if subject is None else (subject._meta.model_name or "", str(subject.pk))
    question = _question(kind, about, args)
    found = _open(branch.pk, question)
    if found is not None:
        return found
    job = Job(branch=branch, kind=kind, made_by=by, words=words[:200], args=dict(args), question=question)
    job.subject, job.subject_key = about
    try:
        with transaction.atomic():
            job.save()
    except IntegrityError:  # another click was quicker, and its job may have ended by now
        return _open(branch.pk, question) or asked(branch, kind, by=by, words=words, args=args, subject=subject)
    return job


def _open(branch_id: int, question: str) -> Job | None:
    return Job.objects.filter(branch=branch_id, question=question, state__in=OPEN, cancel_asked=False).first()


def _question(kind: str, about: tuple[str, str], args: Mapping[str, Any]) -> str:
    text = document_text(dict(args))
    if len(text.encode()) > MOST_ARGS_BYTES:
        raise ValueError(f"the args of “{kind}” are {len(text)} characters long: keys and settings belong there")
    whole = json.dumps([kind, *about, json.loads(text)], sort_keys=True)
    return hashlib.sha256(whole.encode()).hexdigest()


def cancel(job: Job, at: datetime) -> Job:
    """Want a job no more. From now on it saves no result, even if it is about to.

    Parameters
    ----------
    job : Job
        Of any state; one that has ended stays as it is.
    at : datetime
        Now.

    Returns
    -------
    Job
        Cancelled if nobody was at it; else its worker stops as soon as it looks up.
    """
    with transaction.atomic():
        now = Job.objects.select_for_update().get(pk=job.pk)
        if now.state == State.WAITING or (now.lease_until is not None and now.lease_until < at):
            end(now, State.CANCELLED, at)
        elif now.is_open:
            now.cancel_asked = True
            now.save()
    return now


def retry(job: Job, at: datetime) -> Job:
    """Try a job again that failed or was cancelled; what was finished of it is not done again.

    Parameters
    ----------
    job : Job
        Of any state; one that is open or done stays as it is.
    at : datetime
        Now.

    Returns
    -------
    Job
        Waiting; or the job that asks the same and is open already.
    """
    try:
        with transaction.atomic():
            now = Job.objects.select_for_update().get(pk=job.pk)
            if now.state in {State.FAILED, State.CANCELLED}:
                _reopen(now, at)
    except IntegrityError:  # the same was asked anew in the meantime
        return _open(job.branch_id, job.question) or job
    return now


def _reopen(job: Job, at: datetime) -> None:
    job.state = State.WAITING
    job.waiting_since = at
    job.cancel_asked = False
    job.problem = ""
    job.ended_at = None
    job.most_attempts = job.attempts + MOST_ATTEMPTS
    job.save()
