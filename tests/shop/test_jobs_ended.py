"""Jobs that ended long ago are let go, but never the latest about anything, nor what is open."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from tests.shop_jobs import NOON, Clock, ask, handling, make_worker

from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs.ended import KEPT_FOR, let_go
from wetrun.shop.jobs.models import Job, JobPart, State
from wetrun.shop.jobs.worker import TIDIED_EVERY

pytestmark = pytest.mark.django_db
LONG_AGO = NOON - KEPT_FOR - timedelta(days=1)


def ended(branch: Branch, at: datetime, *, key: str = "7", kind: str = "replay") -> Job:
    """A job about a record, done."""
    about = {"subject": "records.fieldlog", "subject_key": key}
    return Job.objects.create(branch=branch, kind=kind, words="A replay", state=State.DONE, ended_at=at, **about)


def left() -> set[int]:
    return set(Job.objects.values_list("pk", flat=True))


def test_only_old_ones_with_a_later_one_of_their_kind_and_subject_go(branch: Branch) -> None:
    old, older = ended(branch, LONG_AGO), ended(branch, LONG_AGO - timedelta(days=9))
    JobPart.objects.create(job=old, key="one", attempt=1)
    recent = ended(branch, NOON - timedelta(days=1))
    alone, other = ended(branch, LONG_AGO, key="8"), ended(branch, LONG_AGO, kind="reading")
    with handling(sum=lambda _: None):
        waiting = ask(branch, numbers=[1])
    Job.objects.filter(pk=waiting.pk).update(made_at=LONG_AGO)
    assert let_go(NOON) == 2
    assert left() == {recent.pk, alone.pk, other.pk, waiting.pk}
    assert not JobPart.objects.exists()
    assert older.pk not in left()
    assert let_go(NOON) == 0


def test_a_worker_with_nothing_to_do_tidies_once_an_hour(branch: Branch) -> None:
    clock = Clock()
    worker = make_worker(clock)
    with handling(sum=lambda job: {"sum": sum(job.args["numbers"])}):
        ended(branch, LONG_AGO)
        ended(branch, NOON)
        worker.run(0, once=True)
        assert Job.objects.count() == 1
        ended(branch, LONG_AGO)
        ended(branch, NOON)
        worker.run(0, once=True)
        assert Job.objects.count() == 3
        clock.go(TIDIED_EVERY.total_seconds())
        worker.run(0, once=True)
        assert Job.objects.count() == 2
