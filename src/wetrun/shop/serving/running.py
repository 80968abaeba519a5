"""The shop from start to stop: the folder, the secret, the tables, the server, the worker, and a clean end."""

from __future__ import annotations

import http.client
import os
import signal
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from types import FrameType
from typing import Final

from wetrun.errors import NotServed
from wetrun.shop import environment
from wetrun.shop.folder import KEY_FILE, SIGN_INS_FILE, check_whole, held, key_in, open_folder
from wetrun.shop.serving.child import Child
from wetrun.shop.serving.opening import drawn_word
from wetrun.shop.serving.wish import LOCAL_NAMES, Wish, check_wish

THREADS: Final = 8
"""Of one process; each holds a connection to the database."""
_START_S: Final = 60.0
_STOP_S: Final = 30.0
_LOOK_S: Final = 0.2

Say = Callable[[str], None]


class Asked:
    """Whether somebody asked for the end, and how often: the second time nothing is waited for any more."""

    def __init__(self) -> None:
        self.times = 0
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, self._count)

    def _count(self, number: int, frame: FrameType | None) -> None:
        del number, frame
        self.times += 1


def run_shop(wish: Wish, say: Say) -> None:
    """Run the shop until somebody stops it.

    Parameters
    ----------
    wish : Wish
        How.
    say : callable
        Told what a person should see.

    Raises
    ------
    WetrunError
        If it cannot be started or does not stay up. Nothing of it is running then.
    ImproperlyConfigured
        If a variable of the environment is of no use.
    """
    check_wish(wish)
    folder = open_folder(wish.data)
    with held(folder):
        check_whole(folder)
        environ = _environ(wish, say)
        asked = Asked()
        _prepare(wish, environ)
        _serve(wish, environ, asked, say)


def _environ(wish: Wish, say: Say) -> dict[str, str]:
    """The environment of every part: what was typed here stands over what was there."""
    folder = open_folder(wish.data)
    names = (*wish.names, *LOCAL_NAMES)
    ours = {
        "WETRUN_DATA": str(folder),
        "WETRUN_HOSTS": ",".join(dict.fromkeys(names)),
        "WETRUN_PLAIN_HTTP": "1" if wish.is_plain else "",
        "WETRUN_BEHIND_PROXY": "1" if wish.behind_proxy else "",
        "PYTHONUNBUFFERED": "1",
    }
    if wish.is_shared and not environment.text_of("WETRUN_OPENING"):
        ours["WETRUN_OPENING"] = drawn_word()
    if not environment.text_of("WETRUN_SECRET_KEY"):
        ours["WETRUN_SECRET_KEY"], was_open = key_in(folder)
        if was_open:
            say(
                f"Caution: others on this computer could read {folder / KEY_FILE}; now they cannot. If somebody may "
                "have read it, stop the shop and delete it: everybody then signs in anew, and sent links stop working."
            )
    else:
        environment.secret_key()
    return {**os.environ, **ours}


def _prepare(wish: Wish, environ: Mapping[str, str]) -> None:
    asked = [sys.executable, "-m", "wetrun.shop", "prepare", *(["--demo"] if wish.demo else [])]
    done = subprocess.run(  # noqa: S603 - our own interpreter
        asked, env=environ, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True, check=False
    )
    if done.returncode:
        lines = done.stderr.strip().splitlines() or [f"it ended with code {done.returncode}"]
        if len(lines) > 1:
            print(done.stderr, file=sys.stderr)  # noqa: T201 - more than a sentence can hold
        reason = lines[0].rstrip(".") if len(lines) == 1 else "what went wrong is told above"
        raise NotServed("The shop's tables and files cannot be made ready", reason=reason, remedy="It was not started")


def _serve(wish: Wish, environ: Mapping[str, str], asked: Asked, say: Say) -> None:
    web = Child("the server", ["-m", "wetrun.shop.serving.web", *_server_words(wish)], environ)
    worker = Child("the job worker", ["-m", "wetrun.shop", "work"], environ)
    try:
        web.start()
        _wait_for_answer(wish, web, asked)
        worker.start()
        if not asked.times:
            _tell(wish, environ.get("WETRUN_OPENING", ""), say)
        while not asked.times:
            time.sleep(_LOOK_S)
            _check_up(web)
            if words := worker.keep():
                say(words)
    finally:
        _stop((web, worker), asked)
    say("Stopped.")


