"""Typing a boom tip by tip in a real browser: wet gloves, a phone, and no script at all."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.e2e.conftest import Windows
from tests.shop_browser import DESKTOP, PHONE, Look
from tests.shop_cases import make_customer, make_machine, make_user, make_wet_run

from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.records.models import WetRun

SMALL = {"name": "Small", "boom": {"spacing": "20 in", "sections": [5, 5]}, "control": {"loop": "flow meter"}}


@pytest.fixture
def wet_run(branch: Branch) -> WetRun:
    run = make_wet_run(make_machine(make_customer(branch), SMALL))
    tips = {"fitted": "iso-11004-ff"}
    run.document = {
        "format_version": 1,
        "title": run.title,
        "tips": tips,
        "catch": {"unit": "fl oz", "pressure": "40 psi"},
    }
    run.save()
    return run


@pytest.mark.parametrize("look", [DESKTOP, PHONE], ids=str)
def test_enter_goes_on_to_the_next_tip_and_the_last_key_keeps_the_boom(
    window: Windows, branch: Branch, wet_run: WetRun, look: Look
) -> None:
    seen = window(look, make_user(branch, Role.TECHNICIAN))
    page = seen.go(f"/wet-runs/{wet_run.pk}/catch/")
    page.locator("#tip-1").click()
    for n in range(1, 11):
        assert page.evaluate("document.activeElement.id") == f"tip-{n}"
        page.keyboard.type(f"25.{n % 10}")
        page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "dry"
    page.get_by_role("button", name="Keep the readings").click()
    page.get_by_text("10 of 10 typed").wait_for()
    assert page.locator("#tip-7").input_value() == "25.7"
    assert document_of(wet_run)["catch"]["readings"]["10"] == "25.0"
    seen.check()


def test_without_scripts_the_boom_is_typed_and_kept_all_the_same(
    window: Windows, branch: Branch, wet_run: WetRun
) -> None:
    seen = window(replace(PHONE, scripts=False), make_user(branch, Role.TECHNICIAN))
    page = seen.go(f"/wet-runs/{wet_run.pk}/catch/")
    page.locator("#tip-1").fill("25.6")
    page.locator("#tip-2").fill("25.5")
    page.get_by_role("button", name="Keep the readings").click()
    page.get_by_text("2 readings kept.").wait_for()
    assert document_of(wet_run)["catch"]["readings"] == {"1": "25.6", "2": "25.5"}
