"""A worker sees a job through: parts once, progress, cancelling, failing in words, giving back."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial

import pytest
from django.db import OperationalError
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_customer
from tests.shop_jobs import NOON, Clock, ask, handling, make_worker

from wetrun.errors import InputProblems, OutOfRange, Problem
from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs.asking import cancel, retry
from wetrun.shop.jobs.handlers import Handler
from wetrun.shop.jobs.models import MOST_ATTEMPTS, Job, JobPart, State
from wetrun.shop.jobs.running import PAUSE, Result, Running
from wetrun.shop.jobs.worker import Worker
from wetrun.shop.records.models import Customer
from wetrun.units import PASCAL

pytestmark = pytest.mark.django_db


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def worker(clock: Clock) -> Worker:
    return make_worker(clock)


@contextmanager
def one_job(branch: Branch, handler: Handler) -> Iterator[Job]:
    """A job of a handler's, waiting."""
    with handling(sum=handler):
        yield ask(branch, numbers=[1, 2, 3])


def done(worker: Worker, job: Job) -> Job:
    """A job after a worker had its next one."""
    worker.do_next()
    job.refresh_from_db()
    return job


def test_a_job_gets_its_args_and_its_branch_and_its_answer_is_kept(branch: Branch, worker: Worker) -> None:
    def handler(job: Running) -> Result:
        return {"sum": sum(job.args["numbers"]), "branch": job.branch.pk}

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.DONE
    assert job.result == {"sum": 6, "branch": branch.pk}
    assert worker.do_next() is None


def test_what_a_handler_saves_as_it_finishes_is_there_once(branch: Branch, worker: Worker) -> None:
    def handler(job: Running) -> Result:
        return job.finish(lambda: {"customer": make_customer(job.branch, "Of a job").pk})

    with one_job(branch, handler) as job:
        done(worker, job)
    assert job.result == {"customer": Customer.objects.get(name="Of a job").pk}


def test_a_part_is_the_same_when_it_is_computed_and_when_it_is_found(branch: Branch, worker: Worker) -> None:
    seen = []

    def handler(job: Running) -> Result:
        seen.append(job.part("pair", lambda: {1: (2, 3)}))
        if len(seen) == 1:
            raise RuntimeError
        return None

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.FAILED
        retry(job, NOON)
        assert done(worker, job).state == State.DONE
    assert seen == [{"1": [2, 3]}, {"1": [2, 3]}]


def test_a_job_that_failed_goes_on_where_it_was_and_does_no_part_again(branch: Branch, worker: Worker) -> None:
    computed = []

    def handler(job: Running) -> Result:
        def square(n: int) -> int:
            computed.append(n)
            if computed == [1, 2]:
                raise RuntimeError("once")
            return n * n

        return {"squares": [job.part(f"number {n}", partial(square, n)) for n in job.args["numbers"]]}

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.FAILED
        retry(job, NOON)
        assert done(worker, job).result == {"squares": [1, 4, 9]}
    assert computed == [1, 2, 2, 3]


def test_a_part_that_no_document_can_hold_fails_the_job_and_leaves_no_part(branch: Branch, worker: Worker) -> None:
    with one_job(branch, lambda job: job.part("one", lambda: float("nan"))) as job:
        assert done(worker, job).state == State.FAILED
    assert not JobPart.objects.exists()


def test_a_part_s_key_that_is_too_long_is_refused_and_not_cut(branch: Branch, worker: Worker) -> None:
    with one_job(branch, lambda job: job.part("k" * 201, lambda: 1)) as job:
        assert "ValueError" in done(worker, job).problem


@pytest.mark.parametrize(("units", "said"), [("us", "72.5 psi"), ("si", "5.00 bar")])
def test_wetrun_s_own_errors_are_told_in_the_branch_s_units(
    branch: Branch, worker: Worker, units: str, said: str
) -> None:
    def handler(job: Running) -> Result:
        raise OutOfRange("tip pressure", 5e5, PASCAL, high=4e5, remedy="Take a larger tip.")

    Branch.objects.filter(pk=branch.pk).update(units=units)
    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.FAILED
    assert job.problem.startswith(f"Tip pressure is {said}: it must be at most ")


def test_every_problem_of_a_document_is_told(branch: Branch, worker: Worker) -> None:
    def handler(job: Running) -> Result:
        raise InputProblems([Problem("season.toml", key, "", "is missing", "Type it") for key in ("rate", "crop")])

    with one_job(branch, handler) as job:
        done(worker, job)
    assert job.problem.splitlines() == [
        "season.toml: rate: is missing. Type it.",
        "season.toml: crop: is missing. Type it.",
    ]


def test_any_other_error_is_named_to_people_and_told_in_full_to_the_log_only(
    branch: Branch, worker: Worker, caplog: pytest.LogCaptureFixture
) -> None:
    def handler(job: Running) -> Result:
        raise KeyError("/a/path/of/the/server")

    with one_job(branch, handler) as job:
        done(worker, job)
    assert (job.state, job.ended_at) == (State.FAILED, NOON)
    assert "(KeyError)" in job.problem
    assert f"job {job.pk}" in job.problem
    assert "/a/path" not in job.problem
    (record,) = [one for one in caplog.records if one.levelno == logging.ERROR]
    assert record.exc_info is not None
    assert "/a/path/of/the/server" in str(record.exc_info[1])


def test_a_kind_this_worker_does_not_know_is_told_as_such(branch: Branch, worker: Worker) -> None:
    with one_job(branch, lambda _: None) as job:
        pass
    assert done(worker, job).state == State.FAILED
    assert "does not know how to do “sum”" in job.problem


