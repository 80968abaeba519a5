"""Every page of the shop in a real browser: nobody is shut out, nothing is too wide, nothing leaves the server.

Each page is loaded at a desk, in the light, and on a phone, in the dark. Pictures of both are kept in out/shots.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import pytest
from django.db.models import Model
from django.test import Client
from django.urls import reverse
from tests.e2e.conftest import Windows
from tests.shop_addresses import addresses, sample_records
from tests.shop_browser import DESKTOP, PHONE, Look, Watched
from tests.shop_cases import make_branch, make_user

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.changeovers import changeover_of, keep_answer
from wetrun.shop.answers.wet_run_tests import TESTS
from wetrun.shop.answers.wet_runs import judge
from wetrun.shop.records.models import Changeover, WetRun

NARROWEST: Final = 360
PARTS: Final = 6
"""The walk is cut into so many tests, so that several processes can share it."""
# The pages of docs/ are walked by a test of their own, as built; here a stub stands for them.
DOCS: Final = ("docs", "docs-page")
# Gone once somebody is there; files, and no pages, that no sample has.
NO_PAGES: Final = frozenset({"first-run", "changeover-pdf", "fieldlog-file", *DOCS})
# It is the page of the desk: what axe finds in its words and marks hangs neither on the window nor on the light.
BY_WINDOW_OR_LIGHT: Final = (
    *("color-contrast", "link-in-text-block", "scrollable-region-focusable", "target-size", "meta-viewport"),
)
Records = dict[type[Model], Model]


@pytest.fixture
def manager(branch: Branch) -> User:
    """Somebody who may see everything there is, other branches' people aside."""
    return make_user(branch, Role.MANAGER, "manager", is_group=True)


def work_out(records: Records, names: set[str]) -> None:
    """Work out what the pages of these names show, as the shop does when somebody asks for it."""
    if any(name.startswith(("wet-run", "cross-check")) for name in names):
        run = records[WetRun]
        assert isinstance(run, WetRun)
        judge(run)
        run.save()
        assert run.sentence
    if "changeover" in names:
        change = records[Changeover]
        assert isinstance(change, Changeover)
        # Less water in greater steps: less to choose from, and so sooner found.
        change.document["water"] = {"refills": 0, "step": "50 gal"}
        change.save()
        changeover_of(change)
        keep_answer(change)
        assert change.sentence


def every_address(records: Records) -> Iterator[tuple[str, str]]:
    """Name and address of everything in the URL table, filled with samples; of a wet run every test."""
    for one in addresses():
        if one.name in NO_PAGES:
            continue
        if one.name == "wet-run-test":
            for test in TESTS:
                yield f"wet-run-{test.key}", reverse(one.name, args=(records[WetRun].pk, test.key))
        else:
            yield one.name, one.filled(records)


def is_page(client: Client, address: str) -> bool:
    """Whether a page comes back: not a file, not a part of one, not a way elsewhere, nothing that can only be sent."""
    answer = client.get(address)
    answer.getvalue()  # a file is closed at its end
    assert answer.status_code in {200, 302, 405}, f"{address}: {answer.status_code}"
    return answer.status_code == 200 and b"<!doctype html>" in getattr(answer, "content", b"")[:200]


def seen_at_a_desk(seen: Watched, name: str, address: str) -> list[str]:
    """Look at a page at a desk, in the light, by every rule; what is wrong with it, a line for each thing."""
    seen.go(address)
    seen.shot(name)
    return [*seen.shuts_out(), *filter(None, [seen.too_wide()])]


def seen_on_a_phone(seen: Watched, name: str, address: str) -> list[str]:
    """Look at a page on a phone, in the dark, and on the narrowest there is; what is wrong with it."""
    seen.narrow(PHONE.wide)
    seen.go(address)
    wrong = seen.shuts_out(*BY_WINDOW_OR_LIGHT)
    seen.shot(name)
    seen.narrow(NARROWEST)
    return [*wrong, *filter(None, [seen.too_wide()])]


@pytest.mark.parametrize("part", range(PARTS))
def test_every_page_is_open_to_everybody_and_keeps_to_its_window(
    window: Windows, branch: Branch, manager: User, part: int
) -> None:
    client = Client()
    client.force_login(manager)
    records = sample_records(branch)
    mine = [pair for at, pair in enumerate(every_address(records)) if at % PARTS == part]
    work_out(records, {name for name, _ in mine})
    pages = [(name, address) for name, address in mine if is_page(client, address)]
    assert pages
    desk, phone = (window(look, manager) for look in (DESKTOP, replace(PHONE, theme="dark")))
    wrong = [line for page in pages for line in (*seen_at_a_desk(desk, *page), *seen_on_a_phone(phone, *page))]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("look", [DESKTOP, replace(PHONE, theme="dark")], ids=str)
def test_the_first_page_of_a_new_shop_and_signing_in_are_open_to_everybody(
    window: Windows, transactional_db: None, look: Look
) -> None:
    seen = window(look)
    seen.go("/first-run/")
    seen.check()
    seen.shot("first-run")
    make_user(make_branch())
    seen.go("/sign-in/")
    seen.check()
    seen.shot("sign-in")
