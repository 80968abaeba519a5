"""A boom caught where there is no signal, in a real browser on a phone: nothing is lost, nothing comes in twice."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page
from tests.shop_browser import PATIENCE_MS, PHONE
from tests.shop_cases import PASSWORD
from tests.shop_serving import ROOT, ServedShop, chore, own_database, surroundings, until

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are looked at by /proc")

TIPS = 72
KEPT_PAGES = """async () => {
  const found = [];
  for (const name of await caches.keys()) {
    for (const one of await (await caches.open(name)).keys()) found.push(new URL(one.url).pathname);
  }
  return found;
}"""
SEED = """
from tests.shop_cases import *
from wetrun.shop.accounts.roles import Role
branch = make_branch()
people = [make_user(branch, Role.TECHNICIAN, name) for name in ("tess", "sam")]
run = make_wet_run(make_machine(make_customer(branch)))
run.document["catch"].pop("readings", None)
run.save()
print(run.pk)
"""


@dataclass
class Yard:
    """A served shop and a wet run in it."""

    shop: ServedShop
    run: int

    @property
    def at(self) -> str:
        return f"http://localhost:{self.shop.port}"

    def python(self, code: str) -> str:
        """Run something in a process of the shop's own."""
        done = chore(self.shop.data, "shell", "--no-imports", "-c", code, environ=self.shop.environ)
        assert done.returncode == 0, done.stderr
        return done.stdout.strip()

    def readings(self) -> list[tuple[int, str]]:
        """Every reading of a tip, as kept."""
        code = (
            "from wetrun.shop.records.models import Reading\n"
            f"for r in Reading.objects.filter(wet_run={self.run}): print(r.place.split('.')[-1], r.typed)"
        )
        return [(int(tip), typed) for tip, typed in (line.split(" ", 1) for line in self.python(code).splitlines())]

    def forget(self) -> None:
        """An empty boom again."""
        self.python(
            "from wetrun.shop.records.models import Reading; from wetrun.shop.yard.models import *\n"
            "SecondReading.objects.all().delete(); Reading.objects.all().delete()"
        )


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    data = tmp_path_factory.mktemp("yard") / "data"
    data.mkdir()
    with own_database() as environ:
        assert chore(data, "migrate", "-v0", "--skip-checks", environ=environ).returncode == 0
        around = surroundings(data, environ)
        words = [sys.executable, "-m", "wetrun.shop", "shell", "--no-imports", "-c", SEED]
        seeded = subprocess.run(words, env=around, cwd=ROOT, capture_output=True, text=True, check=False)
        assert seeded.returncode == 0, seeded.stderr
        with ServedShop(data, environ=environ) as shop:
            yield Yard(shop, int(seeded.stdout.split()[-1]))


@pytest.fixture
def yard(served: Yard) -> Yard:
    served.forget()
    return served


def device(browser: Browser, yard: Yard, login: str) -> BrowserContext:
    """A phone of its own, somebody signed in as people do."""
    context = browser.new_context(
        viewport={"width": PHONE.wide, "height": PHONE.high}, has_touch=True, is_mobile=True, base_url=yard.at
    )
    context.set_default_timeout(PATIENCE_MS)
    sign_in(context.new_page(), login)
    return context


def sign_in(page: Page, login: str) -> None:
    """Fill the form."""
    if "/sign-in/" not in page.url:
        page.goto("/sign-in/")
    page.locator("[name=username]").fill(login)
    page.locator("[name=password]").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile(r"^(?!.*sign-in)"))


def at_the_boom(page: Page, yard: Yard) -> Page:
    """The catch, ready to be typed."""
    page.goto(f"/wet-runs/{yard.run}/catch/")
    page.locator("html[data-yard=ready]").wait_for()
    return page


def taken_along(page: Page, yard: Yard) -> None:
    """Open the run once with a signal, so that its pages are there without one."""
    page.goto(f"/wet-runs/{yard.run}/")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    wanted = {f"/wet-runs/{yard.run}/{test}/" for test in ("catch", "course", "meter", "pressure")}
    assert until(lambda: wanted <= set(page.evaluate(KEPT_PAGES)), 60), page.evaluate(KEPT_PAGES)


