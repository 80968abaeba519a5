"""A machine's own page."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_changeover, make_machine, make_season, make_wet_run

from wetrun.shop.accounts.models import User
from wetrun.shop.records.models import Customer, Machine


def test_the_file_tells_the_machine_in_the_reader_s_units(specialist: Client, machine: Machine) -> None:
    page = specialist.get(f"/machines/{machine.pk}/").content.decode()
    assert "120 ft" in page
    assert "72 tips, 20 in apart" in page
    assert "22 psi" in page
    User.objects.filter(login__startswith="specialist").update(units="si")
    page = specialist.get(f"/machines/{machine.pk}/").content.decode()
    assert "36.6 m" in page
    assert "22 psi (1.517 bar)" in page


def test_each_station_says_what_it_lacks(specialist: Client, machine: Machine) -> None:
    page = specialist.get(f"/machines/{machine.pk}/").content.decode()
    for words in ("Ask for the season", "Make the tip plan", "Run it with water", "Write down the numbers"):
        assert words in page


def test_what_was_done_stands_in_its_history(specialist: Client, machine: Machine) -> None:
    season = make_season(machine)
    make_wet_run(machine, season)
    make_changeover(machine, season)
    page = specialist.get(f"/machines/{machine.pk}/").content.decode()
    for title in ("Season 2027", "Before the season", "Soybeans to corn, July"):
        assert title in page


def test_a_machine_that_cannot_be_computed_with_says_why(specialist: Client, customer: Customer) -> None:
    machine = make_machine(customer, {"name": "Half", "boom": {"spacing": "20", "sections": [4]}})
    page = specialist.get(f"/machines/{machine.pk}/").content.decode()
    assert "boom.spacing" in page
    assert "control" in page


@pytest.mark.parametrize("count", [1, 30])
def test_the_file_asks_as_often_for_a_long_history_as_for_a_short_one(
    specialist: Client, machine: Machine, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        season = make_season(machine)
        season.first_day = date(2027, 1, 1) + timedelta(n)
        season.save()
        make_wet_run(machine, season)
        make_changeover(machine, season)
    specialist.get(f"/machines/{machine.pk}/")
    with django_assert_num_queries(20):
        specialist.get(f"/machines/{machine.pk}/")
