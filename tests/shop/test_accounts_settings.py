"""What somebody sets for themselves, which branch they work in, and the branches themselves."""

from __future__ import annotations

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import PASSWORD, make_branch, make_customer, make_user

from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Trail

BRANCH = {"name": "West yard", "units": "si", "paper": "a4", "time_zone": "Europe/Berlin"}


@pytest.fixture
def reed(branch: Branch) -> User:
    return make_user(branch, Role.TECHNICIAN, "reed", name="A. Reed")


@pytest.fixture
def own(reed: User) -> Client:
    client = Client()
    client.force_login(reed)
    return client


@pytest.fixture
def group(branch: Branch) -> Client:
    client = Client()
    client.force_login(make_user(branch, Role.MANAGER, "group", name="Group", is_group=True))
    return client


def test_light_or_dark_and_units_are_kept_and_stand_in_the_trail(own: Client, reed: User) -> None:
    assert own.post("/my-settings/", {"units": "si", "theme": "dark"})["Location"] == "/my-settings/"
    reed.refresh_from_db()
    assert (reed.units, reed.theme) == ("si", "dark")
    assert 'data-theme="dark"' in own.get("/my-settings/").content.decode()
    line = Trail.objects.get(kind="User")
    assert (line.before, line.after) == ({"units": "", "theme": ""}, {"units": "si", "theme": "dark"})


def test_left_open_units_are_the_branch_s(own: Client, reed: User, branch: Branch) -> None:
    from wetrun.quantity import System
    from wetrun.shop.accounts.desk import desk_of

    assert desk_of(reed, None).system is System("us")
    Branch.objects.update(units="si")
    assert desk_of(reed, None).system is System("si")
    reed.units = "us"
    assert desk_of(reed, None).system is System("us")


def test_a_setting_nobody_offers_is_refused(own: Client, reed: User) -> None:
    page = own.post("/my-settings/", {"units": "imperial", "theme": ""}).content.decode()
    assert page.count('class="wrong-words"') == 1
    reed.refresh_from_db()
    assert reed.units == ""
    assert 'class="top-desk"' in page


def test_a_new_password_ends_every_other_visit_but_this_one(own: Client, reed: User) -> None:
    elsewhere = Client()
    elsewhere.force_login(reed)
    answer = own.post("/my-settings/password/", {"old": PASSWORD, "password": "rinse it twice over"})
    assert answer["Location"] == "/my-settings/"
    assert own.get("/customers/").status_code == 200
    assert elsewhere.get("/customers/")["Location"].startswith("/sign-in/")
    reed.refresh_from_db()
    assert reed.check_password("rinse it twice over")
    assert Trail.objects.get(kind="User").what == "password set"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("not mine", "rinse it twice over", "That is not the password you signed in with"),
        (PASSWORD, "short", "at least 10 characters"),
        (PASSWORD, "A. Reed 1234", "too similar"),
    ],
)
def test_a_password_is_not_changed_by_who_does_not_know_it_nor_to_a_weak_one(
    own: Client, reed: User, old: str, new: str, said: str
) -> None:
    page = own.post("/my-settings/password/", {"old": old, "password": new}).content.decode()
    assert said in page
    assert f'value="{new}"' not in page
    reed.refresh_from_db()
    assert reed.check_password(PASSWORD)


@pytest.fixture
def both(reed: User, branch: Branch, other_branch: Branch) -> None:
    """The technician is a viewer in another branch too."""
    Membership.objects.create(user=reed, branch=other_branch, role=Role.VIEWER.value)
    make_customer(branch, "Low Fork Farm")
    make_customer(other_branch, "Far Side Farm")


def test_in_another_of_one_s_branches_one_sees_its_records_in_its_role(
    own: Client, both: None, other_branch: Branch
) -> None:
    assert "Low Fork Farm" in own.get("/customers/").content.decode()
    answer = own.post("/branch-here/", {"branch": other_branch.pk, "next": "/customers/"})
    assert answer["Location"] == "/customers/"
    page = own.get("/customers/").content.decode()
    assert "Far Side Farm" in page
    assert "Low Fork Farm" not in page


def test_a_record_of_another_of_one_s_branches_takes_one_there(own: Client, both: None, other_branch: Branch) -> None:
    from wetrun.shop.records.models import Customer

    far = Customer.objects.get(name="Far Side Farm")
    assert own.get(f"/customers/{far.pk}/").status_code == 200
    assert "Far Side Farm" in own.get("/customers/").content.decode()


def test_nobody_goes_into_a_branch_that_is_not_theirs(own: Client, other_branch: Branch) -> None:
    for wanted in (str(other_branch.pk), "0", "x", str(10**30)):
        assert own.post("/branch-here/", {"branch": wanted}).status_code == 404
    assert own.get("/branch-here/").status_code == 405
    assert own.post("/branch-here/", {"next": "https://elsewhere.example/"})["Location"] == "/"


def test_a_branch_that_one_was_taken_out_of_is_left_at_once(own: Client, both: None, other_branch: Branch) -> None:
    own.post("/branch-here/", {"branch": other_branch.pk})
    Membership.objects.filter(branch=other_branch).delete()
    assert "Low Fork Farm" in own.get("/customers/").content.decode()


def test_whoever_makes_a_branch_is_its_manager(group: Client) -> None:
    assert group.post("/branches/new/", BRANCH)["Location"] == "/branches/"
    branch = Branch.objects.get(name="West yard")
    assert branch.memberships.get().role == Role.MANAGER.value
    assert set(Trail.objects.filter(branch=branch).values_list("kind", "what")) == {
        ("Branch", "made"),
        ("User", "made manager"),
    }


def test_a_branch_is_changed_with_what_it_was_in_the_trail(group: Client, branch: Branch) -> None:
    typed = {"name": branch.name, "units": "us", "paper": "a4", "time_zone": "Europe/Berlin"}
    group.post(f"/branches/{branch.pk}/edit/", typed)
    branch.refresh_from_db()
    assert (branch.paper, branch.time_zone) == ("a4", "Europe/Berlin")
    line = Trail.objects.get(kind="Branch")
    assert line.before == {"paper": "letter", "time_zone": "America/Chicago"}
    assert line.after == {"paper": "a4", "time_zone": "Europe/Berlin"}


@pytest.mark.parametrize(
    ("typed", "said"),
    [({"name": "NORTH  yard"}, "Another branch is called that"), ({"time_zone": "Texas"}, "“Texas” is no time zone")],
)
def test_bad_input_of_a_branch_keeps_what_was_typed(
    group: Client, branch: Branch, typed: dict[str, str], said: str
) -> None:
    page = group.post("/branches/new/", {**BRANCH, **typed}).content.decode()
    assert said in page
    assert page.count('class="wrong-words"') == 1
    for value in {**BRANCH, **typed}.values():
        assert f'value="{value}"' in page
    assert Branch.objects.count() == 1


def test_a_manager_of_one_branch_neither_sees_nor_makes_branches(
    signed_in, other_branch: Branch, branch: Branch
) -> None:
    manager = signed_in(Role.MANAGER)
    assert manager.get("/branches/").status_code == 403
    assert manager.post("/branches/new/", BRANCH).status_code == 403
    assert manager.get(f"/branches/{branch.pk}/edit/").status_code == 403
    assert manager.get(f"/branches/{other_branch.pk}/edit/").status_code == 404


@pytest.mark.parametrize("count", [1, 40])
def test_the_list_of_branches_asks_the_database_as_often_for_many_as_for_one(
    group: Client, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        make_branch(f"Yard {n}")
    group.get("/branches/")
    with django_assert_num_queries(5):
        group.get("/branches/")
