"""The lease: one worker at a time, taken over when it falls silent, and nothing written by whoever lost it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_customer
from tests.shop_jobs import MINUTE, NOON, ask, handling

from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs.asking import cancel, retry
from wetrun.shop.jobs.lease import (
    Cancelled,
    Hold,
    LeaseLost,
    claimed,
    finish,
    give_back,
    keep_part,
    look,
    renew,
    stop,
)
from wetrun.shop.jobs.models import MOST_ATTEMPTS, Job, JobPart, State
from wetrun.shop.records.models import Customer

SECOND = timedelta(seconds=1)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def known() -> Iterator[None]:
    with handling(sum=lambda _: None):
        yield


def taken(worker: str = "first", at: timedelta = timedelta()) -> Hold:
    """The next job, held for a minute from so long after noon."""
    job = claimed(worker, MINUTE, NOON + at)
    assert job is not None
    return Hold(job.pk, worker, job.attempts, MINUTE)


def test_nothing_to_do_is_none(branch: Branch) -> None:
    assert claimed("first", MINUTE, NOON) is None


def test_a_job_is_taken_once_and_the_next_worker_gets_the_next(branch: Branch) -> None:
    first, second = ask(branch, n=1), ask(branch, n=2)
    assert [taken("a").job, taken("b").job] == [first.pk, second.pk]
    assert claimed("c", MINUTE, NOON) is None


def test_a_lease_holds_to_its_last_instant_and_then_anybody_may_take_over(branch: Branch) -> None:
    ask(branch)
    hold = taken("first")
    assert claimed("second", MINUTE, NOON + MINUTE) is None
    over = taken("second", MINUTE + SECOND)
    assert (over.job, over.attempt) == (hold.job, hold.attempt + 1)


def test_a_renewed_lease_holds_from_the_renewal(branch: Branch) -> None:
    ask(branch)
    hold = taken()
    renew(hold, NOON + 50 * SECOND, progress=0.25, progress_words="1 of 4")
    assert claimed("second", MINUTE, NOON + 110 * SECOND) is None
    job = Job.objects.get()
    assert (job.progress, job.progress_words) == (0.25, "1 of 4")


def test_a_silent_worker_keeps_its_job_until_somebody_else_takes_it(branch: Branch) -> None:
    ask(branch)
    hold = taken()
    renew(hold, NOON + 60 * MINUTE)
    assert claimed("second", MINUTE, NOON + 61 * MINUTE) is None


@pytest.mark.parametrize("over_worker", ["second", "first"])
def test_a_worker_that_lost_its_lease_can_write_nothing_even_under_its_own_name(
    branch: Branch, over_worker: str
) -> None:
    ask(branch)
    late = taken("first")
    now = taken(over_worker, 2 * MINUTE)
    saved = []
    for write in (
        lambda: renew(late, NOON + 2 * MINUTE, progress=0.9),
        lambda: look(late),
        lambda: keep_part(late, "one", 1),
        lambda: finish(late, lambda: saved.append("late"), NOON),
        lambda: stop(late, State.FAILED, NOON, "late"),
        lambda: give_back(late, NOON, counted=True),
    ):
        with pytest.raises(LeaseLost):
            write()
    job = Job.objects.get()
    assert saved == []
    assert (job.state, job.worker, job.progress, job.problem) == (State.RUNNING, over_worker, 0, "")
    assert not JobPart.objects.exists()
    look(now)


def test_result_and_done_mark_are_one(branch: Branch) -> None:
    ask(branch)
    hold = taken()

    def save() -> dict[str, str]:
        make_customer(branch, "Kept by a job")
        raise RuntimeError("after saving")

    with pytest.raises(RuntimeError):
        finish(hold, save, NOON)
    assert not Customer.objects.filter(name="Kept by a job").exists()
    assert Job.objects.get().state == State.RUNNING
    finish(hold, lambda: {"customer": make_customer(branch, "Kept by a job").pk}, NOON + SECOND)
    job = Job.objects.get()
    assert (job.state, job.result, job.progress) == (State.DONE, {"customer": Customer.objects.get().pk}, 1)
    assert (job.worker, job.lease_until, job.ended_at) == ("", None, NOON + SECOND)


def test_the_worker_that_takes_over_finds_what_was_finished_and_a_done_job_keeps_none_of_it(branch: Branch) -> None:
    ask(branch)
    keep_part(taken("first"), "one", {"sum": 1})
    hold = taken("second", 2 * MINUTE)
    assert {part.key: part.value for part in JobPart.objects.all()} == {"one": {"sum": 1}}
    finish(hold, lambda: None, NOON + 2 * MINUTE)
    assert not JobPart.objects.exists()


def test_a_job_whose_workers_die_is_given_up_in_words_after_so_many_attempts(branch: Branch) -> None:
    ask(branch)
    for n in range(MOST_ATTEMPTS):
        taken(f"worker {n}", 2 * n * MINUTE)
    assert claimed("one more", MINUTE, NOON + 2 * MOST_ATTEMPTS * MINUTE) is None
    job = Job.objects.get()
    assert (job.state, job.attempts, job.ended_at) == (State.FAILED, 3, NOON + 2 * MOST_ATTEMPTS * MINUTE)
    assert job.problem.startswith("It was begun 3 times and never came to its end")
    assert "Try again" in job.problem


def test_a_worker_that_is_asked_to_end_costs_a_job_none_of_its_attempts(branch: Branch) -> None:
    ask(branch)
    for _ in range(2 * MOST_ATTEMPTS):
        give_back(taken(), NOON, counted=False)
    for _ in range(MOST_ATTEMPTS):
        give_back(taken(), NOON, counted=True)
    assert claimed("first", MINUTE, NOON) is None
    assert Job.objects.get().state == State.FAILED


def test_who_is_late_is_told_apart_after_a_retry_too(branch: Branch) -> None:
    job = ask(branch)
    late = taken("first")
    stop(late, State.FAILED, NOON, "no")
    retry(job, NOON)
    now = taken("first")
    assert now.attempt == late.attempt + 1
    with pytest.raises(LeaseLost):
        finish(late, lambda: None, NOON)


def test_a_cancelled_job_saves_nothing_though_its_worker_is_about_to(branch: Branch) -> None:
    job = ask(branch)
    hold = taken()
    assert cancel(job, NOON).state == State.RUNNING
    renew(hold, NOON)
    for last in (lambda: look(hold), lambda: finish(hold, lambda: make_customer(branch), NOON)):
        with pytest.raises(Cancelled):
            last()
    assert not Customer.objects.exists()
    stop(hold, State.CANCELLED, NOON)
    assert Job.objects.get().state == State.CANCELLED


def test_a_cancelled_job_of_a_dead_worker_is_not_begun_again(branch: Branch) -> None:
    job = ask(branch)
    taken()
    cancel(job, NOON)
    assert claimed("second", MINUTE, NOON + 2 * MINUTE) is None
    assert Job.objects.get().state == State.CANCELLED


def test_branches_take_turns_however_much_one_of_them_asks(branch: Branch, other_branch: Branch) -> None:
    many = [ask(branch, n=n).pk for n in range(3)]
    few = [ask(other_branch, n=n).pk for n in range(2)]
    order = [taken("only", n * SECOND).job for n in range(5)]
    assert order == [many[0], few[0], many[1], few[1], many[2]]


def test_looking_for_work_where_there_is_none_makes_no_writer_wait(
    branch: Branch, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    ask(branch)
    taken()
    with django_assert_num_queries(1):
        assert claimed("second", MINUTE, NOON) is None


def test_a_hold_of_a_worker_nobody_knows_writes_nothing(branch: Branch) -> None:
    ask(branch)
    hold = taken()
    for stranger in (replace(hold, worker="nobody"), replace(hold, attempt=2), replace(hold, job=hold.job + 1)):
        with pytest.raises(LeaseLost):
            renew(stranger, NOON)
