"""What is under way, as people see it: how far, how long still, whether anybody is at it, and what can be done."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_user
from tests.shop_jobs import handling, make_worker

from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.jobs.asking import asked, cancel
from wetrun.shop.jobs.estimate import silence, time_left
from wetrun.shop.jobs.lease import Hold, claimed, finish, renew, stop
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.jobs.running import Result, Running
from wetrun.shop.pages.job_tools import length_words, percent_done, subject_address
from wetrun.shop.records.models import Customer

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)


def halve(job: Running) -> Result:
    return {"half": job.args["n"] / 2}


@pytest.fixture(autouse=True)
def known() -> Iterator[None]:
    with handling(halve=halve):
        yield


def ask(branch: Branch, n: int = 1, subject: Customer | None = None) -> Job:
    return asked(branch, "halve", by=None, words=f"Half of {n}", args={"n": n}, subject=subject)


def taken(at: datetime | None = None, **told: object) -> Hold:
    """The next job, under way, at the given progress."""
    at = at or timezone.now()
    job = claimed("worker", MINUTE, at)
    assert job is not None
    hold = Hold(job.pk, "worker", job.attempts, MINUTE)
    renew(hold, at, **told)
    return hold


@pytest.fixture
def job(branch: Branch, customer: Customer) -> Job:
    return ask(branch, subject=customer)


def page_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_list_shows_what_is_open_first_and_nothing_of_another_branch(
    specialist: Client, branch: Branch, other_branch: Branch
) -> None:
    for n in (1, 2):
        ask(branch, n)
    finish(taken(), lambda: None, timezone.now())
    ask(other_branch, 77)
    page = page_of(specialist, "/work/")
    assert page.index("Half of 2") < page.index("Half of 1")
    assert "Half of 77" not in page


@pytest.mark.parametrize("count", [1, 40])
def test_the_list_asks_the_database_as_often_for_many_as_for_one(
    specialist: Client, branch: Branch, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    user = make_user(branch, login="asker")
    for n in range(count):
        asked(branch, "halve", by=user, words=f"Half of {n}", args={"n": n})
    specialist.get("/work/")
    with django_assert_num_queries(5):
        specialist.get("/work/")


def test_the_list_looks_again_by_itself_only_while_something_is_open(specialist: Client, job: Job) -> None:
    assert "every 5s" in page_of(specialist, "/work/")
    cancel(job, timezone.now())
    page = page_of(specialist, "/work/")
    assert "every 5s" not in page
    assert "Look again" not in page


def test_a_job_s_page_tells_how_far_it_is_and_what_it_is_doing(specialist: Client, job: Job) -> None:
    taken(progress=0.4, progress_words="2 of 5 logs <read>")
    page = page_of(specialist, f"/work/{job.pk}/")
    assert '<progress max="100" value="40"' in page
    assert "40 % done" in page
    assert "2 of 5 logs &lt;read&gt;" in page
    assert 'hx-trigger="every 2s"' in page


def test_the_part_that_is_fetched_is_that_part_of_the_page(specialist: Client, job: Job) -> None:
    taken(progress=0.4, progress_words="2 of 5")
    answer = specialist.get(f"/work/{job.pk}/progress/", headers={"HX-Request": "true"})
    assert "HX-Refresh" not in answer.headers
    assert answer.content.decode().strip() in page_of(specialist, f"/work/{job.pk}/")


@pytest.mark.parametrize("state", [State.DONE, State.FAILED, State.CANCELLED])
def test_once_a_job_has_ended_the_page_that_watches_it_is_fetched_anew_and_then_watches_no_more(
    specialist: Client, job: Job, state: State
) -> None:
    hold = taken()
    if state == State.DONE:
        finish(hold, lambda: None, timezone.now())
    else:
        stop(hold, state, timezone.now(), "No water." if state == State.FAILED else "")
    answer = specialist.get(f"/work/{job.pk}/progress/", headers={"HX-Request": "true"})
    assert answer.headers["HX-Refresh"] == "true"
    page = page_of(specialist, f"/work/{job.pk}/")
    assert "hx-trigger" not in page
    assert ("No water." in page) == (state == State.FAILED)
    assert ("/retry/" in page) == (state != State.DONE)
    assert "/cancel/" not in page


def test_a_done_job_leads_to_what_it_was_about(specialist: Client, job: Job, customer: Customer) -> None:
    finish(taken(), lambda: None, timezone.now())
    assert f'class="do" href="/customers/{customer.pk}/"' in page_of(specialist, f"/work/{job.pk}/")


@pytest.mark.parametrize(
    ("subject", "key"), [("", ""), ("nothing known", "1"), ("customer", "no number"), ("customer", "-1"), ("work", "1")]
)
def test_a_subject_without_a_page_is_no_link_and_no_error(specialist: Client, job: Job, subject: str, key: str) -> None:
    Job.objects.filter(pk=job.pk).update(subject=subject, subject_key=key)
    job.refresh_from_db()
    assert subject_address(job) == ""
    page_of(specialist, f"/work/{job.pk}/")


def test_hostile_words_and_problems_are_shown_as_text(specialist: Client, branch: Branch) -> None:
    job = asked(branch, "halve", by=None, words="<script>alert(1)</script>", args={"n": 1})
    stop(taken(), State.FAILED, timezone.now(), "one\n<img src=x onerror=alert(2)>")
    for page in (page_of(specialist, f"/work/{job.pk}/"), page_of(specialist, "/work/")):
        assert "<script>alert" not in page
        assert "<img" not in page


def test_cancelling_a_waiting_job_ends_it_and_says_so(signed_in: Callable[[Role], Client], job: Job) -> None:
    answer = signed_in(Role.TECHNICIAN).post(f"/work/{job.pk}/cancel/", follow=True)
    job.refresh_from_db()
    assert job.state == State.CANCELLED
    assert "“Half of 1” is cancelled." in answer.content.decode()


def test_cancelling_a_job_under_way_shows_that_it_is_being_stopped_and_no_second_button(
    specialist: Client, job: Job
) -> None:
    taken()
    page = specialist.post(f"/work/{job.pk}/cancel/", follow=True).content.decode()
    job.refresh_from_db()
    assert (job.state, job.cancel_asked) == (State.RUNNING, True)
    assert "It saves nothing any more." in page
    assert "being stopped" in page
    assert "/cancel/" not in page


def test_cancelling_what_has_ended_changes_nothing(specialist: Client, job: Job) -> None:
    finish(taken(), lambda: {"half": 1}, timezone.now())
    assert "had ended before" in specialist.post(f"/work/{job.pk}/cancel/", follow=True).content.decode()
    job.refresh_from_db()
    assert job.state == State.DONE


def test_trying_again_puts_the_job_back_and_twice_is_once(specialist: Client, job: Job) -> None:
    stop(taken(), State.FAILED, timezone.now(), "No water.")
    for _ in range(2):
        assert specialist.post(f"/work/{job.pk}/retry/")["Location"] == f"/work/{job.pk}/"
    make_worker(timezone.now).do_next()
    job.refresh_from_db()
    assert (job.state, job.problem, job.result) == (State.DONE, "", {"half": 0.5})
    assert Job.objects.count() == 1


def test_looking_at_the_address_of_a_button_does_nothing(specialist: Client, job: Job) -> None:
    for what in ("cancel", "retry"):
        assert specialist.get(f"/work/{job.pk}/{what}/")["Location"] == f"/work/{job.pk}/"
    job.refresh_from_db()
    assert job.state == State.WAITING


def test_a_viewer_sees_how_far_it_is_and_no_buttons(viewer: Client, job: Job) -> None:
    page = page_of(viewer, f"/work/{job.pk}/")
    assert "/cancel/" not in page
    for what in ("cancel", "retry"):
        assert viewer.post(f"/work/{job.pk}/{what}/").status_code == 403
    job.refresh_from_db()
    assert job.state == State.WAITING


def test_a_stranger_finds_no_job_and_changes_none(stranger: Client, job: Job) -> None:
    for what in ("", "progress/"):
        assert stranger.get(f"/work/{job.pk}/{what}").status_code == 404
    for what in ("cancel/", "retry/"):
        assert stranger.post(f"/work/{job.pk}/{what}").status_code == 404
    assert "Half of 1" not in page_of(stranger, "/work/")
    job.refresh_from_db()
    assert job.state == State.WAITING


def test_whoever_is_not_signed_in_is_sent_to_sign_in(job: Job) -> None:
    for address in ("/work/", f"/work/{job.pk}/", f"/work/{job.pk}/progress/"):
        assert Client().get(address).status_code == 302
    assert Client().get(f"/work/{job.pk}/progress/", headers={"HX-Request": "true"}).status_code == 403


def test_a_job_nobody_takes_up_says_so_after_a_minute(specialist: Client, job: Job) -> None:
    words = "Nobody has taken it up for"
    assert words not in page_of(specialist, f"/work/{job.pk}/")
    Job.objects.update(waiting_since=timezone.now() - 5 * MINUTE)
    assert f"{words} 5 min" in page_of(specialist, f"/work/{job.pk}/")


def test_a_job_whose_worker_fell_silent_says_so(specialist: Client, job: Job) -> None:
    taken(timezone.now() - 5 * MINUTE)
    assert "Its worker has been silent for 4 min" in page_of(specialist, f"/work/{job.pk}/")


def test_the_time_left_follows_from_the_pace_of_the_latest_attempt(job: Job) -> None:
    hold = taken(NOON, progress=0.5)
    late = NOON + 10 * MINUTE
    again = claimed("second", MINUTE, late)
    assert again is not None
    assert time_left(again, late + MINUTE) is None
    renew(Hold(again.pk, "second", again.attempts, MINUTE), late + MINUTE, progress=0.75)
    again.refresh_from_db()
    assert time_left(again, late + MINUTE) == MINUTE
    assert hold.job == again.pk


@pytest.mark.parametrize(
    ("progress", "after_s", "left_s"), [(0.0, 60, None), (0.019, 60, None), (0.25, 60, 180), (1.0, 60, 0), (0.5, -5, 0)]
)
def test_the_time_left_by_hand(job: Job, progress: float, after_s: int, left_s: int | None) -> None:
    taken(NOON, progress=progress)
    job.refresh_from_db()
    expected = None if left_s is None else timedelta(seconds=left_s)
    assert time_left(job, NOON + timedelta(seconds=after_s)) == expected


def test_nothing_is_said_of_the_time_left_while_nobody_is_at_it(job: Job) -> None:
    assert (time_left(job, NOON), silence(job, job.waiting_since + MINUTE)) == (None, MINUTE)
    taken(NOON, progress=0.5)
    job.refresh_from_db()
    assert silence(job, NOON + MINUTE) is None
    assert time_left(job, NOON + 2 * MINUTE) is None
    assert silence(job, NOON + 2 * MINUTE) == MINUTE


@pytest.mark.parametrize(
    ("progress", "state", "shown"),
    [(0, State.WAITING, 0), (0.999, State.RUNNING, 99), (1, State.RUNNING, 99), (0.3, State.DONE, 100)],
)
def test_all_is_only_shown_when_it_is_done(progress: float, state: State, shown: int) -> None:
    assert percent_done(Job(progress=progress, state=state)) == shown


@pytest.mark.parametrize(
    ("seconds", "said"), [(0, "10 s"), (89, "90 s"), (90, "2 min"), (5399, "90 min"), (9000, "2 h")]
)
def test_a_length_of_time_is_said_in_round_numbers(seconds: int, said: str) -> None:
    assert length_words(timedelta(seconds=seconds)) == said


def test_the_progress_that_other_pages_show_has_its_buttons_and_its_problem(specialist: Client, job: Job) -> None:
    from django.template import engines

    def shown(may_enter: bool) -> str:
        desk = {"may_enter": may_enter}
        return engines["django"].from_string('{% include "jobs/progress.html" %}').render({"job": job, "desk": desk})

    assert f"/work/{job.pk}/cancel/" in shown(True)
    assert "/cancel/" not in shown(False)
    stop(taken(), State.FAILED, timezone.now(), "No water.")
    job.refresh_from_db()
    assert "No water." in shown(False)
    assert f"/work/{job.pk}/retry/" in shown(True)
