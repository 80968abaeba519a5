"""How somebody wants the shop to run, and what is refused: a password never crosses a network in the open unasked."""

from __future__ import annotations

import ipaddress
import socket
import ssl
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.errors import InputProblems, NotServed, Problem

LOCAL_NAMES: Final = ("localhost", "127.0.0.1", "[::1]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What was asked for.

    Attributes
    ----------
    data : Path
        Folder of database and uploads.
    host, port : str and int
        Where to listen.
    names : tuple of str
        What people type in the browser to reach the shop; empty for this computer only.
    workers : int
        Processes that answer pages.
    behind_proxy, plain_http : bool
        Whether a proxy ends TLS; whether plain HTTP was asked for by name.
    tls_cert, tls_key : Path or None
        Certificate and key, PEM.
    demo : bool
        Whether to fill an empty shop with the invented branch.
    """

    data: Path
    host: str = "127.0.0.1"
    port: int = 8000
    names: tuple[str, ...] = ()
    workers: int = 2
    behind_proxy: bool = False
    plain_http: bool = False
    tls_cert: Path | None = None
    tls_key: Path | None = None
    demo: bool = False

    @property
    def is_local(self) -> bool:
        """Whether only this computer can reach it."""
        if self.host == "localhost":
            return True
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return False

    @property
    def is_shared(self) -> bool:
        """Whether it answers to more than this computer."""
        return self.behind_proxy or not self.is_local or not set(self.names) <= set(LOCAL_NAMES)

    @property
    def has_tls(self) -> bool:
        """Whether it speaks TLS itself."""
        return self.tls_cert is not None

    @property
    def is_plain(self) -> bool:
        """Whether cookies have to travel without TLS on the way to the browser."""
        return not (self.has_tls or self.behind_proxy)

    @property
    def near(self) -> str:
        """Where this computer itself reaches it."""
        return {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(self.host, self.host)  # noqa: S104 - told apart, not bound

    @property
    def address(self) -> str:
        """What to type in the browser; behind a proxy, what to tell the proxy."""
        name = self.names[0] if self.names and not self.behind_proxy else self.near
        shown = f"[{name}]" if ":" in name and not name.startswith("[") else name
        return f"{'https' if self.has_tls else 'http'}://{shown}:{self.port}/"


def check_wish(wish: Wish) -> None:
    """Refuse what would be unsafe or cannot be.

    Parameters
    ----------
    wish : Wish
        What was asked for.

    Raises
    ------
    InputProblems
        Everything that is wrong with it.
    NotServed
        If the port is taken, or the address is none of this computer's.
    """
    problems = [*_encryption(wish), *_names(wish)]
    if not problems and wish.tls_cert is not None and wish.tls_key is not None:
        problems = _certificate(wish.tls_cert, wish.tls_key)
    if problems:
        raise InputProblems(problems)
    _check_port(wish)


def _encryption(wish: Wish) -> list[Problem]:
    if (wish.tls_cert is None) != (wish.tls_key is None):
        missing, given = ("--tls-cert", "--tls-key") if wish.tls_cert is None else ("--tls-key", "--tls-cert")
        return [
            Problem(missing, "", "", f"it is missing, and {given} is of no use without it", "Give both, or neither")
        ]
    if wish.plain_http and (wish.has_tls or wish.behind_proxy):
        return [Problem("--plain-http", "", "", "TLS was asked for too", "Leave one of them out")]
    if wish.is_plain and not wish.is_local and not wish.plain_http:
        remedy = (
            "Give --tls-cert and --tls-key, or put a proxy that ends TLS before it and say --behind-proxy. In a closed "
            "network where you take that upon you, say --plain-http"
        )
        return [Problem("--host", "", wish.host, "passwords and records would cross the network unencrypted", remedy)]
    return []


def _names(wish: Wish) -> list[Problem]:
    if wish.names or (wish.is_local and not wish.behind_proxy):
        return []
    remedy = "Give --name, once for each, such as --name shop.example --name 192.168.1.20"
    return [Problem("--name", "", "", "the shop has to know under which names it is reached", remedy)]


def _certificate(cert: Path, key: Path) -> list[Problem]:
    missing = [
        Problem(option, "", str(file), "there is no such file", "Check the name")
        for option, file in (("--tls-cert", cert), ("--tls-key", key))
        if not file.is_file()
    ]
    if missing:
        return missing
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, key, password=lambda: "")
    except (ssl.SSLError, OSError) as trouble:
        reason = (getattr(trouble, "reason", None) or trouble.strerror or "not readable").replace("_", " ").lower()
        remedy = "Both have to be PEM files that belong together, the key without a passphrase"
        return [Problem("--tls-cert", "", str(cert), f"it cannot be used with {key} ({reason})", remedy)]
    return []


def _check_port(wish: Wish) -> None:
    # Without SO_REUSEPORT, which the server sets, a second shop on the same port is found out here.
    place = f"{wish.host} port {wish.port}"
    try:
        family, kind, _, _, address = socket.getaddrinfo(wish.host, wish.port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind) as tried:
            tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            tried.bind(address)
    except OSError as trouble:
        reason = (trouble.strerror or str(trouble)).lower()
        remedy = "Name another port with --port, or another address of this computer with --host"
        raise NotServed(place, reason=f"the shop cannot listen there ({reason})", remedy=remedy) from trouble
