"""The pages of the yard are open to everybody, and keep to a phone's window, with everything on them that can be."""

from __future__ import annotations

import uuid

import pytest
from tests.e2e.conftest import Windows
from tests.shop_browser import PHONE
from tests.shop_cases import make_customer, make_machine, make_user, make_wet_run

from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Reading
from wetrun.shop.yard.models import SecondReading


@pytest.mark.parametrize("address", ["/wet-runs/{run}/catch/", "/wet-runs/{run}/course/", "/yard/waiting/"])
def test_nobody_is_shut_out(window: Windows, branch: Branch, address: str) -> None:
    user = make_user(branch, Role.TECHNICIAN)
    run = make_wet_run(make_machine(make_customer(branch)))
    place = "catch.readings.7"
    first = Reading.objects.create(wet_run=run, place=place, typed="39.0", by=user, number=1)
    SecondReading.objects.create(entry=uuid.uuid4(), wet_run=run, against=first, place=place, typed="52.1", by=user)
    seen = window(PHONE, user)
    page = seen.go(address.format(run=run.pk))
    page.wait_for_timeout(300)
    seen.check()
    seen.shot(f"yard-{address.strip('/').split('/')[-1]}")
