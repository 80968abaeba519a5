"""The first page of a new shop: it makes one branch and one manager, once."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from textwrap import dedent
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from tests.shop_cases import make_branch, make_user
from tests.shop_serving import KEY

from wetrun.shop import environment
from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Trail

TYPED = {
    "branch-name": "North yard",
    "branch-units": "si",
    "branch-paper": "a4",
    "branch-time_zone": "Europe/Berlin",
    "person-name": "M. Vogt",
    "person-login": "Vogt",
    "person-password": "wet gloves at seven",
}


@pytest.fixture(autouse=True)
def on_this_computer_only(settings: Any) -> None:
    settings.OPENING_WORD = None


def test_the_first_page_makes_a_branch_with_its_manager_who_is_signed_in(client: Client, db: None) -> None:
    assert client.get("/first-run/").status_code == 200
    answer = client.post("/first-run/", TYPED)
    assert answer["Location"] == "/"
    person, branch = User.objects.get(), Branch.objects.get()
    assert (person.login, person.is_group, person.check_password("wet gloves at seven")) == ("vogt", True, True)
    assert (branch.units, branch.paper, branch.time_zone) == ("si", "a4", "Europe/Berlin")
    assert Membership.objects.get().role == Role.MANAGER.value
    assert client.get("/people/").status_code == 200
    assert set(Trail.objects.values_list("kind", "what")) == {("Branch", "opened"), ("User", "made the first manager")}


def test_afterwards_there_is_no_such_page(client: Client, db: None) -> None:
    make_user(make_branch())
    assert client.get("/first-run/").status_code == 404
    assert client.post("/first-run/", TYPED).status_code == 404
    assert User.objects.count() == 1


def test_everything_wrong_is_said_at_once_and_nothing_typed_is_lost_but_the_password(client: Client, db: None) -> None:
    wrong = {**TYPED, "branch-time_zone": "Berlin", "person-password": "vogt"}
    page = client.post("/first-run/", wrong).content.decode()
    assert "“Berlin” is no time zone" in page
    assert page.count('class="wrong-words"') == 2
    assert 'value="M. Vogt"' in page
    assert 'value="Vogt"' in page
    assert 'value="vogt"' not in page
    assert not User.objects.exists()
    assert not Branch.objects.exists()


def test_where_others_reach_it_only_who_knows_the_word_opens_it(client: Client, db: None, settings: Any) -> None:
    settings.OPENING_WORD = "k7mp-3xqd-w9ha"
    assert 'name="person-opening"' in client.get("/first-run/").content.decode()
    for guess in ({}, {"person-opening": "k7mp-3xqd-w9hb"}):
        assert client.post("/first-run/", {**TYPED, **guess}).status_code == 200
        assert not User.objects.exists()
    assert "That is not the word" in client.post("/first-run/", {**TYPED, **guess}).content.decode()
    assert client.post("/first-run/", {**TYPED, "person-opening": " K7MP 3xqd w9ha"}).status_code == 302
    assert User.objects.count() == 1


def test_where_others_reach_it_and_nobody_set_a_word_nobody_opens_it(client: Client, db: None, settings: Any) -> None:
    settings.OPENING_WORD = ""
    for answer in (client.get("/first-run/"), client.post("/first-run/", {**TYPED, "person-opening": ""})):
        assert answer.status_code == 403
        assert "WETRUN_OPENING" in answer.content.decode()
    assert not User.objects.exists()


@pytest.mark.parametrize(
    ("hosts", "word", "asked"),
    [
        ("", "", None),
        ("localhost,127.0.0.1", "", None),
        ("localhost,shop.example", "", ""),
        ("shop.example", "barn owl", "barn owl"),
        ("localhost", "barn owl", "barn owl"),
        ("*", "", ""),
    ],
)
def test_a_word_is_needed_where_more_than_this_computer_is_answered(
    monkeypatch: pytest.MonkeyPatch, hosts: str, word: str, asked: str | None
) -> None:
    monkeypatch.setenv("WETRUN_HOSTS", hosts)
    monkeypatch.setenv("WETRUN_OPENING", word)
    assert environment.opening_word(environment.hosts()) == asked


def test_of_two_browsers_at_once_one_opens_the_shop(tmp_path: Path) -> None:
    """Two processes meet at the very moment after both have seen that there is nobody."""
    script = tmp_path / "opens.py"
    script.write_text(
        dedent("""
        import sys, time
        from pathlib import Path
        import django
        django.setup()
        from wetrun.shop.accounts.models import Branch, User
        from wetrun.shop.records.people import opened
        mine, folder = sys.argv[1], Path(sys.argv[2])
        assert not User.objects.exists()
        (folder / f"here-{mine}").touch()
        until = time.monotonic() + 60
        while len(list(folder.glob("here-*"))) < 2 and time.monotonic() < until:
            time.sleep(0.001)
        person = User(login=mine, name=mine)
        person.set_password("wet gloves at seven")
        print(opened(Branch(name=mine), person))
        """),
        encoding="utf-8",
    )
    environment = {
        "DJANGO_SETTINGS_MODULE": "wetrun.shop.settings",
        "WETRUN_SECRET_KEY": KEY,
        "WETRUN_DATA": str(tmp_path),
        "PATH": "",
    }
    ran = [sys.executable, "-m", "wetrun.shop", "migrate", "-v0"]
    subprocess.run(ran, check=True, env=environment, timeout=120)
    both = [
        subprocess.Popen(
            [sys.executable, str(script), name, str(tmp_path)], env=environment, stdout=subprocess.PIPE, text=True
        )
        for name in ("one", "two")
    ]
    said = sorted(process.communicate(timeout=120)[0].strip() for process in both)
    assert said == ["False", "True"]
    count = "from wetrun.shop.accounts.models import *; print(User.objects.count(), Branch.objects.count())"
    ran = [sys.executable, "-m", "wetrun.shop", "shell", "-v0", "-c", count]
    counted = subprocess.run(ran, check=True, env=environment, timeout=120, capture_output=True, text=True)
    assert counted.stdout.split() == ["1", "1"]


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="SQLite is held by the test above")
def test_of_two_connections_at_once_one_opens_a_shop_on_postgresql() -> None:
    from concurrent.futures import ThreadPoolExecutor
    from threading import Barrier

    from wetrun.shop.records.people import opened

    together = Barrier(2)

    def opens(name: str) -> bool:
        together.wait(30)
        try:
            return opened(Branch(name=name), User(login=name, name=name))
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        assert sorted(pool.map(opens, ["one", "two"])) == [False, True]
    assert User.objects.count() == Branch.objects.count() == 1
