"""Technicians who enter readings through HTTP at a shop that is killed again and again, and what is there then."""

from __future__ import annotations

import http.client
import json
import random
import threading
import time
import uuid
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Self
from urllib.parse import urlencode

from tests.shop_cases import PASSWORD
from tests.shop_serving import ServedShop, chore, until

PAUSE_S = 0.05
SEED = 20270312


class Browser:
    """What a device sends and keeps: cookies and one connection, made anew when it broke."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._cookies: dict[str, str] = {}
        self._connection: http.client.HTTPConnection | None = None

    def ask(self, method: str, path: str, fields: Mapping[str, str] | None = None) -> tuple[int, bytes]:
        """One request; OSError or HTTPException if the answer did not come."""
        headers = {"Accept": "application/json", "Cookie": "; ".join(f"{k}={v}" for k, v in self._cookies.items())}
        body = None
        if fields is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            headers["X-CSRFToken"] = self._cookies.get("csrftoken", "")
            body = urlencode(fields)
        if self._connection is None:
            self._connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=60)
        try:
            self._connection.request(method, path, body, headers)
            answer = self._connection.getresponse()
            content = answer.read()
        except (OSError, http.client.HTTPException):
            self.close()
            raise
        for value in answer.headers.get_all("set-cookie") or []:
            self._cookies |= {name: morsel.value for name, morsel in SimpleCookie(value).items()}
        return answer.status, content

    def sign_in(self, login: str) -> Self:
        """Sign in as somebody does: the page first, then the form."""
        assert self.ask("GET", "/sign-in/")[0] == 200
        status, _ = self.ask("POST", "/sign-in/", {"username": login, "password": PASSWORD})
        assert status == 302, status
        return self

    def close(self) -> None:
        """Let the connection go."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None


@dataclass
class Entered:
    """What a technician typed, and what was acknowledged of it."""

    sent: dict[str, str] = field(default_factory=dict)
    """What was typed, by entry."""
    numbers: dict[str, int] = field(default_factory=dict)
    """The number each acknowledged entry was given."""
    sent_again: int = 0
    kept_before: int = 0
    """How many were acknowledged as kept before: the kill fell between keeping and answering."""


@dataclass(frozen=True)
class Seen:
    """What an hour of kills left behind."""

    kills: int
    entered: list[Entered]
    kept: dict[str, tuple[str, int]]
    """What is in the database by entry: typed, number."""

    @property
    def acknowledged(self) -> dict[str, int]:
        """Every acknowledged entry with its number."""
        return {entry: number for one in self.entered for entry, number in one.numbers.items()}

    @property
    def lost(self) -> set[str]:
        """Acknowledged and not there, or there under another number."""
        return {entry for entry, n in self.acknowledged.items() if self.kept.get(entry, ("", 0))[1] != n}

    @property
    def twice(self) -> list[str]:
        """Typed once and there twice; each technician types everything once."""
        return [typed for typed, count in Counter(typed for typed, _ in self.kept.values()).items() if count > 1]

    @property
    def changed(self) -> set[str]:
        """There, but not as it was typed."""
        sent = {entry: typed for one in self.entered for entry, typed in one.sent.items()}
        return {entry for entry, (typed, _) in self.kept.items() if sent.get(entry) != typed}


def kills_during_entry(shop: ServedShop, wet_run: int, kills: int, technicians: int = 4) -> Seen:
    """Kill a shop again and again while technicians type, and look at what is there.

    The shop is started by this and stopped at its end. Each technician sends a reading until it is acknowledged, always
    under the same entry, and only then types the next one.
    """
    enough = threading.Event()
    entered = [Entered() for _ in range(technicians)]
    with shop:
        browsers = [Browser(shop.port).sign_in("technician") for _ in entered]
        threads = [
            threading.Thread(target=_enter, args=(browser, wet_run, one, (number, enough)))
            for number, (browser, one) in enumerate(zip(browsers, entered, strict=True))
        ]
        for thread in threads:
            thread.start()
        try:
            _kill_again_and_again(shop, kills, entered)
        finally:
            enough.set()
            for thread, browser in zip(threads, browsers, strict=True):
                thread.join()
                browser.close()
    return Seen(kills, entered, _kept(shop.data, wet_run, shop.environ))


def _kill_again_and_again(shop: ServedShop, kills: int, entered: list[Entered]) -> None:
    chance = random.Random(SEED)  # noqa: S311 - when to kill, not whom to trust
    for _ in range(kills):
        before = [len(one.numbers) for one in entered]
        # Somebody has been answered since the last start, so that each kill falls into work and not into silence.
        assert until(lambda before=before: before != [len(one.numbers) for one in entered])  # type: ignore[misc]
        time.sleep(chance.uniform(0.0, 0.5))
        shop.kill()
        shop.start()
        assert until(lambda: shop.is_open or shop.process.poll() is not None), shop.told
        assert shop.is_open, shop.told


def _enter(browser: Browser, wet_run: int, entered: Entered, who: tuple[int, threading.Event]) -> None:
    number, enough = who
    while not enough.is_set():
        entry, typed = str(uuid.uuid4()), f"{number}.{len(entered.sent)}"
        entered.sent[entry] = typed
        fields = {"entry": entry, "place": "catch.readings.1", "typed": typed, "at": datetime.now(UTC).isoformat()}
        tries = 0
        while True:
            tries += 1
            try:
                status, content = browser.ask("POST", f"/wet-runs/{wet_run}/readings/", fields)
            except (OSError, http.client.HTTPException):
                time.sleep(PAUSE_S)
                continue
            if status in {200, 201}:
                break
            assert status >= 500, (status, content[:300])
            time.sleep(PAUSE_S)
        told = json.loads(content)
        entered.numbers[entry] = told["number"]
        entered.sent_again += tries > 1
        entered.kept_before += bool(told["again"])


def _kept(data: Path, wet_run: int, environ: Mapping[str, str]) -> dict[str, tuple[str, int]]:
    code = (
        "import json; from wetrun.shop.records.models import Reading\n"
        f"found = Reading.objects.filter(wet_run={wet_run})\n"
        "print(json.dumps([(str(r.entry), r.typed, r.number) for r in found]))"
    )
    done = chore(data, "shell", "--no-imports", "-c", code, environ=environ)
    assert done.returncode == 0, done.stderr
    return {entry: (typed, number) for entry, typed, number in json.loads(done.stdout)}
