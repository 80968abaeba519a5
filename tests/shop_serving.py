"""A shop as people run it: `wetrun serve` in a process of its own, on a folder and a port of its own."""

from __future__ import annotations

import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self
from urllib.parse import urlsplit

ROOT = Path(__file__).parents[1]
PATIENCE_S = 120.0
KEY = "only for tests: this key signs nothing that matters to anybody at all"


def free_port() -> int:
    """A port of this computer that nobody listens on."""
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return int(tried.getsockname()[1])


def bare_environ(**more: str) -> dict[str, str]:
    """The environment without what the tests' own settings put there; on SQLite unless a database is named."""
    ours = ("WETRUN_", "DJANGO_", "GRANIAN_", "DATABASE_URL")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(ours)}
    return {**kept, "PYTHONPATH": f"{ROOT / 'src'}:{ROOT}", "PYTHONUTF8": "1", "COLUMNS": "120", **more}


@contextmanager
def own_database(like: Mapping[str, str] | None = None) -> Iterator[dict[str, str]]:
    """The environment of a shop whose database nobody else uses: in PostgreSQL if DATABASE_URL names one.

    There it can begin as a copy of another one; SQLite's file is copied with its folder.
    """
    url = os.environ.get("DATABASE_URL", "")
    if not url.startswith("postgres"):
        yield bare_environ()
        return
    import psycopg

    name = f"own_{uuid.uuid4().hex}"
    template = urlsplit((like or {}).get("DATABASE_URL", "/template1")).path[1:]
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
        try:
            yield bare_environ(DATABASE_URL=urlsplit(url)._replace(path=f"/{name}").geturl())
        finally:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def until(holds: Callable[[], bool], patience_s: float = PATIENCE_S) -> bool:
    """Whether something comes true while one can wait for it."""
    end = time.monotonic() + patience_s
    while not (true := holds()) and time.monotonic() < end:
        time.sleep(0.05)
    return true


def surroundings(data: Path, environ: Mapping[str, str]) -> dict[str, str]:
    """The environment of a process of a shop that `wetrun serve` does not start."""
    key = (data / "secret-key").read_text() if (data / "secret-key").exists() else KEY
    return {**environ, "WETRUN_DATA": str(data), "WETRUN_SECRET_KEY": key.strip()}


def chore(data: Path, *words: str, environ: Mapping[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """One of the shop's own commands on a data folder."""
    asked = [sys.executable, "-m", "wetrun.shop", *words]
    around = surroundings(data, environ or bare_environ())
    return subprocess.run(asked, env=around, capture_output=True, text=True, check=False)


def family(pid: int) -> list[int]:
    """A process and all that came of it, as /proc tells."""
    parents: dict[int, int] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                rest = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if rest[0] != "Z":
                parents[int(entry.name)] = int(rest[1])
    found = [pid] if pid in parents else []
    for one in found:
        found += [child for child, parent in parents.items() if parent == one]
    return found


def command_of(pid: int) -> str:
    """The command line of a process; empty if it is gone."""
    try:
        return (Path("/proc") / str(pid) / "cmdline").read_text().replace("\0", " ")
    except OSError:
        return ""


class ServedShop:
    """`wetrun serve`, started when the block begins and stopped when it ends."""

    def __init__(self, data: Path, *options: str, environ: Mapping[str, str] | None = None, port: int = 0) -> None:
        self.data = data
        self.port = port or free_port()
        self.said: list[str] = []
        self._options = options
        self.environ = environ or bare_environ()

    def __enter__(self) -> Self:
        self.start()
        assert until(lambda: self.is_open or self.process.poll() is not None), self.told
        assert self.is_open, self.told
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.stop()
        elif self.process.stdout is not None and not self.process.stdout.closed:
            self._wait()

    def start(self) -> None:
        """Start it, and gather what it says."""
        self.said = []
        words = ["-m", "wetrun", "serve", "--data", str(self.data), "--port", str(self.port), *self._options]
        self.process = subprocess.Popen(
            [sys.executable, *words],
            env=self.environ,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        self._reader = threading.Thread(target=self._gather, daemon=True)
        self._reader.start()

    def _gather(self) -> None:
        assert self.process.stdout is not None
        self.said.extend(self.process.stdout)

    @property
    def told(self) -> str:
        """All it has said."""
        return "".join(self.said)

    @property
    def is_open(self) -> bool:
        """Whether it says that people can come in."""
        return "Ctrl-C stops it." in self.told

    def stop(self, number: int = signal.SIGTERM) -> int:
        """Ask it to stop; its exit code."""
        self.process.send_signal(number)
        self._wait()
        return self.process.returncode

    def _wait(self) -> None:
        self.process.wait(PATIENCE_S)
        self._reader.join(PATIENCE_S)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def kill(self) -> None:
        """Kill it and all that came of it, at once and unasked."""
        for pid in family(self.process.pid):
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self._wait()

    def page(self) -> bytes:
        """The first page a stranger is shown, wherever that is."""
        path = "/"
        for _ in range(4):
            status, headers, body = self.get(path)
            if status == 200:
                return body
            assert status == 302, (status, body[:500])
            path = headers["location"]
        raise AssertionError(f"sent on and on, at last to {path}")

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> tuple[int, dict[str, str], bytes]:
        """One page: status, headers, body."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request("GET", path, headers=dict(headers or {}))
            answer = connection.getresponse()
            return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()
        finally:
            connection.close()


def parts(shop: ServedShop, words: str) -> Iterator[int]:
    """The processes of a shop whose command line has some words in it."""
    yield from (pid for pid in family(shop.process.pid) if words in command_of(pid))
