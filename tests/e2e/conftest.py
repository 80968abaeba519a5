"""A live server on a database of its own, a browser, people of every role, and windows that watch every page."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from playwright.sync_api import Browser
from pytest_django.live_server_helper import LiveServer
from tests.shop_browser import MISSING, Look, Watched, chromium_path, running_browser, watched
from tests.shop_cases import make_branch, make_user

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role

Windows = Callable[..., Watched]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A real browser; where CI runs it has to be there."""
    path = chromium_path()
    if path is None and os.environ.get("CI") == "true":
        pytest.fail(MISSING)
    if path is None:
        pytest.skip(MISSING)
    with running_browser(path) as found:
        yield found


@pytest.fixture
def branch(transactional_db: None) -> Branch:
    return make_branch()


@pytest.fixture
def people(branch: Branch) -> dict[Role, User]:
    """One person per role in the branch."""
    return {role: make_user(branch, role) for role in Role}


@pytest.fixture
def window(browser: Browser, live_server: LiveServer) -> Iterator[Windows]:
    """Opens windows on the shop; when the test ends, none of them may have seen anything it should not have."""
    opened = []
    with ExitStack() as open_windows:

        def open_window(look: Look, user: User | None = None) -> Watched:
            seen = open_windows.enter_context(watched(browser, live_server.url, look, user))
            opened.append(seen)
            return seen

        yield open_window
    wrong = [line for seen in opened for line in seen.wrong]
    assert not wrong, "\n".join(wrong)