def reading(tip: int) -> str:
    """What a tip gives: three figures, a worn one among them."""
    return "52.9" if tip == 40 else f"39.{tip % 5}"


def type_tips(page: Page, tips: range) -> None:
    """Type digit by digit; the sheet goes on by itself."""
    page.locator(f"#tip-{tips.start}").focus()
    for tip in tips:
        page.keyboard.type(reading(tip))


def waits(page: Page) -> int:
    """How many entries wait on the device."""
    return int(page.evaluate("Yard.entriesOf(Yard.person).then(all => all.length)"))


def half_typed(page: Page) -> list[str]:
    """What the device keeps of boxes not yet left."""
    return [str(typed) for typed in page.evaluate("Yard.drafts().then(all => all.map(one => one.typed))")]


def goes_empty(page: Page) -> bool:
    """Whether all that waits is sent; the page asks by itself."""
    return until(lambda: waits(page) == 0, 60)


def expected(tips: range) -> list[tuple[int, str]]:
    return [(tip, reading(tip)) for tip in tips]


def counted_keys(page: Page, tips: range) -> int:
    """Type tips; how many keys that took."""
    page.evaluate("globalThis.keys = 0; addEventListener('keydown', () => { keys += 1 }, true)")
    type_tips(page, tips)
    return int(page.evaluate("keys"))


def with_the_server_killed(page: Page, yard: Yard) -> None:
    """Kill the server while entries come in, load the page from what the phone kept, start the server again."""
    assert until(lambda: waits(page) < TIPS, 60)
    yard.shop.kill()
    page.reload()
    page.locator("html[data-yard=ready]").wait_for()
    yard.shop.start()
    assert until(lambda: yard.shop.is_open)


def test_a_whole_boom_without_signal_is_there_once_though_tab_and_server_were_killed(
    browser: Browser, yard: Yard
) -> None:
    context = device(browser, yard, "tess")
    taken_along(page := context.pages[0], yard)
    context.set_offline(True)
    at_the_boom(page, yard)
    keys = counted_keys(page, range(1, 37))
    page.keyboard.type("3")  # half of tip 37
    assert until(lambda: half_typed(page) == ["3"], 60)  # a slow disk may take its time over thirty-six tips
    page.close()  # no farewell: the tab is gone
    page = at_the_boom(context.new_page(), yard)
    assert page.locator("#tip-37").input_value() == "3"
    page.locator("#tip-37").fill("")
    keys += counted_keys(page, range(37, TIPS + 1))
    digits = sum(char.isdigit() for tip in range(1, TIPS + 1) for char in reading(tip))
    assert keys <= digits + TIPS
    assert waits(page) == TIPS
    assert page.locator("#tip-40").evaluate("box => box.closest('.tip').classList.contains('unlike')")
    assert "40" in page.locator("#filling-words").inner_text()
    page.screenshot(path=Path(ROOT) / "out" / "shots" / "yard-offline.png")
    context.set_offline(False)
    with_the_server_killed(page, yard)
    assert goes_empty(page)
    assert sorted(yard.readings()) == expected(range(1, TIPS + 1))
    context.close()


def test_two_technicians_type_half_a_boom_each_and_one_tip_both(browser: Browser, yard: Yard) -> None:
    tess, sam = (device(browser, yard, login) for login in ("tess", "sam"))
    left, right = at_the_boom(tess.pages[0], yard), at_the_boom(sam.pages[0], yard)
    tess.set_offline(True)
    sam.set_offline(True)
    type_tips(left, range(1, 37))
    type_tips(right, range(37, TIPS + 1))
    right.locator("#tip-36").fill("41.5")
    right.keyboard.press("Enter")
    assert until(lambda: waits(right) == 37, 10)
    tess.set_offline(False)
    assert goes_empty(left)
    sam.set_offline(False)
    assert goes_empty(right)
    assert sorted(yard.readings()) == expected(range(1, TIPS + 1))
    at_the_boom(right, yard)
    pair = right.locator("form.second")
    assert pair.count() == 1
    assert [reading(36) in pair.inner_text(), "41.5" in pair.inner_text()] == [True, True]
    right.screenshot(path=Path(ROOT) / "out" / "shots" / "yard-second.png", full_page=True)
    pair.locator("button[value=second]").click()
    right.get_by_text("Decided.").wait_for()
    assert (36, "41.5") in yard.readings()
    assert right.locator("#tip-36").input_value() == "41.5"
    tess.close()
    sam.close()


