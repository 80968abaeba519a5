"""The audit trail as it is read: of a branch, of one record, with what was and what is, and of nobody else's."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_customer, make_machine, make_user

from wetrun.shop.accounts.desk import desk_of
from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.differences import Difference, differences
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Customer, Machine, Trail
from wetrun.shop.records.trail import told


@pytest.fixture
def reed(branch: Branch) -> User:
    return make_user(branch, Role.SPECIALIST, "reed", name="A. Reed")


def test_a_change_is_told_with_who_when_what_was_and_what_is(viewer: Client, reed: User, customer: Customer) -> None:
    customer.phone = "555 0177"
    kept(customer, desk_of(reed, None), "changed")
    for address in ("/trail/", f"/trail/Customer/{customer.pk}/"):
        page = viewer.get(address).content.decode()
        assert "A. Reed" in page
        assert f'href="/customers/{customer.pk}/"' in page
        assert "<dt>phone</dt>" in page
        assert "<ins>555 0177</ins>" in page


def test_times_stand_on_the_branch_s_clock(viewer: Client, branch: Branch, customer: Customer) -> None:
    Branch.objects.update(time_zone="Asia/Tokyo")
    line = told(customer, "taken down", None)
    Trail.objects.filter(pk=line.pk).update(at="2027-03-12T20:30:00Z")
    page = viewer.get("/trail/").content.decode()
    assert "05:30" in page
    assert 'datetime="2027-03-13T05:30:00+09:00"' in page


def test_a_record_s_trail_is_its_own_and_no_other_s(viewer: Client, customer: Customer) -> None:
    other = make_customer(customer.branch, "Two Creeks")
    told(customer, "taken down", None)
    told(other, "taken down as well", None)
    page = viewer.get(f"/trail/Customer/{customer.pk}/").content.decode()
    assert "Low Fork Farm" in page
    assert "as well" not in page


def test_a_record_nobody_changed_says_so(viewer: Client, machine: Machine) -> None:
    assert "Nothing was changed yet" in viewer.get(f"/trail/Machine/{machine.pk}/").content.decode()


@pytest.mark.parametrize("kind", ["Customer", "customer", "Nothing", "Session", "User"])
def test_a_stranger_finds_nothing(stranger: Client, customer: Customer, kind: str) -> None:
    told(customer, "taken down", None)
    assert stranger.get(f"/trail/{kind}/{customer.pk}/").status_code == 404


def test_another_branch_s_lines_are_nowhere_to_be_seen(stranger: Client, customer: Customer) -> None:
    told(customer, "taken down", None)
    page = stranger.get("/trail/")
    assert page.status_code == 200
    assert "Low Fork Farm" not in page.content.decode()


def test_a_person_s_trail_shows_only_what_was_done_in_one_s_own_branches(
    viewer: Client, reed: User, branch: Branch, other_branch: Branch
) -> None:
    Membership.objects.create(user=reed, branch=other_branch, role=Role.VIEWER.value)
    told(reed, "taken in", None, branch=branch)
    told(reed, "praised elsewhere", None, branch=other_branch)
    page = viewer.get(f"/trail/User/{reed.pk}/").content.decode()
    assert "taken in" in page
    assert "praised elsewhere" not in page


def test_what_the_worker_did_is_the_shop_s_own_doing(viewer: Client, customer: Customer) -> None:
    told(customer, "worked out", None)
    assert "the shop itself" in viewer.get("/trail/").content.decode()


def test_what_was_typed_cannot_become_part_of_the_page(viewer: Client, customer: Customer) -> None:
    told(customer, "<b>x</b>", None, before={"<i>k</i>": "<script>1</script>"}, after={"<i>k</i>": "<img>"})
    page = viewer.get("/trail/").content.decode()
    for part in ("<b>x", "<i>k", "<script>1", "<img>"):
        assert part not in page


@pytest.mark.parametrize("count", [1, 40])
def test_the_trail_asks_the_database_as_often_for_many_lines_as_for_one(
    viewer: Client, branch: Branch, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        machine = make_machine(make_customer(branch, f"Farm {n}"))
        told(machine, "changed", make_user(branch, Role.TECHNICIAN, f"t{n}"), before={"a": n}, after={"a": -1})
    viewer.get("/trail/")
    with django_assert_num_queries(5):
        viewer.get("/trail/")


def test_a_long_trail_comes_in_pages_the_latest_first(viewer: Client, customer: Customer) -> None:
    for n in range(120):
        told(customer, f"step {n}", None)
    page = viewer.get(f"/trail/Customer/{customer.pk}/").content.decode()
    assert "step 119" in page
    assert "step 69<" not in page
    last = viewer.get(f"/trail/Customer/{customer.pk}/?page=3").content.decode()
    assert "step 0<" in last
    assert "page 3 of 3" in last


@pytest.mark.parametrize(
    ("before", "after", "found"),
    [
        ({"a": 1}, {"a": 1}, []),
        ({"a": 1}, {"a": 2}, [("a", "1", "2")]),
        (None, {"a": {"b": "x"}}, [("a › b", "", "x")]),
        ({"a": "x"}, None, [("a", "x", "")]),
        ({"first": date(2027, 4, 15)}, {"first": date(2027, 4, 16)}, [("first", "2027-04-15", "2027-04-16")]),
        ({"n": [1, 2]}, {"n": [1, 3]}, [("n", "1, 2", "1, 3")]),
        (
            {"pass": [{"name": "Burndown", "rate": "10 gal/ac"}, {"name": "Post", "rate": "12 gal/ac"}]},
            {"pass": [{"name": "Post", "rate": "15 gal/ac"}]},
            [
                ("pass › Burndown", "name: Burndown, rate: 10 gal/ac", ""),
                ("pass › Post › rate", "12 gal/ac", "15 gal/ac"),
            ],
        ),
        (
            {"rows": [{"at": 1}, {"at": 2}]},
            {"rows": [{"at": 1}, {"at": 3}, {"at": 4}]},
            [("rows › 2 › at", "2", "3"), ("rows › 3 › at", "", "4")],
        ),
        ({"a": {"b": 1}}, {"a": "gone"}, [("a", "b: 1", "gone")]),
        ({"on": True}, {"on": None}, [("on", "True", "")]),
        ({"t": "x" * 500}, {"t": ""}, [("t", "x" * 400 + "…", "")]),
    ],
)
def test_what_changed_is_told_place_by_place(before: Any, after: Any, found: list[tuple[str, str, str]]) -> None:
    assert differences(before, after) == tuple(Difference(*each) for each in found)
