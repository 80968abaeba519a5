"""`wetrun serve`: starts, says where, keeps its secret, watches its parts, and leaves nothing behind when it ends."""

from __future__ import annotations

import http.client
import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.shop_serving import ServedShop, bare_environ, command_of, family, free_port, parts, until

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are looked at by /proc")

ASSET = re.compile(rb'href="(/static/shop\.[0-9a-f]+\.css)"')


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedShop]:
    """One running shop, for what only looks at it."""
    with ServedShop(tmp_path_factory.mktemp("shop") / "data") as running:
        yield running


def served(*options: str, **environ: str) -> subprocess.CompletedProcess[str]:
    """A shop that is expected not to start."""
    words = [sys.executable, "-m", "wetrun", "serve", *options]
    return subprocess.run(words, env=bare_environ(**environ), capture_output=True, text=True, check=False, timeout=60)


def test_it_says_where_it_is_and_is_there(shop: ServedShop) -> None:
    assert f"The shop is open at http://127.0.0.1:{shop.port}/" in shop.told
    assert "opening word" not in shop.told
    status, headers, _ = shop.get("/")
    assert status == 302
    assert headers["location"].startswith("/")


def test_the_stylesheet_comes_from_the_shop_itself_and_may_be_kept_for_ever(shop: ServedShop) -> None:
    found = ASSET.search(shop.page())
    assert found is not None
    status, headers, body = shop.get(found.group(1).decode(), {"Accept-Encoding": "gzip"})
    assert status == 200
    assert "immutable" in headers["cache-control"]
    assert headers["content-encoding"] == "gzip"
    assert len(body) > 100


def test_the_secret_is_long_its_owner_s_alone_and_in_no_command_line(shop: ServedShop) -> None:
    file = shop.data / "secret-key"
    secret = file.read_text().strip()
    assert len(secret) >= 50
    assert file.stat().st_mode & 0o777 == 0o600
    assert shop.data.stat().st_mode & 0o777 == 0o700
    assert not [pid for pid in family(shop.process.pid) if secret in command_of(pid)]


def test_a_second_shop_on_the_same_folder_is_refused(shop: ServedShop) -> None:
    done = served("--data", str(shop.data), "--port", str(free_port()))
    assert done.returncode == 8
    assert "a running shop is using this data folder" in done.stderr


def test_a_second_shop_on_the_same_port_is_refused_before_anything_is_made(shop: ServedShop, tmp_path: Path) -> None:
    done = served("--data", str(tmp_path / "other"), "--port", str(shop.port))
    assert done.returncode == 8
    assert f"127.0.0.1 port {shop.port}: the shop cannot listen there (address already in use)" in done.stderr
    assert not (tmp_path / "other").exists()


def test_an_address_of_another_computer_is_refused(tmp_path: Path) -> None:
    done = served("--data", str(tmp_path / "d"), "--host", "192.0.2.7", "--plain-http", "--name", "x")
    assert done.returncode == 8
    assert "192.0.2.7 port 8000: the shop cannot listen there" in done.stderr


def test_a_folder_that_cannot_be_written_is_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    done = served("--data", str(tmp_path / "file" / "data"), "--port", str(free_port()))
    assert done.returncode == 6
    assert done.stderr.count("\n") == 1
    assert "cannot be written: not a directory. Name a folder of your own with --data" in done.stderr


def test_a_secret_that_could_be_guessed_is_refused(tmp_path: Path) -> None:
    done = served("--data", str(tmp_path), "--port", str(free_port()), WETRUN_SECRET_KEY="too short")  # noqa: S106
    assert done.returncode == 2
    assert "at least 50 characters" in done.stderr


def test_a_database_that_is_not_there_is_told_in_a_sentence(tmp_path: Path) -> None:
    url = f"postgresql://nobody@/nothing?host={tmp_path}"
    done = served("--data", str(tmp_path / "data"), "--port", str(free_port()), DATABASE_URL=url)
    assert done.returncode == 8
    assert "Traceback" not in done.stderr
    assert "The database cannot be used" in done.stderr


