"""The pages of docs/ as a site: built without a warning, served under the shop's policy, found by its own search."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from django.test import Client
from playwright.sync_api import Browser
from pytest_django import Settings
from pytest_django.live_server_helper import LiveServer
from tests.shop_browser import DESKTOP, PHONE, watched
from tools.docs_site.building import STAMP, NotBuilt, build
from tools.docs_site.checking import forbidden_in
from tools.docs_site.gathering import fingerprint

PAGES = ("index.html", "reference/errors.html", "explain/drift.html", "search.html?q=boom")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built once: broken links, pages in no list and all else that Sphinx warns of fail here."""
    made = tmp_path_factory.mktemp("docs") / "site"
    build(made)
    return made


@pytest.fixture
def served(site: Path, settings: Settings) -> Path:
    settings.DOCS = site
    return site


def test_every_page_of_docs_is_in_the_site_and_nothing_in_it_is_forbidden_or_from_elsewhere(site: Path) -> None:
    docs = Path(__file__).parents[2] / "docs"
    written = {path.relative_to(docs).with_suffix(".html").as_posix() for path in docs.rglob("*.md")}
    made = {path.relative_to(site).as_posix() for path in site.rglob("*.html")}
    assert written <= made
    assert {f"reference/{name}.html" for name in ("commands", "units", "sources", "errors", "files/season")} <= made
    assert (site / STAMP).read_text(encoding="utf-8") == fingerprint()
    assert forbidden_in(site) == []


@pytest.mark.parametrize(
    ("page", "wrong"),
    [
        ("<script>go()</script>", "stands in the page itself"),
        ('<p style="color: red">', "has style=…"),
        ('<a onclick="go()">', "has onclick=…"),
        ('<script src="https://example.com/a.js"></script>', "from elsewhere"),
        ('<img src="gone.svg">', "which is not in"),
    ],
)
def test_what_the_policy_forbids_is_found_in_a_page(tmp_path: Path, page: str, wrong: str) -> None:
    (tmp_path / "page.html").write_text(page, encoding="utf-8")
    (found,) = forbidden_in(tmp_path)
    assert found.startswith("page.html: ")
    assert wrong in found


def test_a_site_that_cannot_be_built_leaves_the_one_that_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tools.docs_site.building.gather", lambda into: into.mkdir())
    (tmp_path / "index.html").write_text("as it was", encoding="utf-8")
    with pytest.raises(NotBuilt, match=r"conf\.py"):
        build(tmp_path)
    assert (tmp_path / "index.html").read_text(encoding="utf-8") == "as it was"


@pytest.mark.django_db
def test_a_page_is_handed_out_with_the_shop_s_policy_and_not_twice(served: Path) -> None:
    first = Client().get("/docs/")
    assert first.content == (served / "index.html").read_bytes()
    assert first["Content-Type"].startswith("text/html")
    assert "script-src 'self';" in first["Content-Security-Policy"]
    again = Client().get("/docs/", headers={"If-Modified-Since": first["Last-Modified"]})
    assert again.status_code == 304


@pytest.mark.django_db
@pytest.mark.parametrize(
    "page", ["nowhere.html", "../settings.py", "%2e%2e/settings.py", "explain", "a%00b", "x" * 5000]
)
def test_what_is_no_page_of_the_site_is_not_handed_out(served: Path, page: str) -> None:
    answer = Client().get(f"/docs/{page}")
    assert answer.status_code == 404
    assert b"There is no such page in docs/" in answer.content


@pytest.mark.django_db
def test_where_it_was_not_built_it_says_so_and_how(tmp_path: Path, settings: Settings) -> None:
    settings.DOCS = tmp_path / "nothing"
    answer = Client().get("/docs/")
    assert answer.status_code == 404
    assert "make docs" in answer.content.decode()


@pytest.mark.django_db(transaction=True)
def test_the_pages_are_open_to_everybody_in_a_browser_and_the_search_finds(
    served: Path, browser: Browser, live_server: LiveServer
) -> None:
    wrong = []
    with watched(browser, live_server.url, DESKTOP) as seen:
        for page in PAGES:
            seen.turn("light")
            seen.go(f"/docs/{page}")
            if page.startswith("search"):
                seen.page.locator("#search-results li a").first.wait_for()
            seen.shot("docs-" + page.partition(".")[0].replace("/", "-"))
            wrong += seen.shuts_out()
            seen.turn("dark")
            wrong += seen.shuts_out("color-contrast")
        wrong += seen.wrong
    assert not wrong, "\n".join(wrong)


@pytest.mark.django_db(transaction=True)
def test_no_page_is_wider_than_a_phone(served: Path, browser: Browser, live_server: LiveServer) -> None:
    with watched(browser, live_server.url, replace(PHONE, theme="dark")) as seen:
        for page in ("index.html", "reference/commands.html", "explain/drift.html"):
            seen.go(f"/docs/{page}")
            seen.shot("docs-" + page.partition(".")[0].replace("/", "-"))
            assert not seen.too_wide()
        assert not seen.wrong
        assert not seen.shuts_out()


@pytest.mark.django_db(transaction=True)
def test_light_and_dark_follow_the_switch_and_are_kept(served: Path, browser: Browser, live_server: LiveServer) -> None:
    with watched(browser, live_server.url, DESKTOP) as seen:
        page = seen.go("/docs/")
        switch = page.locator(".theme-toggle-content .theme-toggle")
        grounds = {page.evaluate("getComputedStyle(document.body).backgroundColor")}
        for _ in range(2):
            switch.click()
            grounds.add(page.evaluate("getComputedStyle(document.body).backgroundColor"))
        assert grounds == {"rgb(255, 255, 255)", "rgb(24, 33, 37)"}
        kept = page.evaluate("document.documentElement.dataset.theme")
        seen.go("/docs/howto/index.html")
        assert page.evaluate("document.documentElement.dataset.theme") == kept
        assert page.get_by_role("link", name="Back to the shop").is_visible()
        assert not seen.wrong
