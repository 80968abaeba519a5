"""Workers as processes, killed, stalled and asked to end: nothing lost, nothing done twice, nothing stranded."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from tests.shop_cases import make_branch, make_user
from tests.shop_job_worker import DEADLY, GENTLE, KIND, enter_handlers, hold, told
from tests.shop_serving import bare_environ, free_port, until

from wetrun.shop.accounts.models import Branch
from wetrun.shop.jobs import handlers
from wetrun.shop.jobs.asking import asked
from wetrun.shop.jobs.models import Job, JobPart, State
from wetrun.shop.records.models import Customer

pytestmark = pytest.mark.django_db(transaction=True)
ROOT = Path(__file__).parents[2]
Start = Callable[..., subprocess.Popen[bytes]]
SHORT_S, LONG_S = 2, 600
"""A lease that runs out while a test waits, and one that never does."""


def database_url() -> str:
    """The tests' own database, for another process."""
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        return f"sqlite://{name}"
    return urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{name}").geturl()


@pytest.fixture(autouse=True)
def known(transactional_db: None) -> Iterator[None]:
    before = dict(handlers._HANDLERS)
    enter_handlers()
    yield
    handlers._HANDLERS.clear()
    handlers._HANDLERS.update(before)


@pytest.fixture
def branch(transactional_db: None) -> Branch:
    return make_branch()


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    """Start a process on the tests' database; whatever is left of them at the end is killed."""
    started: list[subprocess.Popen[bytes]] = []
    environ = bare_environ(
        DATABASE_URL=database_url(), WETRUN_DATA=str(settings.DATA), DJANGO_SETTINGS_MODULE="tests.shop_job_settings"
    )

    def begin(*words: str) -> subprocess.Popen[bytes]:
        said = (tmp_path / f"said by {len(started)}").open("wb")
        command = [sys.executable, "-m", "tests.shop_job_worker", *words]
        started.append(subprocess.Popen(command, cwd=ROOT, env=environ, stdout=said, stderr=said))
        said.close()
        return started[-1]

    yield begin
    for process in started:
        process.kill()
        process.wait()


@pytest.fixture
def work(start: Start) -> Start:
    def begin(*words: str, lease: float = LONG_S) -> subprocess.Popen[bytes]:
        return start("work", "--idle", "0.05", "--lease", str(lease), *words)

    return begin


def ask(branch: Branch, folder: Path, kind: str = KIND, **args: Any) -> Job:
    return asked(branch, kind, by=None, words="A count", args={"folder": str(folder), **args})