def test_a_worker_that_dies_is_started_again_and_pages_go_on(shop: ServedShop) -> None:
    assert until(lambda: bool(list(parts(shop, "wetrun.shop work"))))
    first = next(parts(shop, "wetrun.shop work"))
    os.kill(first, signal.SIGKILL)
    assert until(lambda: any(pid != first for pid in parts(shop, "wetrun.shop work")))
    assert "The job worker ended (code -9); it is started again in 1 s." in shop.told
    assert shop.page()


def test_a_page_process_that_dies_is_replaced(shop: ServedShop) -> None:
    server = next(parts(shop, "serving.web"))
    before = family(server)[1:]
    assert len(before) == 2
    os.kill(before[0], signal.SIGKILL)
    assert until(lambda: len(now := family(server)[1:]) == 2 and now != before)
    assert until(lambda: _answers(shop))


def test_ctrl_c_ends_every_part_and_frees_the_port(tmp_path: Path) -> None:
    with ServedShop(tmp_path / "data") as running:
        everybody = family(running.process.pid)
        assert len(everybody) >= 4
        assert running.stop(signal.SIGINT) == 0
        assert running.told.endswith("Stopped.\n")
        assert not [pid for pid in everybody if "wetrun" in command_of(pid)]
        assert _is_free(running.port)


def test_killed_outright_it_leaves_nobody_behind(tmp_path: Path) -> None:
    with ServedShop(tmp_path / "data") as running:
        everybody = family(running.process.pid)
        os.kill(running.process.pid, signal.SIGKILL)
        running.process.wait()
        assert until(lambda: not [pid for pid in everybody if "wetrun" in command_of(pid)])
        assert _is_free(running.port)


def test_a_server_that_dies_ends_the_shop_with_a_sentence(tmp_path: Path) -> None:
    with ServedShop(tmp_path / "data") as running:
        everybody = family(running.process.pid)
        os.kill(next(parts(running, "serving.web")), signal.SIGKILL)
        assert running.process.wait(90) == 8
        assert until(lambda: "The server: it ended by itself (code -9)." in running.told)
        assert not [pid for pid in everybody if "wetrun" in command_of(pid)]


def _is_free(port: int) -> bool:
    with socket.socket() as tried:
        tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            tried.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True


def _answers(running: ServedShop) -> bool:
    try:
        return bool(running.page())
    except (OSError, http.client.HTTPException):
        return False


@pytest.fixture
def certificate(tmp_path: Path) -> tuple[str, str]:
    """A certificate for localhost that nobody vouches for, and its key."""
    openssl = shutil.which("openssl")
    if openssl is None:
        assert os.environ.get("CI") != "true", "openssl is missing"
        pytest.skip("openssl is not installed: no certificate can be made")
    cert, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    words = [
        *("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext"),
        "subjectAltName=DNS:localhost",
    ]
    subprocess.run([openssl, *words, "-keyout", key, "-out", cert], check=True, capture_output=True)
    return str(cert), str(key)


def test_with_a_certificate_it_speaks_tls_and_marks_its_cookies(tmp_path: Path, certificate: tuple[str, str]) -> None:
    cert, key = certificate
    names = ("--name", "localhost", "--name", "yard.example")
    with ServedShop(tmp_path / "data", "--tls-cert", cert, "--tls-key", key, *names) as running:
        assert f"The shop is open at https://localhost:{running.port}/" in running.told
        assert re.search(r"opening word: \w{4}-\w{4}-\w{4}$", running.told, re.MULTILINE)
        trusting = ssl.create_default_context(cafile=cert)
        connection = http.client.HTTPSConnection("localhost", running.port, context=trusting, timeout=30)
        connection.request("GET", "/")
        answer = connection.getresponse()
        answer.read()
        assert answer.status == 302
        assert "max-age=31536000" in (answer.getheader("strict-transport-security") or "")
        connection.request("GET", "/first-run/")
        page = connection.getresponse()
        assert b'name="person-opening"' in page.read()
        cookies = page.headers.get_all("set-cookie") or []
        assert cookies
        assert all("Secure" in cookie for cookie in cookies)
        connection.close()
