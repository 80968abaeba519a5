"""What the browser adds to pages that work without it, and how the looks follow the person, the device and paper."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playwright.sync_api import Dialog, Page, Request
from tests.e2e.conftest import Windows
from tests.shop_browser import DESKTOP, PHONE, Look
from tests.shop_cases import make_customer, make_machine, make_user

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Customer

WITHOUT_SCRIPTS = replace(PHONE, scripts=False)


@pytest.fixture
def specialist(people: dict[Role, User]) -> User:
    return people[Role.SPECIALIST]


def background(page: Page, selector: str = "body") -> str:
    found: str = page.evaluate("one => getComputedStyle(document.querySelector(one)).backgroundColor", selector)
    return found


# What each square of the key is filled with: colour, how far from its right, and what is cut out of it.
_FILLS = """[...document.querySelectorAll(".marks-key .mark-of")].map((one) => {
  const filled = getComputedStyle(one, "::before");
  return [filled.backgroundColor, filled.insetInlineEnd, filled.clipPath].join();
})"""


def fetch_a_part(page: Page) -> None:
    """Have a part of the page fetched, as pages do that show what comes of it while one types."""
    page.evaluate("htmx.ajax('GET', '/customers/', {target: '.foot', swap: 'none'}).then(() => null, () => null)")


@pytest.mark.parametrize("look", [DESKTOP, WITHOUT_SCRIPTS], ids=str)
def test_a_customer_is_taken_down_after_a_mistake_and_nothing_typed_is_lost(
    window: Windows, specialist: User, look: Look
) -> None:
    seen = window(look, specialist)
    page = seen.go("/customers/")
    page.get_by_role("link", name="New customer").click()
    page.get_by_label("E-mail").fill("nobody")
    page.get_by_label("Place").fill("Mill road")
    page.get_by_role("button", name="Keep").click()
    assert page.get_by_role("alert").locator("li").count() == 2
    seen.check()
    seen.shot("customer-new-refused")
    page.get_by_role("alert").get_by_role("link", name="Name").click()
    page.get_by_label("Name").fill("Two Creeks")
    page.get_by_label("E-mail").fill("office@example.com")
    page.get_by_role("button", name="Keep").click()
    assert page.get_by_role("heading", name="Two Creeks").is_visible()
    seen.check()
    seen.shot("customer-kept")
    assert Customer.objects.get().place == "Mill road"


def test_whoever_works_by_keyboard_starts_at_what_is_wrong(window: Windows, specialist: User) -> None:
    page = window(DESKTOP, specialist).go("/customers/new/")
    page.get_by_role("button", name="Keep").click()
    page.locator(".problems:focus").wait_for()


def test_a_second_press_sends_nothing_and_a_form_that_came_back_is_free_at_once(
    window: Windows, specialist: User
) -> None:
    page = window(DESKTOP, specialist).go("/customers/new/")
    sent: list[str] = []

    def note(request: Request) -> None:
        if request.method == "POST":
            sent.append(request.url)

    page.on("request", note)
    page.get_by_label("Place").fill("Mill road")
    page.get_by_role("button", name="Keep").dblclick()
    page.get_by_role("alert").wait_for()
    assert len(sent) == 1
    page.get_by_label("Name").fill("Two Creeks")
    page.get_by_role("button", name="Keep").dblclick()
    page.get_by_role("heading", name="Two Creeks").wait_for()
    assert len(sent) == 2
    assert Customer.objects.count() == 1


def test_the_browser_asks_before_what_was_typed_is_left_and_not_when_it_is_left_on_purpose(
    window: Windows, specialist: User
) -> None:
    page = window(DESKTOP, specialist).go("/customers/new/")
    asked: list[str] = []

    def stay(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.on("dialog", stay)
    page.get_by_label("Name").press_sequentially("Two Creeks")
    page.get_by_role("link", name="Readiness").click()
    assert asked == ["beforeunload"]
    assert page.get_by_label("Name").input_value() == "Two Creeks"
    page.get_by_role("link", name="Leave as it was").click()
    page.get_by_role("heading", name="Customers").wait_for()
    assert asked == ["beforeunload"]


def test_a_server_that_cannot_be_reached_is_told_in_words(window: Windows, specialist: User) -> None:
    seen = window(PHONE, specialist)
    page = seen.go("/customers/new/")
    page.get_by_label("Name").fill("Two Creeks")
    page.context.set_offline(True)
    fetch_a_part(page)
    page.get_by_text("The server cannot be reached").wait_for()
    assert page.get_by_label("Name").input_value() == "Two Creeks"
    seen.shot("unreachable")
    page.context.set_offline(False)
    fetch_a_part(page)
    page.get_by_text("The server cannot be reached").wait_for(state="hidden")
    assert len([line for line in seen.wrong if "ERR_INTERNET_DISCONNECTED" in line or "htmx:" in line]) == 4
    del seen.wrong[:4]


def test_by_keyboard_one_gets_past_the_top_of_the_page_in_two_keys(window: Windows, specialist: User) -> None:
    page = window(DESKTOP, specialist).go("/customers/")
    page.keyboard.press("Tab")
    assert page.get_by_role("link", name="Skip to the content").is_visible()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_what_the_person_chose_wins_over_the_device(window: Windows, branch: Branch) -> None:
    night = make_user(branch, Role.SPECIALIST, "night", theme="dark")
    day = make_user(branch, Role.SPECIALIST, "day", theme="light")
    nobody_cares = make_user(branch, Role.SPECIALIST, "device")
    dark = replace(DESKTOP, theme="dark")
    shown = {
        (user.login, look.theme): background(window(look, user).go("/customers/"))
        for user in (night, day, nobody_cares)
        for look in (DESKTOP, dark)
    }
    assert shown["night", "light"] == shown["night", "dark"] == shown["device", "dark"]
    assert shown["day", "light"] == shown["day", "dark"] == shown["device", "light"]
    assert shown["day", "light"] != shown["night", "light"]


def test_paper_is_white_and_has_no_way_round_the_shop(window: Windows, branch: Branch) -> None:
    make_machine(make_customer(branch))
    seen = window(DESKTOP, make_user(branch, Role.SPECIALIST, "night", theme="dark"))
    page = seen.go("/")
    page.emulate_media(media="print")
    assert not page.get_by_role("navigation", name="Rooms").is_visible()
    assert not page.get_by_role("search").is_visible()
    assert page.get_by_role("table").first.is_visible()
    assert background(page, ".key") == "rgba(0, 0, 0, 0)"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    seen.shot("board-paper")


def test_states_keep_their_shapes_where_the_device_gives_the_colours(window: Windows, branch: Branch) -> None:
    make_machine(make_customer(branch))
    seen = window(DESKTOP, make_user(branch))
    page = seen.go("/")
    page.emulate_media(forced_colors="active")
    fills = page.evaluate(_FILLS)
    assert ["rgba(0, 0, 0, 0)" in fill for fill in fills] == [False, False, True, False]
    assert len(set(fills)) == len(fills) == 4
    seen.shot("board-forced")


@pytest.mark.parametrize("wide", [360, 768, 1024, 1920, 3840])
def test_a_board_full_of_machines_keeps_to_the_window_from_a_phone_to_a_wall(
    window: Windows, branch: Branch, wide: int
) -> None:
    make_machine(make_customer(branch, "A farm whose name is as long as names of farms ever are, and its heirs"))
    seen = window(replace(DESKTOP, device=f"wide{wide}", wide=wide, high=wide // 16 * 9), make_user(branch))
    seen.go("/")
    seen.check()
    seen.shot("board")
