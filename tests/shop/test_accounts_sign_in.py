"""Signing in and out: who gets in, what is said to who does not, and where it leads."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import Settings
from tests.shop_cases import PASSWORD, make_branch, make_user

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.accounts.throttle import address_of, login_of

WRONG = "Login and password do not belong together."


@pytest.fixture
def reed(branch: Branch) -> User:
    return make_user(branch, Role.TECHNICIAN, "reed", name="A. Reed")


@pytest.fixture
def throttled(settings: Settings) -> Settings:
    settings.AXES_ENABLED = True
    return settings


def sign_in(client: Client, login: str = "reed", password: str = PASSWORD, **more: str):
    return client.post("/sign-in/", {"username": login, "password": password, **more})


def test_somebody_signs_in_however_the_capitals_of_the_login_are_typed(client: Client, reed: User) -> None:
    answer = sign_in(client, " ReED ")
    assert answer.status_code == 302
    assert answer["Location"] == "/"
    assert client.get("/").status_code == 200


@pytest.mark.parametrize(
    ("login", "password", "is_active"),
    [("reed", "something else", True), ("nobody", PASSWORD, True), ("reed", PASSWORD, False)],
)
def test_whoever_does_not_get_in_is_told_the_same_whatever_the_reason(
    client: Client, reed: User, login: str, password: str, is_active: bool
) -> None:
    User.objects.update(is_active=is_active)
    page = sign_in(client, login, password).content.decode()
    assert WRONG in page
    assert f'value="{login}"' in page
    # Apart from what was typed and the mark of the form, the pages are one and the same.
    plain = re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", page).replace(login, "")
    other = sign_in(client, "somebody-else", "another guess").content.decode()
    assert plain == re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", other).replace("somebody-else", "")
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize(
    ("wanted", "goes_to"),
    [
        ("/customers/?page=2", "/customers/?page=2"),
        ("https://elsewhere.example/customers/", "/"),
        ("//elsewhere.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("", "/"),
    ],
)
def test_signing_in_leads_back_only_to_our_own_pages(client: Client, reed: User, wanted: str, goes_to: str) -> None:
    assert sign_in(client, next=wanted)["Location"] == goes_to


def test_a_page_asked_for_before_signing_in_is_shown_after_it(client: Client, reed: User) -> None:
    to_sign_in = client.get("/customers/?q=low")["Location"]
    page = client.get(to_sign_in).content.decode()
    assert 'name="next" value="/customers/?q=low"' in page


def test_after_a_form_was_sent_signed_out_one_comes_back_to_the_form_s_page(client: Client, reed: User) -> None:
    answer = client.post("/customers/new/", {}, headers={"Referer": "http://testserver/customers/new/?a=1"})
    assert answer["Location"] == "/sign-in/?next=/customers/new/%3Fa%3D1"
    answer = client.post("/customers/new/", {}, headers={"Referer": "https://elsewhere.example/x"})
    assert answer["Location"] == "/sign-in/?next=/"


def test_a_part_of_a_page_asked_for_signed_out_is_refused_and_leaves_the_page_alone(client: Client, reed: User) -> None:
    answer = client.get("/customers/", headers={"HX-Request": "true"})
    assert answer.status_code == 403
    assert "You are signed out" in answer.content.decode()


def test_too_many_guesses_are_told_to_wait_and_then_even_the_right_password_waits(
    client: Client, reed: User, throttled: Settings
) -> None:
    logins = ["reed", "REED", " Reed"]
    answers = [sign_in(client, logins[n % 3], f"guess {n}") for n in range(throttled.AXES_FAILURE_LIMIT)]
    assert [answer.status_code for answer in answers[:-1]] == [200] * (throttled.AXES_FAILURE_LIMIT - 1)
    last = answers[-1]
    assert last.status_code == 429
    assert last["Retry-After"] == "900"
    assert "Wait 15 minutes" in last.content.decode()
    assert sign_in(client).status_code == 429
    assert "_auth_user_id" not in client.session


def test_guesses_at_a_login_that_is_not_there_are_throttled_alike(
    client: Client, reed: User, throttled: Settings
) -> None:
    statuses = [sign_in(client, "nobody", f"guess {n}").status_code for n in range(throttled.AXES_FAILURE_LIMIT)]
    assert statuses[-1] == 429


def test_a_stranger_s_guesses_do_not_lock_the_owner_out_elsewhere(
    client: Client, reed: User, throttled: Settings
) -> None:
    for n in range(throttled.AXES_FAILURE_LIMIT + 1):
        sign_in(Client(REMOTE_ADDR="192.0.2.7"), "reed", f"guess {n}")
    assert sign_in(client).status_code == 302


def test_a_password_set_by_a_manager_counts_at_once_even_after_too_many_guesses(
    client: Client, branch: Branch, reed: User, throttled: Settings
) -> None:
    for n in range(throttled.AXES_FAILURE_LIMIT):
        sign_in(client, "reed", f"guess {n}")
    manager = Client()
    manager.force_login(make_user(branch, Role.MANAGER))
    place = reed.memberships.get()
    manager.post(f"/people/{place.pk}/password/", {"password": "rinse it twice over"})
    assert sign_in(client, "reed", "rinse it twice over").status_code == 302


def test_guesses_are_counted_by_the_address_the_proxy_saw(rf, settings: Settings) -> None:
    sent = {"HTTP_X_FORWARDED_FOR": "203.0.113.9, 192.0.2.7", "REMOTE_ADDR": "10.0.0.1"}
    settings.BEHIND_PROXY = False
    assert address_of(rf.get("/", **sent)) == "10.0.0.1"
    settings.BEHIND_PROXY = True
    assert address_of(rf.get("/", **sent)) == "192.0.2.7"
    assert address_of(rf.get("/", HTTP_X_FORWARDED_FOR="none of yours", REMOTE_ADDR="10.0.0.1")) == "10.0.0.1"
    assert login_of(rf.post("/", {"username": " ReEd "})) == "reed"


def test_signing_out_takes_a_form_and_ends_the_visit(signed_in: Callable[[Role], Client]) -> None:
    client = signed_in(Role.VIEWER)
    assert client.get("/sign-out/").status_code == 405
    assert client.get("/customers/").status_code == 200
    answer = client.post("/sign-out/")
    assert answer["Location"] == "/sign-in/"
    assert answer["Clear-Site-Data"] == '"cache"'
    assert client.get("/customers/")["Location"].startswith("/sign-in/")


def test_whoever_is_signed_in_needs_no_sign_in_page(specialist: Client) -> None:
    assert specialist.get("/sign-in/?next=/customers/")["Location"] == "/customers/"


def test_a_visit_gets_a_new_key_when_it_is_signed_in(client: Client, reed: User) -> None:
    client.get("/sign-in/")
    client.session["planted"] = "before"
    session = client.session
    session["planted"] = "before"
    session.save()
    planted = session.session_key
    sign_in(client)
    assert client.session.session_key != planted


def test_somebody_of_no_branch_is_told_so_and_keeps_own_settings(client: Client, db: None) -> None:
    alone = User.objects.make("alone", PASSWORD, name="Alone")
    client.force_login(alone)
    answer = client.get("/customers/")
    assert answer.status_code == 403
    assert "You do not belong to any branch yet" in answer.content.decode()
    assert client.get("/my-settings/").status_code == 200


def test_the_sign_in_page_leads_to_the_first_run_page_only_while_there_is_nobody(client: Client, db: None) -> None:
    assert client.get("/customers/")["Location"] == "/sign-in/?next=/customers/"
    assert client.get("/sign-in/")["Location"] == "/first-run/"
    make_user(make_branch())
    assert client.get("/sign-in/").status_code == 200
