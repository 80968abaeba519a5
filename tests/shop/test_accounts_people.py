"""The people of a branch: taken in, changed, put out, and never out of a manager's hand by accident."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import PASSWORD, make_user

from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Trail

NEW = {"name": "Jo Park", "login": "JPark", "role": "technician", "password": "nine dry socks today"}


@pytest.fixture
def boss(branch: Branch) -> User:
    return make_user(branch, Role.MANAGER, "boss", name="Boss")


@pytest.fixture
def manager(boss: User) -> Client:
    return signed_in_as(boss)


@pytest.fixture
def hand(branch: Branch) -> Membership:
    """A technician of this branch alone."""
    return make_user(branch, Role.TECHNICIAN, "hand", name="Yard Hand").memberships.get()


@pytest.fixture
def group(other_branch: Branch, branch: Branch) -> Client:
    """Somebody who looks after all branches, working in this one."""
    person = make_user(other_branch, Role.MANAGER, "group", name="Group", is_group=True)
    Membership.objects.create(user=person, branch=branch, role=Role.MANAGER.value)
    client = signed_in_as(person)
    client.post("/branch-here/", {"branch": branch.pk})
    return client


def signed_in_as(person: User) -> Client:
    client = Client()
    client.force_login(person)
    return client


def told(person: User) -> list[str]:
    return list(Trail.objects.filter(kind="User", key=str(person.pk)).order_by("pk").values_list("what", flat=True))


def test_the_list_shows_this_branch_s_people_and_no_others(
    manager: Client, hand: Membership, other_branch: Branch
) -> None:
    make_user(other_branch, name="Far Away")
    page = manager.get("/people/").content.decode()
    assert "Yard Hand" in page
    assert "Far Away" not in page


@pytest.mark.parametrize("count", [1, 40])
def test_the_list_asks_the_database_as_often_for_many_as_for_one(
    manager: Client, branch: Branch, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        make_user(branch, Role.TECHNICIAN, f"hand-{n}")
    manager.get("/people/")
    with django_assert_num_queries(5):
        manager.get("/people/")


def test_somebody_new_can_sign_in_at_once(manager: Client, branch: Branch, boss: User) -> None:
    assert manager.post("/people/new/", NEW)["Location"] == "/people/"
    person = User.objects.get(login="jpark")
    assert person.memberships.get().role == Role.TECHNICIAN.value
    line = Trail.objects.get(kind="User", key=str(person.pk))
    assert (line.what, line.by, line.branch, line.after) == ("taken in", boss, branch, {"role": "technician"})
    assert Client().post("/sign-in/", {"username": "jpark", "password": NEW["password"]}).status_code == 302


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"password": "short"}, "at least 10 characters"),
        ({"password": "password1234"}, "too common"),
        ({"password": "jo park park"}, "too similar to the full name"),
        ({"login": "BOSS "}, "Somebody signs in with that already"),
        ({"name": ""}, "This field is required"),
        ({"role": "owner"}, "Select a valid choice"),
    ],
)
def test_bad_input_keeps_what_was_typed_but_the_password(manager: Client, typed: dict[str, str], said: str) -> None:
    page = manager.post("/people/new/", {**NEW, **typed}).content.decode()
    assert said in page
    assert page.count('class="wrong-words"') == 1
    assert f'value="{typed.get("login", "JPark").strip()}"' in page.replace('BOSS "', 'BOSS"')
    assert f'value="{typed.get("password") or NEW["password"]}"' not in page
    assert User.objects.count() == 1


def test_a_password_is_kept_as_an_argon2_hash_and_stands_nowhere_else(manager: Client, settings) -> None:
    from django.contrib.auth.hashers import get_hasher

    from wetrun.shop import settings as shop

    settings.PASSWORD_HASHERS = shop.PASSWORD_HASHERS
    manager.post("/people/new/", NEW)
    hashed = User.objects.get(login="jpark").password
    assert hashed.startswith("argon2$argon2id$")
    assert get_hasher("default").algorithm == "argon2"
    assert not any(NEW["password"] in str(row) for row in Trail.objects.values())


def test_a_role_is_changed_with_what_it_was_in_the_trail(manager: Client, hand: Membership) -> None:
    manager.post(f"/people/{hand.pk}/edit/", {"name": "Yard Hand", "login": "hand", "role": "specialist"})
    hand.refresh_from_db()
    assert hand.role == "specialist"
    line = Trail.objects.get(kind="User", key=str(hand.user.pk))
    assert (line.before, line.after) == ({"role": "technician"}, {"role": "specialist"})


def test_a_role_counts_from_the_next_page_on(manager: Client, hand: Membership) -> None:
    person = signed_in_as(hand.user)
    assert person.get("/customers/new/").status_code == 403
    manager.post(f"/people/{hand.pk}/edit/", {"name": "Yard Hand", "login": "hand", "role": "specialist"})
    assert person.get("/customers/new/").status_code == 200


@pytest.mark.parametrize("role", ["viewer", "technician", "specialist"])
def test_the_last_manager_stays_one_and_it_is_said_why(manager: Client, boss: User, role: str) -> None:
    place = boss.memberships.get()
    page = manager.post(f"/people/{place.pk}/edit/", {"name": "Boss", "login": "boss", "role": role}).content.decode()
    assert "Boss is the only manager of “North yard” who can sign in" in page
    assert f'<option value="{role}" selected>' in page
    place.refresh_from_db()
    assert place.role == "manager"
    assert not told(boss)


def test_the_last_manager_can_neither_be_put_out_nor_taken_out(manager: Client, boss: User) -> None:
    place = boss.memberships.get()
    for way, sent in (("active", {"may": "0"}), ("leave", {})):
        page = manager.post(f"/people/{place.pk}/{way}/", sent).content.decode()
        assert "Boss is the only manager of “North yard” who can sign in" in page
    boss.refresh_from_db()
    assert boss.is_active
    assert boss.memberships.exists()


def test_a_manager_who_may_not_sign_in_does_not_count_as_one(manager: Client, branch: Branch, boss: User) -> None:
    make_user(branch, Role.MANAGER, "gone", is_active=False)
    place = boss.memberships.get()
    page = manager.post(f"/people/{place.pk}/active/", {"may": "0"}).content.decode()
    assert "only manager" in page


def test_with_another_manager_one_may_go(manager: Client, branch: Branch, boss: User) -> None:
    make_user(branch, Role.MANAGER, "second")
    place = boss.memberships.get()
    assert (
        manager.post(f"/people/{place.pk}/edit/", {"name": "Boss", "login": "boss", "role": "viewer"}).status_code
        == 302
    )
    assert manager.get("/people/").status_code == 403


def test_visits_end_when_somebody_may_sign_in_no_more(manager: Client, hand: Membership) -> None:
    person = signed_in_as(hand.user)
    assert person.get("/customers/").status_code == 200
    manager.post(f"/people/{hand.pk}/active/", {"may": "0"})
    assert person.get("/customers/")["Location"].startswith("/sign-in/")
    assert told(hand.user) == ["may not sign in any more"]
    manager.post(f"/people/{hand.pk}/active/", {"may": "1"})
    assert Client().post("/sign-in/", {"username": "hand", "password": PASSWORD}).status_code == 302


def test_visits_end_when_a_manager_sets_a_password(manager: Client, hand: Membership) -> None:
    person = signed_in_as(hand.user)
    manager.post(f"/people/{hand.pk}/password/", {"password": "rinse it twice over"})
    assert person.get("/customers/")["Location"].startswith("/sign-in/")
    assert told(hand.user) == ["password set"]


def test_a_manager_who_sets_the_own_password_stays_signed_in(manager: Client, boss: User) -> None:
    manager.post(f"/people/{boss.memberships.get().pk}/password/", {"password": "rinse it twice over"})
    assert manager.get("/people/").status_code == 200


@pytest.fixture
def shared(hand: Membership, other_branch: Branch) -> Membership:
    """The technician, who is in another branch too."""
    Membership.objects.create(user=hand.user, branch=other_branch, role=Role.VIEWER.value)
    return hand


@pytest.mark.parametrize("way", ["password", "active", "export"])
def test_who_is_in_another_branch_too_is_out_of_one_manager_s_hand(
    manager: Client, shared: Membership, way: str
) -> None:
    before = User.objects.values().get(pk=shared.user.pk)
    address = f"/people/{shared.pk}/{way}/"
    sent = {"password": "rinse it twice over", "may": "0"}
    answer = manager.get(address) if way == "export" else manager.post(address, sent)
    assert answer.status_code == 403
    assert "Yard Hand is in another branch too" in answer.content.decode()
    assert User.objects.values().get(pk=shared.user.pk) == before


def test_login_and_name_of_who_is_in_another_branch_too_stay_but_the_role_here_changes(
    manager: Client, shared: Membership
) -> None:
    manager.post(f"/people/{shared.pk}/edit/", {"name": "Mine", "login": "mine", "role": "specialist"})
    shared.refresh_from_db()
    assert (shared.user.name, shared.user.login, shared.role) == ("Yard Hand", "hand", "specialist")
    assert shared.user.memberships.exclude(pk=shared.pk).get().role == Role.VIEWER.value


def test_who_is_in_another_branch_too_can_be_taken_out_of_this_one(manager: Client, shared: Membership) -> None:
    assert manager.post(f"/people/{shared.pk}/leave/")["Location"] == "/people/"
    assert shared.user.memberships.count() == 1
    assert told(shared.user) == ["taken out of the branch"]


def test_nobody_is_taken_out_of_the_only_branch(manager: Client, hand: Membership) -> None:
    page = manager.post(f"/people/{hand.pk}/leave/").content.decode()
    assert "is in no other branch" in page
    assert hand.user.memberships.count() == 1


def test_who_looks_after_all_branches_may_set_a_password_of_anybody(group: Client, shared: Membership) -> None:
    assert group.post(f"/people/{shared.pk}/password/", {"password": "rinse it twice over"}).status_code == 302
    shared.user.refresh_from_db()
    assert shared.user.check_password("rinse it twice over")
    assert Trail.objects.filter(what="password set").count() == 2, "a line in the trail of each of the branches"


def test_a_manager_of_one_branch_never_gets_hold_of_who_looks_after_all(manager: Client, branch: Branch) -> None:
    person = make_user(branch, Role.VIEWER, "all", name="All", is_group=True)
    place = person.memberships.get()
    answer = manager.post(f"/people/{place.pk}/password/", {"password": "rinse it twice over"})
    assert answer.status_code == 403
    assert "All looks after all branches" in answer.content.decode()
    manager.post(f"/people/{place.pk}/edit/", {"name": "All", "login": "mine", "role": "viewer", "is_group": ""})
    person.refresh_from_db()
    assert (person.login, person.is_group) == ("all", True)


def test_a_manager_cannot_make_anybody_look_after_all_branches(manager: Client, hand: Membership) -> None:
    manager.post(f"/people/{hand.pk}/edit/", {"name": "Yard Hand", "login": "hand", "role": "viewer", "is_group": "on"})
    hand.user.refresh_from_db()
    assert not hand.user.is_group


def test_the_last_one_who_looks_after_all_branches_goes_on_doing_so(group: Client, branch: Branch) -> None:
    person = User.objects.get(login="group")
    place = person.memberships.get(branch=branch)
    typed = {"name": "Group", "login": "group", "role": "manager"}
    page = group.post(f"/people/{place.pk}/edit/", typed).content.decode()
    assert "Group is the only one who looks after all branches" in page
    person.refresh_from_db()
    assert person.is_group


def test_only_who_looks_after_all_branches_takes_in_people_of_another(
    manager: Client, group: Client, other_branch: Branch, branch: Branch
) -> None:
    far = make_user(other_branch, Role.TECHNICIAN, "far", name="Far Away")
    assert manager.get("/people/known/").status_code == 403
    assert manager.post("/people/known/", {"login": "far", "role": "viewer"}).status_code == 403
    page = group.post("/people/known/", {"login": "nobody", "role": "viewer"}).content.decode()
    assert "Nobody signs in with that" in page
    group.post("/people/known/", {"login": "FAR", "role": "viewer"})
    assert far.memberships.get(branch=branch).role == "viewer"
    assert (
        "is in this branch already" in group.post("/people/known/", {"login": "far", "role": "viewer"}).content.decode()
    )


def test_a_technician_sees_no_people_at_all(hand: Membership, signed_in: Callable[[Role], Client]) -> None:
    person = signed_in_as(hand.user)
    assert "/people/" not in person.get("/customers/").content.decode()
    assert person.get("/people/").status_code == 403
