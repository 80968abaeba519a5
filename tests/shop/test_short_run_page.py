"""A customer comes on the day: minutes in, tests out; what stays unproven said, the rest booked and shown."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from tests.shop.test_proofs_page import enter, proven_run, text_of
from tests.shop_cases import make_machine, today_in

from wetrun.shop.records.models import Booking, Customer, Machine, Trail, YardRules

pytestmark = pytest.mark.django_db


def shown(client: Client, machine: Machine, minutes: float, jugs: int = 6) -> str:
    return text_of(client, f"/machines/{machine.pk}/short-run/?minutes={minutes}&jugs={jugs}")


def test_the_minutes_decide_and_what_stays_unproven_is_said(viewer: Client, machine: Machine) -> None:
    little, much = shown(viewer, machine, 12), shown(viewer, machine, 240)
    assert "catch of twelve tips</th>" in little
    assert "timed course, both ways</li>" in little
    assert "timed course, both ways</th>" in much
    assert "a wrong number in the monitor" in little
    assert "common practice, no source" in little
    assert "Book the rest</button>" not in little, "a viewer books nothing"
    assert "No test fits that time." in shown(viewer, machine, 0)


def test_what_still_holds_is_left_alone_until_an_event_cancels_it(specialist: Client, machine: Machine) -> None:
    proven_run(machine)
    assert "meter catches" not in shown(specialist, machine, 45).split("What stays unproven")[0]
    enter(specialist, machine, "NEW_TIRES")
    page = shown(specialist, machine, 25)
    assert "timed course, both ways</th>" in page
    assert "Lapsed before this run: wheel speed number." in " ".join(page.split())


def test_the_rest_is_booked_once_shown_on_the_board_and_closed(specialist: Client, machine: Machine) -> None:
    address, day = f"/machines/{machine.pk}/short-run/", today_in(machine.branch) + timedelta(7)
    sent = {"minutes": "30", "jugs": "6", "on": day.isoformat(), "note": "after the fair"}
    over = specialist.post(address, sent | {"on": "2020-01-01"}).content.decode()
    assert "That day is over" in over
    assert "after the fair" in over
    assert 'value="30"' in over
    for _ in range(2):
        assert specialist.post(address, sent).status_code == 302
    booking = Booking.objects.get()
    assert "timed course, both ways" in booking.tests
    assert "speed shown" in booking.unproven
    assert "Booked" in text_of(specialist, "/")
    page = text_of(specialist, f"/machines/{machine.pk}/proofs/")
    assert "after the fair" in page
    assert specialist.post(f"/bookings/{booking.pk}/close/").status_code == 302
    assert "Booked" not in text_of(specialist, "/")
    assert [line.what for line in Trail.objects.filter(kind="Booking").order_by("pk")] == ["booked", "closed"]


def test_a_shop_s_own_minutes_count(specialist: Client, machine: Machine) -> None:
    assert "catch of twelve tips</th>" in shown(specialist, machine, 12)
    wrong = specialist.post("/test-minutes/", {"CATCH_12-each": "slow"}).content.decode()
    assert 'value="slow"' in wrong
    assert specialist.post("/test-minutes/", {"CATCH_12-setup": "30", "CATCH_12-each": "1.5"}).status_code == 302
    assert YardRules.objects.get().minutes["CATCH_12"] == {"setup": "30", "each": "1.5"}
    assert "catch of twelve tips</th>" not in shown(specialist, machine, 12)


def test_a_machine_without_a_boom_says_what_to_type(specialist: Client, customer: Customer) -> None:
    bare = make_machine(customer, {"name": "Bare"})
    assert "boom is not typed yet" in shown(specialist, bare, 30)
