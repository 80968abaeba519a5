"""The readiness board: who sprays first, how far, and what stands in the way."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_customer, make_machine, make_season, make_wet_run, today_in

from wetrun.shop.accounts.models import Branch
from wetrun.shop.records.models import Customer, Machine, TipPlan


def named_machine(customer: Customer, name: str) -> Machine:
    document = {"name": name, "boom": {"spacing": "20 in", "sections": [4]}, "control": {"loop": "none"}}
    return make_machine(customer, document)


def test_the_first_to_spray_stands_first_and_a_machine_without_a_day_last(
    specialist: Client, customer: Customer
) -> None:
    today = today_in(customer.branch)
    for name, days in (("Later one", 40), ("Soon one", 3)):
        season = make_season(named_machine(customer, name))
        season.first_day, season.last_day = today + timedelta(days), today + timedelta(days + 9)
        season.save()
    named_machine(customer, "No season")
    page = specialist.get("/").content.decode()
    assert page.index("Within two weeks") < page.index("Soon one") < page.index("Within six weeks")
    assert page.index("Later one") < page.index("No first spray day known") < page.index("No season")
    assert "Ask for the season" in page


def test_the_season_that_comes_counts_and_not_one_that_is_over(specialist: Client, machine: Machine) -> None:
    today = today_in(machine.branch)
    for title, days in (("Gone", -400), ("Coming", 10), ("After that", 300)):
        season = make_season(machine)
        season.title, season.first_day, season.last_day = title, today + timedelta(days), today + timedelta(days + 20)
        season.save()
    page = specialist.get("/").content.decode()
    assert "in 10 days" in page
    assert page.count(machine.name) == 1


def test_a_failing_wet_run_is_what_stands_in_the_way(specialist: Client, machine: Machine) -> None:
    season, today = make_season(machine), today_in(machine.branch)
    season.first_day, season.last_day = today + timedelta(5), today + timedelta(50)
    season.save()
    run = make_wet_run(machine, season, verdict="fail", agrees=True)
    run.on = today
    run.proven_at = run.made_at
    run.save()
    assert "The wet run fails: mend what it names and run again." in specialist.get("/").content.decode()


@pytest.mark.parametrize("count", [1, 40])
def test_the_board_asks_as_often_for_many_machines_as_for_one(
    specialist: Client, customer: Customer, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        machine = named_machine(customer, f"Number {n}")
        season = make_season(machine)
        TipPlan.objects.create(branch=machine.branch, season=season, digest="x", method="m", in_us={}, in_si={})
        make_wet_run(machine, season)
    specialist.get("/")
    with django_assert_num_queries(15):
        specialist.get("/")


def test_another_branch_s_machines_do_not_show(specialist: Client, other_branch: Branch) -> None:
    named_machine(make_customer(other_branch, "Far Side Farm"), "Far machine")
    assert "Far machine" not in specialist.get("/").content.decode()


def test_a_machine_is_found_by_its_customer_too(specialist: Client, branch: Branch, machine: Machine) -> None:
    named_machine(make_customer(branch, "Two Creeks"), "Number 3")
    page = specialist.get("/", {"q": "two cr"}).content.decode()
    assert "Number 3" in page
    assert machine.name not in page
