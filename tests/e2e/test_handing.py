"""A machine handed over by link in a real browser on a phone: card, photo, a wrong number found, signed."""

from __future__ import annotations

import re
from pathlib import Path

from django.utils import timezone
from playwright.sync_api import Locator, expect
from pytest_django import Settings
from tests.e2e.conftest import Windows
from tests.shop_browser import PATIENCE_MS, PHONE, Watched
from tests.shop_cases import small_season
from tests.shop_handing import make_settings
from tests.shop_jobs import make_worker
from tests.shop_photos import photo_bytes

from wetrun.machine.walk_round import WALK
from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.handovers import left_numbers
from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of
from wetrun.shop.records.models import Handover, Machine, MonitorSettings, TipPlan


def sees(what: Locator) -> None:
    """It is there, however slow the machine."""
    expect(what).to_be_visible(timeout=PATIENCE_MS)


def looked_at(seen: Watched, name: str, title: str) -> None:
    """The page under a title is there, shuts nobody out, and a picture of it is kept."""
    sees(seen.page.get_by_role("heading", level=1, name=title, exact=True))
    seen.page.wait_for_load_state()
    seen.check()
    seen.shot(name)


def press(seen: Watched, name: str) -> None:
    seen.page.get_by_role("button", name=name, exact=True).click()


def offer(seen: Watched, machine: Machine) -> str:
    """The specialist makes the link; the address as it stands on the page, to be copied."""
    page = seen.go(f"/machines/{machine.pk}/handovers/")
    page.get_by_role("link", name="Hand over by link").click()
    looked_at(seen, "handing-new", "Hand over by link")
    press(seen, "Make the link")
    sees(page.get_by_role("img", name="Square code of the link"))
    looked_at(seen, "handing-link", "Hand over by link")
    return page.get_by_label("Address").input_value().removeprefix(seen.at)


def walk_round(seen: Watched, machine: Machine, plan: TipPlan) -> None:
    """The card is read, every point found right but one, which is remarked."""
    page = seen.page
    card = next(one for one in plan.in_us["cards"] if one)
    sees(page.get_by_text(card["window"], exact=True))
    looked_at(seen, "handing-card", machine.name)
    page.get_by_label("Your name").fill("Bo Cole")
    press(seen, "Begin the walk round")
    for look in WALK:
        page.locator(f'[name="look-{look.key}"][value="{"wrong" if look.key == "hoses" else "right"}"]').check()
    page.locator('[name="remark-hoses"]').fill("left wing hose is worn")
    looked_at(seen, "handing-walk", "Walk round")
    press(seen, "Keep, then a photo of: Hoses are not worn, kinked or pinched, folded and unfolded")


def send_photo(seen: Watched) -> None:
    page = seen.page
    expect(page.get_by_label("What it is of")).to_have_value("hoses", timeout=PATIENCE_MS)
    photo = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes()}
    page.get_by_label("Photo", exact=True).set_input_files(photo)  # type: ignore[arg-type]
    press(seen, "Send the photo")
    sees(page.get_by_text("Photo is here and being looked at."))
    make_worker(timezone.now).run(0, once=True)
    page.reload()
    sees(page.get_by_role("img", name=re.compile("Photo 1 of")))
    looked_at(seen, "handing-photos", "Photos")
    page.get_by_role("link", name="Go on to the numbers").click()


def compare(seen: Watched, settings: MonitorSettings) -> None:
    """Every number as left, but the meter's."""
    page = seen.page
    for one in left_numbers(settings):
        page.locator(f'[name="number-{one.key}"]').fill("720" if one.key == "meter_number" else one.text)
    press(seen, "Keep and compare")
    sees(page.get_by_text("Differs: it was left with 748."))
    sees(page.get_by_text("Rate −3.7 % at every speed."))
    looked_at(seen, "handing-numbers", "Numbers in the monitor")
    page.get_by_role("link", name="Go on to sign").click()


def sign(seen: Watched) -> None:
    page = seen.page
    sees(page.get_by_text("Rate −3.7 % at every speed."))
    press(seen, "Sign")
    sees(page.get_by_text("Nobody signed. Type your full name.").first)
    looked_at(seen, "handing-unsigned", "Sign")
    page.get_by_label("Signed (your full name)").fill("Bo Cole")
    press(seen, "Sign")
    sees(page.get_by_role("heading", name="Signed", exact=True))
    looked_at(seen, "handing-signed", "Signed")


def test_an_operator_takes_a_machine_over_by_link_and_finds_a_wrong_number(
    window: Windows, branch: Branch, people: dict[Role, User], settings: Settings, tmp_path: Path
) -> None:
    settings.UPLOADS = tmp_path / "uploads"
    plan = keep_plan(tip_plan_of(small_season(branch)), None)
    machine = plan.season.machine
    left = make_settings(machine)
    specialist, phone = window(PHONE, people[Role.SPECIALIST]), window(PHONE)
    phone.go(offer(specialist, machine))
    walk_round(phone, machine, plan)
    send_photo(phone)
    compare(phone, left)
    sign(phone)
    specialist.go("/")
    sees(specialist.page.get_by_text("Bo Cole, over a link"))
    looked_at(specialist, "handing-board", "Readiness")
    assert Handover.objects.get().differing[0]["key"] == "meter_number"
