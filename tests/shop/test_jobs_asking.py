"""Asking for a job: once however often it is clicked, cancelled, tried again, and nothing hostile let in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction
from tests.shop_jobs import MINUTE, NOON, ask, handling

from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs.asking import MOST_ARGS_BYTES, asked, cancel, retry
from wetrun.shop.jobs.handlers import NobodyHandles, handles
from wetrun.shop.jobs.lease import Hold, claimed, finish, stop
from wetrun.shop.jobs.models import MOST_ATTEMPTS, Job, State
from wetrun.shop.records.models import Customer

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def known() -> Iterator[None]:
    with handling(sum=lambda _: None, product=lambda _: None):
        yield


def taken() -> Hold:
    job = claimed("worker", MINUTE, NOON)
    assert job is not None
    return Hold(job.pk, "worker", job.attempts, MINUTE)


def test_what_is_asked_twice_is_one_job_while_it_waits_and_while_it_is_under_way(branch: Branch) -> None:
    first = ask(branch, numbers=[1, 2], of="x")
    assert ask(branch, of="x", numbers=[1, 2]) == first
    hold = taken()
    assert ask(branch, numbers=[1, 2], of="x") == first
    finish(hold, lambda: None, NOON)
    assert ask(branch, numbers=[1, 2], of="x") != first


def test_another_branch_kind_subject_or_arg_is_another_job(
    branch: Branch, other_branch: Branch, customer: Customer
) -> None:
    made = {
        ask(branch, n=1).pk,
        ask(branch, n=2).pk,
        ask(branch, n=1.0).pk,
        ask(branch, "product", n=1).pk,
        ask(other_branch, n=1).pk,
        asked(branch, "sum", by=None, words="of a customer", args={"n": 1}, subject=customer).pk,
    }
    assert len(made) == 6


def test_a_job_knows_its_subject_by_name_and_key(branch: Branch, customer: Customer) -> None:
    job = asked(branch, "sum", by=None, words="of a customer", args={}, subject=customer)
    assert (job.subject, job.subject_key) == ("customer", str(customer.pk))


def test_a_question_whose_job_is_being_cancelled_can_be_asked_anew(branch: Branch) -> None:
    first = ask(branch)
    taken()
    cancel(first, NOON)
    second = ask(branch)
    assert (second.pk == first.pk, second.state) == (False, State.WAITING)


def test_a_waiting_job_is_cancelled_at_once(branch: Branch) -> None:
    job = cancel(ask(branch), NOON)
    assert (job.state, job.ended_at) == (State.CANCELLED, NOON)
    assert claimed("worker", MINUTE, NOON) is None


def test_a_job_whose_worker_fell_silent_is_cancelled_at_once_and_one_under_way_is_asked_to_stop(branch: Branch) -> None:
    job = ask(branch)
    taken()
    at_work = cancel(job, NOON + MINUTE)
    assert (at_work.state, at_work.cancel_asked) == (State.RUNNING, True)
    assert cancel(job, NOON + 2 * MINUTE).state == State.CANCELLED


def test_what_has_ended_stays_as_it_is(branch: Branch) -> None:
    job = ask(branch)
    finish(taken(), lambda: {"sum": 3}, NOON)
    for again in (cancel(job, NOON + MINUTE), retry(job, NOON)):
        assert (again.state, again.ended_at, again.result) == (State.DONE, NOON, {"sum": 3})


def test_trying_again_gives_as_many_attempts_as_the_first_time(branch: Branch) -> None:
    job = ask(branch)
    stop(taken(), State.FAILED, NOON, "no water")
    again = retry(job, NOON)
    assert (again.state, again.problem, again.ended_at) == (State.WAITING, "", None)
    assert again.most_attempts - again.attempts == MOST_ATTEMPTS
    assert retry(job, NOON) == again


def test_what_was_cancelled_under_way_and_is_tried_again_is_wanted_again(branch: Branch) -> None:
    job = ask(branch)
    hold = taken()
    cancel(job, NOON)
    stop(hold, State.CANCELLED, NOON)
    assert retry(job, NOON).state == State.WAITING
    finish(taken(), lambda: {"sum": 3}, NOON)
    job.refresh_from_db()
    assert (job.state, job.result) == (State.DONE, {"sum": 3})


def test_trying_again_what_was_asked_anew_meanwhile_gives_the_one_that_is_open(branch: Branch) -> None:
    old = ask(branch)
    cancel(old, NOON)
    new = ask(branch)
    assert retry(old, NOON) == new
    old.refresh_from_db()
    assert old.state == State.CANCELLED


def test_a_job_asked_for_in_a_transaction_that_fails_was_never_asked_for(branch: Branch) -> None:
    with transaction.atomic():
        ask(branch)
        transaction.set_rollback(True)
    assert not Job.objects.exists()


def test_a_kind_that_nobody_handles_is_not_taken_in(branch: Branch) -> None:
    with pytest.raises(NobodyHandles, match="“potion”"):
        ask(branch, "potion")


def test_no_two_handle_the_same_kind() -> None:
    with pytest.raises(ValueError, match="“sum” is handled by"):
        handles("sum")(lambda _: {"other": True})


@pytest.mark.parametrize(
    "args",
    [
        {"text": "x" * MOST_ARGS_BYTES},
        {"text": "ü" * (MOST_ARGS_BYTES // 2)},
        {"value": float("nan")},
        {"value": float("inf")},
        {"half a letter": "\ud800"},
        {"code": print},
        {"bytes": b"\x80\x04"},
        {"set": {1}},
    ],
    ids=lambda args: next(iter(args)),
)
def test_args_that_are_no_small_document_are_refused_before_anything_is_kept(
    branch: Branch, args: dict[str, Any]
) -> None:
    with pytest.raises((ValueError, TypeError)):
        ask(branch, **args)
    assert not Job.objects.exists()


@pytest.mark.parametrize(
    "args",
    [
        {"~day": "tomorrow"},
        {"~moment": "2027-03-01"},
        {"__class__": "os.system", "__reduce__": ["rm", "-rf"]},
        {"name": "'; drop table jobs_job; --"},
        {"name": "<script>alert(1)</script>\x00\u202e"},
        {"deep": {"deep": {"deep": [[[[]]]]}}},
        {"": ""},
    ],
    ids=repr,
)
def test_args_that_look_like_something_else_come_out_as_they_went_in(branch: Branch, args: dict[str, Any]) -> None:
    assert Job.objects.get(pk=ask(branch, **args).pk).args == args


def test_long_words_are_cut_and_not_refused(branch: Branch) -> None:
    job = asked(branch, "sum", by=None, words="long " * 100, args={})
    assert len(Job.objects.get(pk=job.pk).words) == 200