def killed(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()


def state_of(job: Job) -> str:
    job.refresh_from_db()
    return job.state


def check_done(job: Job, parts: int) -> None:
    """The job is done, its result is exact and saved once, and nothing of the way there is left."""
    assert until(lambda: state_of(job) == State.DONE), (job.state, job.problem, told(Path(job.args["folder"])))
    squares = [n * n for n in range(1, parts + 1)]
    customer = Customer.objects.get(name=f"Sum {sum(squares)} of {Path(job.args['folder']).name}")
    assert job.result == {"customer": customer.pk, "squares": squares}
    assert not JobPart.objects.exists()


def check_each_part_once(folder: Path, parts: int) -> None:
    computed = [line for line in told(folder) if line.startswith("computed")]
    assert computed == [f"computed {n}" for n in range(1, parts + 1)]


def test_several_workers_share_many_jobs_and_do_each_once(branch: Branch, tmp_path: Path, work: Start) -> None:
    jobs = []
    for n in range(24):
        (tmp_path / str(n)).mkdir()
        jobs.append(ask(branch, tmp_path / str(n), parts=2))
    workers = [work("--once") for _ in range(4)]
    assert [worker.wait(120) for worker in workers] == [0] * 4
    for job in jobs:
        assert (state_of(job), job.attempts) == (State.DONE, 1)
        check_each_part_once(Path(job.args["folder"]), 2)
    assert Customer.objects.count() == 24


@pytest.mark.parametrize("where", ["in 1", "in 2", "after 2", "after 3", "saving"])
def test_a_worker_that_is_killed_is_followed_by_one_that_does_only_what_is_left(
    branch: Branch, tmp_path: Path, work: Start, where: str
) -> None:
    held = hold(tmp_path, where)
    job = ask(branch, tmp_path, parts=3)
    first = work(lease=SHORT_S)
    assert until(lambda: where in told(tmp_path))
    killed(first)
    assert state_of(job) == State.RUNNING
    held.unlink()
    work()
    check_done(job, 3)
    assert job.attempts == 2
    check_each_part_once(tmp_path, 3)


def test_workers_that_are_killed_over_and_over_get_there_and_keep_every_part_once(
    branch: Branch, tmp_path: Path, work: Start
) -> None:
    chance = random.Random(6)  # noqa: S311 - to come again
    job = ask(branch, tmp_path, parts=6)
    Job.objects.update(most_attempts=99)
    places = [f"in {chance.randint(1, 2)}", f"after {chance.randint(2, 3)}", f"in {chance.randint(4, 5)}", "saving"]
    for where in places:
        held = hold(tmp_path, where)
        worker = work(lease=SHORT_S)
        assert until(lambda where=where: where in told(tmp_path))  # type: ignore[misc]
        killed(worker)
        held.unlink()
    work()
    check_done(job, 6)
    assert job.attempts == len(places) + 1
    check_each_part_once(tmp_path, 6)


def test_a_job_that_kills_its_workers_is_given_up_and_the_next_is_done(
    branch: Branch, tmp_path: Path, work: Start
) -> None:
    deadly = ask(branch, tmp_path, DEADLY)
    for attempt in (1, 2, 3):
        assert work(lease=SHORT_S).wait(90) == -signal.SIGKILL
        assert told(tmp_path) == ["killed"] * attempt
    good = ask(branch, tmp_path, parts=1)
    work()
    check_done(good, 1)
    assert until(lambda: state_of(deadly) == State.FAILED)
    assert deadly.attempts == 3
    assert "3 times" in deadly.problem


def test_a_worker_that_stalls_past_its_lease_and_comes_back_writes_nothing(
    branch: Branch, tmp_path: Path, work: Start
) -> None:
    held = hold(tmp_path, "in 2")
    job = ask(branch, tmp_path, parts=3)
    stalled = work(lease=SHORT_S)
    assert until(lambda: "in 2" in told(tmp_path))
    stalled.send_signal(signal.SIGSTOP)
    held.unlink()
    second = work()
    check_done(job, 3)
    killed(second)
    done = (job.ended_at, job.result)
    stalled.send_signal(signal.SIGCONT)
    # It computes its part to the end, finds that the job is not its own, and goes on with other work.
    assert until(lambda: told(tmp_path).count("computed 2") == 2)
    other = tmp_path / "other"
    other.mkdir()
    check_done(ask(branch, other, parts=1), 1)
    assert (state_of(job), job.ended_at, job.result) == (State.DONE, *done)
    assert told(tmp_path).count("saving") == 1


def test_a_worker_asked_to_end_gives_its_job_back_at_the_next_look_and_the_next_goes_on(
    branch: Branch, tmp_path: Path, work: Start
) -> None:
    held = hold(tmp_path, "in 2")
    job = ask(branch, tmp_path, parts=3)
    first = work()
    assert until(lambda: "in 2" in told(tmp_path))
    first.terminate()
    held.unlink()
    assert first.wait(90) == 0
    assert (state_of(job), job.worker, job.most_attempts - job.attempts) == (State.WAITING, "", 3)
    work()
    check_done(job, 3)
    check_each_part_once(tmp_path, 3)


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_worker_asked_to_end_while_it_rests_ends(
    branch: Branch, tmp_path: Path, work: Start, how: signal.Signals
) -> None:
    job = ask(branch, tmp_path, parts=1)
    resting = work("--idle", "3600")
    check_done(job, 1)
    resting.send_signal(how)
    assert resting.wait(90) == 0


def test_a_silent_job_keeps_its_lease_for_its_worker_s_heart_beats(branch: Branch, tmp_path: Path, work: Start) -> None:
    hold(tmp_path, "in 1")
    job = ask(branch, tmp_path, parts=1)
    work(lease=SHORT_S)
    assert until(lambda: "in 1" in told(tmp_path))
    seen = set()

    def beats() -> bool:
        job.refresh_from_db()
        seen.add(job.lease_until)
        return len(seen) > 5

    assert until(beats)
    assert (job.state, job.attempts) == (State.RUNNING, 1)


def test_a_job_cancelled_on_its_page_stops_where_it_is_and_saves_nothing(
    branch: Branch, tmp_path: Path, work: Start
) -> None:
    hold(tmp_path, "looking")
    job = ask(branch, tmp_path, GENTLE)
    work()
    assert until(lambda: "looking" in told(tmp_path))
    browser = Client()
    browser.force_login(make_user(branch))
    browser.post(f"/work/{job.pk}/cancel/")
    assert until(lambda: state_of(job) == State.CANCELLED)
    assert job.result is None


def test_a_server_that_is_killed_costs_a_job_nothing(branch: Branch, tmp_path: Path, start: Start, work: Start) -> None:
    held = hold(tmp_path, "in 2")
    job = ask(branch, tmp_path, parts=3)
    browser = Client()
    browser.force_login(make_user(branch))
    port = free_port()

    def page() -> str:
        cookie = f"sessionid={browser.cookies['sessionid'].value}"
        asked_for = urllib.request.Request(f"http://127.0.0.1:{port}/work/{job.pk}/", headers={"Cookie": cookie})
        try:
            with urllib.request.urlopen(asked_for, timeout=30) as answer:  # noqa: S310
                return str(answer.read().decode())
        except OSError:
            return ""

    server = start("runserver", "--noreload", f"127.0.0.1:{port}")
    work()
    assert until(lambda: "in 2" in told(tmp_path))
    assert until(lambda: "under way" in page())
    killed(server)
    assert page() == ""
    held.unlink()
    check_done(job, 3)
    assert job.attempts == 1
    start("runserver", "--noreload", f"127.0.0.1:{port}")
    assert until(lambda: "under way" not in page() and "done" in page())


def test_clicks_at_the_same_instant_are_one_job(branch: Branch, tmp_path: Path) -> None:
    ready = threading.Barrier(8)
    got: list[int] = []

    def click() -> None:
        ready.wait()
        got.append(ask(branch, tmp_path, parts=1).pk)
        connection.close()

    clicks = [threading.Thread(target=click) for _ in range(8)]
    for one in clicks:
        one.start()
    for one in clicks:
        one.join()
    assert got == [Job.objects.get().pk] * 8


@pytest.mark.parametrize("wrong", ["0", "-1", "nan", "inf", "soon", "86401"])
@pytest.mark.parametrize("option", ["--idle", "--lease"])
def test_times_that_are_none_are_refused_in_words(option: str, wrong: str) -> None:
    with pytest.raises(CommandError, match=f"{option}: “{wrong}” is no number of seconds"):
        call_command("work", f"{option}={wrong}", "--once")
