"""From making the link to the accepted draft, in a real browser on a phone: a specialist and a customer by hand."""

from __future__ import annotations

from datetime import date
from typing import Final

from playwright.sync_api import expect
from tests.e2e.conftest import Windows
from tests.shop_browser import PHONE, Watched
from tests.shop_cases import log_text, make_customer, make_machine

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.intake.models import Intake, Stand
from wetrun.shop.records.models import Machine, Season

GO_ON: Final = "Keep and go on"
SEASON: Final = "Season of the test"


def looked_at(seen: Watched, name: str, title: str) -> None:
    """The page under a title is there, shuts nobody out, and a picture of it is kept."""
    expect(seen.page.get_by_role("heading", level=1, name=title, exact=True)).to_be_visible()
    seen.page.wait_for_load_state()
    seen.check()
    seen.shot(name)


def press(seen: Watched, name: str) -> None:
    seen.page.get_by_role("button", name=name).click()


def fill(seen: Watched, typed: dict[str, str]) -> None:
    for label, text in typed.items():
        seen.page.get_by_label(label, exact=True).fill(text)


def ask(seen: Watched) -> str:
    """The specialist asks the customer; the address as it stands on the page, to be copied."""
    page = seen.go("/")
    page.get_by_role("link", name="Number 7, 120 ft").click()
    page.get_by_role("link", name="Ask the customer").first.click()
    looked_at(seen, "intake-new", "Ask the customer")
    fill(seen, {"Title": SEASON})
    press(seen, "Make the link")
    expect(page.get_by_role("img", name="Square code of the link")).to_be_visible()
    looked_at(seen, "intake-link", SEASON)
    address = page.get_by_label("Address").input_value()
    assert address in page.get_by_label("Text to copy").input_value()
    page.get_by_role("link", name="Done").click()
    assert address not in page.content(), "it is shown once"
    return address.removeprefix(seen.at)


def type_crop(seen: Watched) -> None:
    """The first form, with an area nobody can read at first."""
    press(seen, "Add the first spraying")
    days = {"First day it could be": "2027-04-15", "Last day it should be": "2027-05-10"}
    fill(seen, {"Crop": "soybeans", "What this spraying is for": "Burndown", "Area": "six hundred"} | days)
    press(seen, GO_ON)
    expect(seen.page.get_by_text("kept as you typed it")).to_be_visible()
    expect(seen.page.get_by_label("Area", exact=True)).to_have_value("six hundred")
    looked_at(seen, "intake-wrong", "Crop and days")
    fill(seen, {"Area": "640"})
    press(seen, GO_ON)


def type_mix_and_speeds(seen: Watched) -> None:
    """The second and the third form."""
    fill(seen, {"Liquid": "water", "Usual rate": "140 L/ha"})
    press(seen, "Add: Product")
    fill(seen, {"Name": "Invented 3", "Rate": "32 fl oz/ac"})
    looked_at(seen, "intake-mix", "What is sprayed")
    press(seen, GO_ON)
    fill(seen, {"Usual, on open ground": "12", "Fast": "15", "Along waterways and terraces": "9"})
    looked_at(seen, "intake-speeds", "Speeds")
    press(seen, GO_ON)


def send_log(seen: Watched) -> None:
    """A picture is refused, a log is taken."""
    page = seen.page
    page.get_by_role("link", name="Send field logs").click()
    photo = {"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": b"no log at all"}
    page.get_by_label("Files").set_input_files(photo)  # type: ignore[arg-type]
    press(seen, "Send")
    expect(page.get_by_text("is no field log").first).to_be_visible()
    log = {"name": "north.csv", "mimeType": "text/csv", "buffer": log_text(30).encode()}
    page.get_by_label("Files").set_input_files(log)  # type: ignore[arg-type]
    press(seen, "Send")
    expect(page.get_by_text("It is here and will be read.")).to_be_visible()
    looked_at(seen, "intake-logs", "Field logs")
    page.get_by_role("link", name="All sprayings").click()


def hand_in(seen: Watched) -> None:
    seen.page.get_by_role("link", name="Look it over and hand it in").click()
    fill(seen, {"Your name": "Zita Quist"})
    looked_at(seen, "intake-hand-in", "Hand it in")
    press(seen, "Hand it in")
    expect(seen.page.get_by_role("heading", name="Handed in")).to_be_visible()
    looked_at(seen, "intake-thanks", "Handed in")


def look_through(seen: Watched) -> None:
    """The specialist changes one value, leaves one out that is needed, is told so, and takes it after all."""
    page = seen.go("/")
    expect(page.get_by_text("waits to be looked through")).to_be_visible()
    looked_at(seen, "intake-board", "Readiness")
    page.get_by_role("link", name="Customer", exact=True).click()
    looked_at(seen, "intake-page", f"Intake: {SEASON}")
    page.get_by_role("link", name="Look it through").click()
    looked_at(seen, "intake-review", "Look through")
    area, fast = page.locator('[id="1.area"]'), page.locator('[id="1.speeds.fast"]')
    area.get_by_label("change to", exact=True).check()
    area.get_by_label("Area, changed to").fill("600")
    fast.get_by_label("leave out").check()
    press(seen, "Take it over into the season")
    expect(page.get_by_text("Nothing was kept yet")).to_be_visible()
    expect(area.get_by_label("Area, changed to")).to_have_value("600")
    fast.get_by_label("take").check()
    press(seen, "Take it over into the season")
    expect(page.get_by_text("Taken over into")).to_be_visible()
    looked_at(seen, "intake-taken", SEASON)


def check_kept(machine: Machine) -> None:
    (one,) = Season.objects.get(machine=machine).document["pass"]
    assert (one["area"], one["rate"], one["first"]) == ("600 ac", "140 L/ha", date(2027, 4, 15))
    assert one["speeds"] == {"slow": "9 mph", "usual": "12 mph", "fast": "15 mph", "waterways": "9 mph"}
    assert one["product"] == [{"name": "Invented 3", "rate": "32 fl oz/ac"}]
    intake = Intake.objects.get()
    assert (intake.stand, intake.filled_in_by) == (Stand.SETTLED, "Zita Quist")
    assert intake.document["passes"][0]["typed"]["area"] == "640 ac"


def test_a_season_asked_over_a_link_is_typed_by_the_customer_and_taken_over_value_by_value(
    window: Windows, branch: Branch, people: dict[Role, User]
) -> None:
    machine = make_machine(make_customer(branch))
    specialist, customer = window(PHONE, people[Role.SPECIALIST]), window(PHONE)
    address = ask(specialist)
    customer.go(address)
    looked_at(customer, "intake-first", SEASON)
    type_crop(customer)
    type_mix_and_speeds(customer)
    customer.go("/sign-in/")
    customer.go(address)  # away, and back with the same link
    expect(customer.page.get_by_text("640 ac")).to_be_visible()
    looked_at(customer, "intake-open", SEASON)
    send_log(customer)
    hand_in(customer)
    look_through(specialist)
    check_kept(machine)