def _server_words(wish: Wish) -> list[str]:
    words = [
        *("--interface", "wsgi", "--no-ws", "--host", wish.host, "--port", str(wish.port)),
        *("--workers", str(wish.workers), "--blocking-threads", str(THREADS), "--blocking-threads-idle-timeout", "600"),
        *("--respawn-failed-workers", "--respawn-interval", "0.5", "--workers-kill-timeout", "20"),
        *("--log-level", "error"),
    ]
    if wish.has_tls:
        words += ["--ssl-certificate", str(wish.tls_cert), "--ssl-keyfile", str(wish.tls_key)]
        words += ["--ssl-protocol-min", "tls1.2"]
    return [*words, "wetrun.shop.wsgi:application"]


def _check_up(web: Child) -> None:
    if web.code is not None:
        reason = f"it ended by itself (code {web.code})"
        raise NotServed("The server", reason=reason, remedy="What it said is above; run the same command again")


def _wait_for_answer(wish: Wish, web: Child, asked: Asked) -> None:
    """Wait until a page comes back: a port that is open proves nothing yet."""
    end = time.monotonic() + _START_S
    while not asked.times and not _answers(wish):
        _check_up(web)
        if time.monotonic() > end:
            reason = f"it gave no answer within {_START_S:.0f} s"
            raise NotServed("The server", reason=reason, remedy="What it said is above; run the same command again")
        time.sleep(_LOOK_S)


def _answers(wish: Wish) -> bool:
    try:
        return _head(wish, "/").status < 600
    except (OSError, http.client.HTTPException):
        return False


def _is_new(wish: Wish) -> bool:
    """Whether nobody signs in here yet: its page for signing in then leads elsewhere."""
    return _head(wish, "/sign-in/").getheader("Location", "").endswith("/first-run/")


def _head(wish: Wish, path: str) -> http.client.HTTPResponse:
    connection: http.client.HTTPConnection
    if wish.has_tls:
        unchecked = ssl.create_default_context()
        unchecked.check_hostname, unchecked.verify_mode = False, ssl.CERT_NONE  # it is asked for life, not for identity
        connection = http.client.HTTPSConnection(wish.near, wish.port, timeout=5, context=unchecked)
    else:
        connection = http.client.HTTPConnection(wish.near, wish.port, timeout=5)
    try:
        connection.request("HEAD", path, headers={"Host": "localhost", "X-Forwarded-Proto": "https"})
        return connection.getresponse()
    finally:
        connection.close()


def _tell(wish: Wish, opening: str, say: Say) -> None:
    if wish.behind_proxy:
        say(f"The shop answers its proxy at {wish.address}; people reach it at https://{wish.names[0]}/")
        if not wish.is_local:
            say("Caution: let nobody but the proxy reach that port; it is believed in what it says of its callers.")
    else:
        say(f"The shop is open at {wish.address}")
    if wish.is_plain and not wish.is_local:
        say("Caution: passwords and records cross the network unencrypted.")
    if opening and _is_new(wish):
        say(f"Nobody signs in here yet. Whoever opens the shop has to type this opening word: {opening}")
    if not (environment.docs_folder() / "index.html").is_file():
        say("The pages of docs/ are not built, so /docs/ only says so: `make docs` builds them.")
    sign_ins = wish.data.expanduser() / SIGN_INS_FILE
    if wish.demo and sign_ins.exists():
        say(sign_ins.read_text(encoding="utf-8").strip())
    say("Ctrl-C stops it.")


def _stop(children: tuple[Child, ...], asked: Asked) -> None:
    for child in children:
        child.ask_to_stop()
    end = time.monotonic() + _STOP_S
    for child in children:
        while child.runs and time.monotonic() < end and asked.times < 2:
            time.sleep(_LOOK_S / 4)
        child.end()
