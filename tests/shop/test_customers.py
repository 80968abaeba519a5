"""The customers of a branch: seen, taken down, changed, never mixed with those of another branch."""

from __future__ import annotations

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_customer

from wetrun.shop.accounts.models import Branch
from wetrun.shop.records.models import Customer, Trail


def test_the_list_shows_the_branch_s_customers_and_no_others(
    specialist: Client, branch: Branch, other_branch: Branch
) -> None:
    make_customer(branch, "Low Fork Farm")
    make_customer(other_branch, "Far Side Farm")
    page = specialist.get("/customers/").content.decode()
    assert "Low Fork Farm" in page
    assert "Far Side Farm" not in page


@pytest.mark.parametrize("count", [1, 40])
def test_the_list_asks_the_database_as_often_for_many_as_for_one(
    specialist: Client, branch: Branch, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        make_customer(branch, f"Farm {n}")
    specialist.get("/customers/")
    with django_assert_num_queries(5):
        specialist.get("/customers/")


def test_a_new_customer_is_kept_with_who_took_it_down(specialist: Client, branch: Branch) -> None:
    answer = specialist.post("/customers/new/", {"name": "  Two   Creeks ", "phone": "555 0100"})
    customer = Customer.objects.get(name="Two Creeks")
    assert answer["Location"] == f"/customers/{customer.pk}/"
    assert customer.branch == branch
    line = Trail.objects.get(kind="Customer", key=str(customer.pk))
    assert line.by == customer.made_by is not None


def test_bad_input_keeps_what_was_typed_and_says_what_is_wrong(specialist: Client) -> None:
    page = specialist.post("/customers/new/", {"name": "", "email": "nobody", "place": "Mill road"}).content.decode()
    assert 'value="nobody"' in page
    assert 'value="Mill road"' in page
    assert page.count('class="wrong-words"') == 2
    assert not Customer.objects.exists()


def test_of_two_who_change_a_customer_the_second_is_told_and_loses_nothing(
    specialist: Client, customer: Customer
) -> None:
    address = f"/customers/{customer.pk}/edit/"
    specialist.post(address, {"name": customer.name, "phone": "first", "version": "1"})
    page = specialist.post(address, {"name": customer.name, "phone": "second", "version": "1"}).content.decode()
    customer.refresh_from_db()
    assert customer.phone == "first"
    assert 'value="second"' in page
    assert "Now stands there: first" in page
    specialist.post(address, {"name": customer.name, "phone": "second", "version": "2"})
    customer.refresh_from_db()
    assert (customer.phone, customer.version) == ("second", 3)


def test_a_stranger_finds_nothing(stranger: Client, customer: Customer) -> None:
    assert stranger.get(f"/customers/{customer.pk}/").status_code == 404
    assert stranger.post(f"/customers/{customer.pk}/edit/", {"name": "Mine"}).status_code == 404


def test_a_viewer_sees_no_buttons_and_may_send_nothing(viewer: Client, customer: Customer) -> None:
    page = viewer.get(f"/customers/{customer.pk}/")
    assert page.status_code == 200
    assert "/edit/" not in page.content.decode()
    assert viewer.post(f"/customers/{customer.pk}/edit/", {"name": "Mine"}).status_code == 403