def test_entries_outlive_the_session_and_are_nobody_elses(browser: Browser, yard: Yard) -> None:
    context = device(browser, yard, "tess")
    page = at_the_boom(context.pages[0], yard)
    context.clear_cookies()  # the session is over
    type_tips(page, range(1, 4))
    page.locator("#yard[data-how=signed-out]").wait_for()
    assert waits(page) == 3
    page.get_by_role("link", name="Sign in").click()
    sign_in(page, "sam")
    page.wait_for_url("**/catch/")
    page.locator("html[data-yard=ready]").wait_for()
    assert page.locator("#tip-1").input_value() == ""
    assert waits(page) == 0
    assert yard.readings() == []
    page.get_by_text("Entries of somebody else wait").wait_for()
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, "tess")
    at_the_boom(page, yard)
    assert goes_empty(page)
    assert yard.readings() == expected(range(1, 4))
    context.close()


def test_a_role_taken_back_keeps_the_entries_with_the_reason(browser: Browser, yard: Yard) -> None:
    context = device(browser, yard, "tess")
    page = at_the_boom(context.pages[0], yard)
    role = "from wetrun.shop.accounts.models import *; Membership.objects.filter(user__login='tess').update(role='{}')"
    yard.python(role.format("viewer"))
    try:
        type_tips(page, range(1, 3))
        page.locator("#yard").get_by_text("Your role does not allow it any more").wait_for()
        page.goto("/yard/waiting/")
        assert until(lambda: page.locator("#waiting-list tr").count() == 2, 60)  # filled a moment after it is opened
        with page.expect_download() as got:
            page.get_by_text("Take them along as a file").click()
        assert '"format_version": 1' in Path(got.value.path()).read_text()
    finally:
        yard.python(role.format("technician"))
    page.get_by_role("button", name="Send again").click()
    page.get_by_text("Nothing of yours waits here.").wait_for()
    assert yard.readings() == expected(range(1, 3))
    context.close()


def test_a_run_of_the_course_waits_without_signal_and_comes_in_once(browser: Browser, yard: Yard) -> None:
    context = device(browser, yard, "tess")
    page = context.pages[0]
    page.goto(f"/wet-runs/{yard.run}/course/")
    page.locator("html[data-forms=ready]").wait_for()
    before = page.locator("#runs ~ .scroll tbody tr").count()
    context.set_offline(True)
    for _ in range(2):
        page.get_by_role("button", name="Start at the mark").click()
        page.wait_for_timeout(60)
        page.get_by_role("button", name="Stop at the mark").click()
    assert page.locator("[name=time]").input_value() != ""
    assert page.locator("#watch li").count() == 1
    page.locator("[name=time]").fill("15.7")
    page.get_by_role("button", name="Keep this run").click()
    page.get_by_text("Kept on this device.").wait_for()
    assert waits(page) == 1
    context.set_offline(False)
    assert goes_empty(page)
    page.reload()
    page.locator("html[data-forms=ready]").wait_for()
    assert page.locator("#runs ~ .scroll tbody tr").count() == before + 1
    context.close()


def test_the_marks_on_the_page_are_those_of_the_shops_rule(browser: Browser, yard: Yard) -> None:
    import numpy as np

    from wetrun.proving.catch_odd import odd_tips

    context = device(browser, yard, "tess")
    page = at_the_boom(context.pages[0], yard)
    chance = np.random.default_rng(7)
    ask = (
        "flows => { const l = JSON.parse(document.getElementById('odd-limits').textContent);"
        "return BoomMarks.oddTips(flows, l.by_count, l.reading) }"
    )
    for tips in (8, 9, 24, 71, TIPS):
        flows = 40.0 * np.exp(0.02 * chance.standard_normal(tips))
        flows[[1, tips - 2]] *= (1.3, 0.8)
        told: list[Any] = page.evaluate(ask, flows.tolist())
        odd = odd_tips(np.log(flows)[None, :], reading_scatter=0.005).odd[0]
        assert told == odd.tolist()
        assert odd.any() or tips < 10
    context.close()