def test_a_failed_job_does_not_keep_the_worker_from_the_next(branch: Branch, worker: Worker) -> None:
    def handler(job: Running) -> Result:
        return {"share": 1 / job.args["n"]}

    with handling(share=handler):
        jobs = [ask(branch, "share", n=n) for n in (0, 2)]
        while worker.do_next():
            pass
    assert [Job.objects.get(pk=job.pk).state for job in jobs] == [State.FAILED, State.DONE]


def test_a_cancelled_job_stops_at_its_next_look_even_in_a_handler_that_catches_everything(
    branch: Branch, worker: Worker, clock: Clock
) -> None:
    reached = []

    def handler(job: Running) -> Result:
        for n in range(3):
            try:
                if n == 1:
                    cancel(Job.objects.get(), clock())
                clock.go(2)
                job.check()
                reached.append(n)
            except Exception:  # noqa: BLE001 - what careless handlers do
                reached.append(-1)
        return {"all": True}

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.CANCELLED
    assert (reached, job.result, job.problem) == ([0], None, "")


def test_a_job_cancelled_after_its_last_look_saves_nothing(branch: Branch, worker: Worker, clock: Clock) -> None:
    def handler(job: Running) -> Result:
        cancel(Job.objects.get(), clock())
        return job.finish(lambda: {"customer": make_customer(job.branch).pk})

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.CANCELLED
    assert not Customer.objects.exists()


def test_a_worker_that_is_to_end_gives_its_job_back_with_what_is_done_and_uncounted(
    branch: Branch, worker: Worker, clock: Clock
) -> None:
    computed = []

    def handler(job: Running) -> Result:
        def square(n: int) -> int:
            computed.append(n)
            if n == 2:
                worker.stop()
            return n * n

        return {"squares": [job.part(str(n), partial(square, n)) for n in job.args["numbers"]]}

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.WAITING
        assert (job.worker, job.lease_until, job.attempts, job.most_attempts) == ("", None, 1, MOST_ATTEMPTS + 1)
        assert done(make_worker(clock), job).result == {"squares": [1, 4, 9]}
    assert computed == [1, 2, 3]


def test_a_worker_that_is_to_end_finishes_what_needs_no_further_look(branch: Branch, worker: Worker) -> None:
    def handler(job: Running) -> Result:
        worker.stop()
        return {"sum": 6}

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.DONE


def test_a_database_that_goes_away_costs_an_attempt_and_not_the_job(branch: Branch, worker: Worker) -> None:
    tries = []

    def handler(job: Running) -> Result:
        tries.append(1)
        if len(tries) < MOST_ATTEMPTS:
            raise OperationalError("server closed the connection unexpectedly")
        return {"tries": len(tries)}

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.WAITING
        done(worker, job)
        assert done(worker, job).result == {"tries": MOST_ATTEMPTS}


def test_a_database_that_never_stays_ends_the_job_in_words(branch: Branch, worker: Worker) -> None:
    def handler(job: Running) -> Result:
        raise OperationalError("database is locked")

    with one_job(branch, handler) as job:
        for _ in range(MOST_ATTEMPTS):
            done(worker, job)
    assert job.state == State.FAILED
    assert job.problem.startswith("It was begun 3 times and never came to its end")


def test_progress_is_written_with_its_words_and_stays_between_none_and_all(
    branch: Branch, worker: Worker, clock: Clock
) -> None:
    seen = []

    def handler(job: Running) -> Result:
        for told in (0.25, -1, 7, float("nan")):
            clock.go(2)
            job.progress(told, f"told {told}" * 40)
            now = Job.objects.get()
            seen.append(now.progress)
            assert now.lease_until == clock() + worker.lease
            assert now.progress_words.startswith(f"told {told}")
            assert len(now.progress_words) <= 200
        return None

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.DONE, job.problem
    assert seen == [0.25, 0, 1, 0]


def test_telling_oftener_than_every_second_asks_nothing_of_the_database(
    branch: Branch, worker: Worker, clock: Clock, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    def handler(job: Running) -> Result:
        with django_assert_num_queries(0):
            for n in range(1000):
                job.progress(n / 1000)
                job.check()
        clock.go(PAUSE.total_seconds())
        with django_assert_num_queries(2):
            for n in range(1000):
                job.progress(n / 1000)
                job.check()
        return None

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.DONE, job.problem


def test_a_clock_that_is_put_back_does_not_keep_a_handler_from_looking(
    branch: Branch, worker: Worker, clock: Clock
) -> None:
    def handler(job: Running) -> Result:
        clock.go(-3600)
        cancel(Job.objects.get(), clock())
        job.check()
        return {"looked": False}

    with one_job(branch, handler) as job:
        assert done(worker, job).state == State.CANCELLED


def test_a_worker_that_was_overtaken_goes_on_with_the_next_job(branch: Branch, worker: Worker, clock: Clock) -> None:
    second = make_worker(clock)
    turns = []

    def handler(job: Running) -> Result:
        turns.append(job.args["n"])
        if turns == [1]:  # the first worker stalls; the second does the job meanwhile
            clock.go(3600)
            second.do_next()
            job.part("late", lambda: 1)
        return {"turn": len(turns)}

    with handling(turn=handler):
        jobs = [ask(branch, "turn", n=n) for n in (1, 2)]
        worker.do_next()
        worker.do_next()
    results = [Job.objects.get(pk=job.pk).result for job in jobs]
    assert (turns, results) == ([1, 1, 2], [{"turn": 2}, {"turn": 3}])
    assert not JobPart.objects.exists()
