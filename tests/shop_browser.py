"""The shop in a real browser: how one looks at it, what is watched on every page, and the pictures that are kept."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final, Literal

from axe_playwright_python.base import AXE_SCRIPT
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, sync_playwright

from wetrun.shop.accounts.models import User

SHOTS: Final = Path(__file__).parents[1] / "out" / "shots"
NAMES: Final = ("chromium", "chromium-browser")
FLAGS: Final = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    # No name leads anywhere but to this computer: nothing a page asks for can leave it, and what it asks is heard.
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
)
PATIENCE_MS: Final = 90_000
"""How long is waited for a page: a slow machine is not a defect."""
MISSING: Final = "no Chromium on the PATH, so nothing is tried in a real browser (Debian, Ubuntu: apt install chromium)"
# Every rule of WCAG 2.0 to 2.2, A and AA, and what its makers call best practice.
RULES: Final = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice")
Theme = Literal["light", "dark"]


@dataclass(frozen=True, slots=True)
class Look:
    """How somebody looks at the shop.

    Attributes
    ----------
    device : str
        Name of it in the names of pictures.
    wide, high : int
        Of the window [CSS pixel].
    touch : bool
        Whether it is touched and not clicked.
    theme : str
        What the device asks for.
    scripts : bool
        Whether JavaScript runs.
    """

    device: str = "desktop"
    wide: int = 1366
    high: int = 900
    touch: bool = False
    theme: Theme = "light"
    scripts: bool = True

    def __str__(self) -> str:
        return f"{self.device}-{self.theme}" + ("" if self.scripts else "-no-scripts")


DESKTOP: Final = Look()
PHONE: Final = Look("phone", 390, 844, touch=True)


@dataclass(slots=True)
class Watched:
    """A page and everything on it that should not have been.

    Attributes
    ----------
    page : Page
        The browser's own.
    look : Look
        How it is looked at.
    at : str
        Address of the server.
    wrong : list of str
        What the browser complained of, and what it asked for elsewhere.
    """

    page: Page
    look: Look
    at: str
    wrong: list[str] = field(default_factory=list)

    def go(self, address: str) -> Page:
        """Open an address of the shop, its letters loaded."""
        self.page.goto(self.at + address)
        if self.look.scripts:
            self.page.evaluate("document.fonts.ready.then(() => null)")
        return self.page

    def turn(self, theme: Theme) -> None:
        """Turn the device light or dark, the page left as it is."""
        self.page.emulate_media(color_scheme=theme, reduced_motion="reduce")
        self.look = replace(self.look, theme=theme)

    def narrow(self, wide: int) -> None:
        """Make the window narrower, the page left as it is."""
        self.page.set_viewport_size({"width": wide, "height": self.look.high})

    def shot(self, name: str) -> Path:
        """Keep a picture of the whole page."""
        SHOTS.mkdir(parents=True, exist_ok=True)
        path = SHOTS / f"{name}-{self.look}.png"
        self.page.screenshot(path=path, full_page=True)
        return path

    def shuts_out(self, *only: str) -> list[str]:
        """What axe finds on the page, a line for each thing; by the named rules alone, or by all there are."""
        return axe_lines(self.page, only)

    def too_wide(self) -> str:
        """What stands out on the right of the window, so that the page itself would have to be pushed; or nothing."""
        found = self.page.evaluate(_TOO_WIDE)
        return f"{found['wide']} px wide in a window of {found['window']} px: {found['what']}" if found else ""

    def check(self) -> None:
        """Fail if there was an error, something the policy forbids, a way out of the server, or axe finds something."""
        assert not self.wrong, "\n".join(self.wrong)
        assert not self.too_wide(), self.too_wide()
        if self.look.scripts:
            found = self.shuts_out()
            assert not found, "\n".join(found)


_TOO_WIDE: Final = """() => {
  const window_ = document.documentElement.clientWidth, wide = document.documentElement.scrollWidth;
  if (wide <= window_) return null;
  const out = [...document.body.querySelectorAll("*")].filter((one) => one.getBoundingClientRect().right > window_ + 1);
  const what = out.slice(-3).map((one) => one.outerHTML.slice(0, 120)).join(" … ");
  return {window: window_, wide, what};
}"""


def chromium_path() -> str | None:
    """Where the browser is, if there is one."""
    return next((found for found in map(shutil.which, NAMES) if found), None)


@contextmanager
def running_browser(path: str) -> Iterator[Browser]:
    """A browser for the length of a module.

    Playwright's plain interface turns an event loop in this thread for as long as it runs, and Django refuses to touch
    the database where one turns. Nothing here runs beside anything else in the thread, so Django is told so; and both
    end with the module, before tests that know nothing of browsers go on in the same process.
    """
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
            yield browser
            browser.close()
    finally:
        if before is None:
            del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
        else:
            os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = before


@contextmanager
def watched(browser: Browser, at: str, look: Look, user: User | None = None) -> Iterator[Watched]:
    """A page in a window of its own, somebody signed in or nobody; nothing it asks for may leave the server."""
    context = browser.new_context(
        viewport={"width": look.wide, "height": look.high},
        has_touch=look.touch,
        is_mobile=look.touch,
        color_scheme=look.theme,
        java_script_enabled=look.scripts,
        reduced_motion="reduce",
        base_url=at,
    )
    context.set_default_timeout(PATIENCE_MS)
    if user is not None:
        sign_in(context, at, user)
    seen = Watched(context.new_page(), look, at)
    context.on("request", lambda request: _asked(request, seen))
    seen.page.on("console", lambda message: _heard(message, seen))
    seen.page.on("pageerror", lambda error: seen.wrong.append(f"{seen.page.url}: error in a script: {error}"))
    seen.page.on("requestfailed", lambda request: _failed(request, seen))
    try:
        yield seen
    finally:
        context.close()


def sign_in(context: BrowserContext, at: str, user: User) -> None:
    """Sign somebody in without the page for it, which has tests of its own."""
    client = Client()
    client.force_login(user)
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": at}])


def _asked(request: Request, seen: Watched) -> None:
    if not request.url.startswith((seen.at, "data:", "blob:")):
        seen.wrong.append(f"{seen.page.url} asks for {request.url}, which is not ours")


def _heard(message: ConsoleMessage, seen: Watched) -> None:
    # A browser says what the policy forbade as an error too, with the words “Content Security Policy” in it.
    if message.type in {"error", "warning"}:
        seen.wrong.append(f"{seen.page.url}: {message.type} in the console: {message.text}")


def _failed(request: Request, seen: Watched) -> None:
    # A page left while parts of it were on their way breaks those off: that is the browser's doing, and no defect.
    if request.failure != "net::ERR_ABORTED":
        seen.wrong.append(f"{seen.page.url}: {request.url} could not be had: {request.failure}")


def axe_lines(page: Page, only: tuple[str, ...] = ()) -> list[str]:
    """Run axe on a page: a line for each part of it that shuts somebody out."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    run_only = {"type": "rule", "values": only} if only else {"type": "tag", "values": RULES}
    found: dict[str, Any] = page.evaluate(
        "options => axe.run(options)", {"resultTypes": ["violations"], "runOnly": run_only}
    )
    return [
        f"{page.url}: {one['id']} ({one['help']}): {part['html'][:160]} – {part['failureSummary']}"
        for one in found["violations"]
        for part in one["nodes"]
    ]
