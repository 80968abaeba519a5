"""People at a shop, as threads with a browser each: some type readings, some look at pages; answers are counted."""

from __future__ import annotations

import http.client
import json
import random
import threading
import time
import uuid
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tests.shop_kills import Browser

from load.filled import READERS, WRITERS

SEED = 20270401


@dataclass
class Told:
    """What happened, over all threads."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    seconds: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    """How long each kind of page took [s]."""
    wrong: Counter[str] = field(default_factory=Counter)
    """Answers that should not have been, by kind."""
    kept: dict[str, float] = field(default_factory=dict)
    """When each reading was acknowledged, by entry [s on one clock]."""
    opened_anew: int = 0
    """How often a connection that had been idle was closed by the server; any browser then asks once more."""
    backup_at: float = 0.0
    """When the backup was begun, on the same clock."""

    def took(self, kind: str, seconds: float, status: int, right: int) -> None:
        """Count one answer."""
        with self.lock:
            self.seconds[kind].append(seconds)
            if status != right:
                self.wrong[f"{kind}: {status}"] += 1

    def failed(self, kind: str, why: str) -> None:
        """Count one that got no answer."""
        with self.lock:
            self.wrong[f"{kind}: {why}"] += 1


def load_for(port: int, made: Mapping[str, Sequence[int]], length_s: float, told: Told) -> None:
    """Let everybody at a shop for a while; everybody has stopped when this returns.

    Parameters
    ----------
    port : int
        Where it listens, on this computer.
    made : mapping of str to sequence of int
        Keys of what is in it, by kind.
    length_s : float
        For how long [s].
    told : Told
        Takes what happens.
    """
    pages = _pages(made)
    writers = [Browser(port).sign_in(f"writer-{number}") for number in range(WRITERS)]
    readers = [Browser(port).sign_in(f"reader-{number}") for number in range(READERS)]
    until = time.monotonic() + length_s
    threads = [
        *(
            threading.Thread(target=_write, args=(one, made["wet_run"], told, (n, until)))
            for n, one in enumerate(writers)
        ),
        *(threading.Thread(target=_read, args=(one, pages, told, (n, until))) for n, one in enumerate(readers)),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for one in (*writers, *readers):
        one.close()


def _pages(made: Mapping[str, Sequence[int]]) -> dict[str, list[str]]:
    return {
        "board": ["/", "/?page=3", "/?q=Number+1"],
        "customers": ["/customers/", "/customers/?page=2"],
        "machine": [f"/machines/{key}/" for key in made["machine"]],
        "season": [f"/seasons/{key}/" for key in made["season"]],
        "tip plan": [f"/seasons/{key}/tip-plan/" for key in made["season"]],
        "parts": ["/parts/"],
        "wet run": [f"/wet-runs/{key}/" for key in made["wet_run"]],
        "under way": ["/work/"],
        "trail": ["/trail/"],
    }


def _write(browser: Browser, runs: Sequence[int], told: Told, turn: tuple[int, float]) -> None:
    number, until = turn
    count = 0
    while time.monotonic() < until:
        count += 1
        entry = str(uuid.uuid4())
        fields = {"entry": entry, "place": f"catch.readings.{count % 18 + 1}", "typed": f"{number}.{count}"}
        begun = time.monotonic()
        try:
            status, content = _asked(browser, told, ("POST", f"/wet-runs/{runs[number % len(runs)]}/readings/", fields))
        except (OSError, http.client.HTTPException) as error:
            told.failed("reading", type(error).__name__)
            continue
        ended = time.monotonic()
        # Sent once more on a new connection, it may have been kept by the first try: that is as good.
        told.took("reading", ended - begun, 201 if status == 200 and json.loads(content)["again"] else status, 201)
        if status in {200, 201}:
            told.kept[entry] = ended


def _asked(browser: Browser, told: Told, what: tuple[str, str, Mapping[str, str] | None]) -> tuple[int, bytes]:
    """Ask; once more, with the same entry, where the server had let an idle connection go."""
    try:
        return browser.ask(*what)
    except (BrokenPipeError, ConnectionResetError, http.client.RemoteDisconnected):
        with told.lock:
            told.opened_anew += 1
        return browser.ask(*what)


def _read(browser: Browser, pages: Mapping[str, Sequence[str]], told: Told, turn: tuple[int, float]) -> None:
    number, until = turn
    chance = random.Random(SEED + number)  # noqa: S311 - which page, not whom to trust
    while time.monotonic() < until:
        kind = chance.choice(list(pages))
        begun = time.monotonic()
        try:
            status, _ = _asked(browser, told, ("GET", chance.choice(pages[kind]), None))
        except (OSError, http.client.HTTPException) as error:
            told.failed(kind, type(error).__name__)
            continue
        told.took(kind, time.monotonic() - begun, status, 200)
