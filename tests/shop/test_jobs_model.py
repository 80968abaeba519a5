"""The lease table against a model of it small enough to be seen to be right, over made-up histories."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from tests.shop_cases import make_branch
from tests.shop_jobs import NOON, ask, handling

from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs.asking import cancel, retry
from wetrun.shop.jobs.lease import (
    Cancelled,
    Hold,
    Interrupted,
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

LEASE = timedelta(seconds=60)
OPEN = {"waiting", "running"}


@dataclass
class Told:
    """What the model knows of a job."""

    question: int
    state: str = "waiting"
    holder: Hold | None = None
    until: datetime = NOON
    cancel_asked: bool = False
    attempts: int = 0
    most: int = MOST_ATTEMPTS
    parts: dict[str, int] = field(default_factory=dict)
    saved: list[Hold] = field(default_factory=list)


class Leases(RuleBasedStateMachine):
    """Workers that come, stall, come back and die; people who ask, cancel and try again; a clock that goes."""

    holds = Bundle("holds")
    jobs = Bundle("jobs")

    @initialize()
    def begin(self) -> None:
        JobPart.objects.all().delete()
        Job.objects.all().delete()
        self.branch = Branch.objects.first() or make_branch()
        self.now = NOON
        self.told: dict[int, Told] = {}

    def is_held(self, hold: Hold) -> bool:
        one = self.told[hold.job]
        return one.state == "running" and one.holder == hold

    def let_go(self, key: int) -> None:
        one = self.told[key]
        one.holder = None
        if one.cancel_asked:
            one.state = "cancelled"
        else:
            one.state = "failed" if one.attempts >= one.most else "waiting"

    def open_twin(self, key: int) -> int | None:
        question = self.told[key].question
        return self.open_of(question)

    def open_of(self, question: int) -> int | None:
        same = (key for key, one in self.told.items() if one.question == question)
        return next((key for key in same if self.told[key].state in OPEN and not self.told[key].cancel_asked), None)

    @rule(seconds=st.sampled_from([1, 30, 59, 61, 200]))
    def time_goes_on(self, seconds: int) -> None:
        self.now += timedelta(seconds=seconds)

    @rule(target=jobs, question=st.integers(1, 3))
    def somebody_asks(self, question: int) -> int:
        there = self.open_of(question)
        key = ask(self.branch, n=question).pk
        if there is None:
            assert key not in self.told
            self.told[key] = Told(question)
        else:
            assert key == there
        return key

    @rule(target=holds, name=st.sampled_from(["a", "b", "c"]))
    def a_worker_looks_for_work(self, name: str) -> Hold:
        for key, one in self.told.items():
            if one.state == "running" and one.until < self.now:
                self.let_go(key)
        expected = min((key for key, one in self.told.items() if one.state == "waiting"), default=None)
        job = claimed(name, LEASE, self.now)
        assert (None if job is None else job.pk) == expected
        if job is None:
            return Hold(min(self.told, default=0), name, 0, LEASE)  # a hold on nothing, to be refused
        one = self.told[job.pk]
        one.state, one.attempts, one.cancel_asked = "running", one.attempts + 1, False
        one.holder, one.until = Hold(job.pk, name, one.attempts, LEASE), self.now + LEASE
        return one.holder

    @precondition(lambda self: self.told)
    @rule(hold=holds)
    def it_renews(self, hold: Hold) -> None:
        assert self.refused(lambda: renew(hold, self.now)) is (None if self.is_known(hold) else LeaseLost)
        if self.is_known(hold):
            self.told[hold.job].until = self.now + LEASE

    @precondition(lambda self: self.told)
    @rule(hold=holds)
    def it_looks(self, hold: Hold) -> None:
        assert self.refused(lambda: look(hold)) is self.why_not(hold)

    @precondition(lambda self: self.told)
    @rule(hold=holds, key=st.sampled_from(["x", "y"]))
    def it_keeps_a_part(self, hold: Hold, key: str) -> None:
        if self.is_known(hold) and key in self.told[hold.job].parts:
            return  # a handler finds it and does not keep it again
        refused = self.refused(lambda: keep_part(hold, key, hold.attempt))
        assert refused is (None if self.is_known(hold) else LeaseLost)
        if refused is None:
            self.told[hold.job].parts[key] = hold.attempt

    @precondition(lambda self: self.told)
    @rule(hold=holds)
    def it_finishes(self, hold: Hold) -> None:
        saved: list[Hold] = []
        refused = self.refused(lambda: finish(hold, lambda: saved.append(hold), self.now))
        assert refused is self.why_not(hold)
        assert bool(saved) == (refused is None)
        if refused is None:
            one = self.told[hold.job]
            one.state, one.holder, one.parts = "done", None, {}
            one.saved.append(hold)

    @precondition(lambda self: self.told)
    @rule(hold=holds, state=st.sampled_from([State.FAILED, State.CANCELLED]))
    def it_stops(self, hold: Hold, state: State) -> None:
        refused = self.refused(lambda: stop(hold, state, self.now, "why"))
        assert refused is (None if self.is_known(hold) else LeaseLost)
        if refused is None:
            self.told[hold.job].state, self.told[hold.job].holder = state.value, None

    @precondition(lambda self: self.told)
    @rule(hold=holds, counted=st.booleans())
    def it_gives_back(self, hold: Hold, counted: bool) -> None:
        refused = self.refused(lambda: give_back(hold, self.now, counted=counted))
        assert refused is (None if self.is_known(hold) else LeaseLost)
        if refused is None:
            self.told[hold.job].most += not counted
            self.let_go(hold.job)

    @rule(key=jobs)
    def somebody_cancels(self, key: int) -> None:
        cancel(Job.objects.get(pk=key), self.now)
        one = self.told[key]
        if one.state == "waiting" or (one.state == "running" and one.until < self.now):
            one.state, one.holder = "cancelled", None
        elif one.state == "running":
            one.cancel_asked = True

    @rule(key=jobs)
    def somebody_tries_again(self, key: int) -> None:
        one, twin = self.told[key], self.open_twin(key)
        now = retry(Job.objects.get(pk=key), self.now)
        if one.state not in {"failed", "cancelled"}:
            assert now.pk == key
        elif twin is not None:
            assert now.pk == twin
        else:
            one.state, one.cancel_asked, one.most = "waiting", False, one.attempts + MOST_ATTEMPTS

    def refused(self, write: object) -> type[Interrupted] | None:
        """What a write was refused by."""
        try:
            write()  # type: ignore[operator]
        except Interrupted as refused:
            return type(refused)
        return None

    def is_known(self, hold: Hold) -> bool:
        return hold.job in self.told and self.is_held(hold)

    def why_not(self, hold: Hold) -> type[Interrupted] | None:
        if not self.is_known(hold):
            return LeaseLost
        return Cancelled if self.told[hold.job].cancel_asked else None

    @invariant()
    def the_table_is_as_the_model(self) -> None:
        for job in Job.objects.all():
            one = self.told[job.pk]
            holder = "" if one.holder is None else one.holder.worker
            until = one.until if one.state == "running" else None
            assert (job.state, job.worker, job.lease_until) == (one.state, holder, until)
            assert (job.attempts, job.most_attempts) == (one.attempts, one.most)
            assert {part.key: part.attempt for part in job.parts.all()} == one.parts

    @invariant()
    def nothing_is_done_twice_nor_without_saving(self) -> None:
        for one in self.told.values():
            assert len(one.saved) == (one.state == "done")

    @invariant()
    def no_question_is_open_twice(self) -> None:
        for question in (1, 2, 3):
            same = [one for one in self.told.values() if one.question == question and one.state in OPEN]
            assert sum(not one.cancel_asked for one in same) <= 1


@pytest.mark.django_db
def test_the_lease_table_behaves_as_its_model_over_any_history() -> None:
    with handling(sum=lambda _: None):
        run_state_machine_as_test(
            Leases,
            settings=settings(
                max_examples=60,
                stateful_step_count=40,
                deadline=None,
                suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
            ),
        )
