"""How a shop may be reached: never in the open by accident, and every refusal a sentence."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from tests.shop_serving import free_port

from wetrun.errors import InputProblems, NotServed
from wetrun.shop.environment import data_folder
from wetrun.shop.folder import UNFINISHED_FILE, check_whole, held, key_in, open_folder
from wetrun.shop.serving.__main__ import check_parts
from wetrun.shop.serving.child import Pauses
from wetrun.shop.serving.wish import Wish, check_wish

HERE = Path(__file__)
ANYWHERE = "0.0.0.0"  # noqa: S104 - what is refused


def wish(**given: object) -> Wish:
    options = {"data": HERE.parent, "port": free_port(), **given}
    return Wish(**options)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"host": ANYWHERE}, "--host is 0.0.0.0: passwords and records would cross the network unencrypted"),
        ({"host": "shop.example"}, "--host is shop.example: passwords and records would cross the network unencrypted"),
        ({"host": "::"}, "--host is ::: passwords"),
        ({"host": ANYWHERE, "plain_http": True}, "--name: the shop has to know under which names it is reached"),
        ({"behind_proxy": True}, "--name: the shop has to know"),
        ({"behind_proxy": True, "plain_http": True, "names": ("x",)}, "--plain-http: TLS was asked for too"),
        ({"tls_cert": HERE, "tls_key": HERE, "plain_http": True}, "--plain-http: TLS was asked for too"),
        ({"tls_cert": HERE}, "--tls-key: it is missing, and --tls-cert is of no use without it"),
        ({"tls_key": HERE}, "--tls-cert: it is missing, and --tls-key is of no use without it"),
        ({"tls_cert": Path("/no/cert"), "tls_key": HERE}, "--tls-cert is /no/cert: there is no such file"),
        ({"tls_cert": HERE, "tls_key": HERE}, "Both have to be PEM files that belong together"),
    ],
)
def test_what_is_unsafe_or_of_no_use_is_refused(given: dict[str, object], told: str) -> None:
    with pytest.raises(InputProblems) as refused:
        check_wish(wish(**given))
    assert told in str(refused.value)


@pytest.mark.parametrize(
    ("given", "is_plain", "address"),
    [
        ({}, True, "http://127.0.0.1:{port}/"),
        ({"host": "localhost"}, True, "http://localhost:{port}/"),
        ({"host": "127.0.0.9"}, True, "http://127.0.0.9:{port}/"),
        ({"host": ANYWHERE, "plain_http": True, "names": ("yard.example",)}, True, "http://yard.example:{port}/"),
        ({"behind_proxy": True, "names": ("yard.example",)}, False, "http://127.0.0.1:{port}/"),
    ],
)
def test_what_is_safe_or_asked_for_by_name_is_let_through(
    given: dict[str, object], is_plain: bool, address: str
) -> None:
    asked = wish(**given)
    check_wish(asked)
    assert asked.is_plain is is_plain
    assert asked.address == address.format(port=asked.port)


def test_what_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    check_parts()
    monkeypatch.setattr("wetrun.shop.serving.__main__.find_spec", lambda name: None if name == "granian" else name)
    with pytest.raises(NotServed) as refused:
        check_parts()
    assert "not installed (granian). Install it: pip install 'wetrun[shop]'." in str(refused.value)


def test_a_secret_others_could_read_is_closed_to_them_and_told(tmp_path: Path) -> None:
    secret, was_open = key_in(tmp_path)
    assert not was_open
    (tmp_path / "secret-key").chmod(0o644)
    assert key_in(tmp_path) == (secret, True)
    assert stat.S_IMODE((tmp_path / "secret-key").stat().st_mode) == 0o600
    assert key_in(tmp_path) == (secret, False)


def test_a_folder_is_held_by_one_at_a_time(tmp_path: Path) -> None:
    with held(tmp_path), pytest.raises(NotServed), held(tmp_path):
        pass
    with held(tmp_path):
        pass


def test_a_folder_with_a_broken_restore_is_not_served(tmp_path: Path) -> None:
    check_whole(tmp_path)
    (tmp_path / UNFINISHED_FILE).touch()
    with pytest.raises(NotServed, match="was broken off"):
        check_whole(tmp_path)


def test_a_folder_is_made_for_its_owner_and_one_that_is_there_is_left_as_it_is(tmp_path: Path) -> None:
    assert stat.S_IMODE(open_folder(tmp_path / "a" / "b").stat().st_mode) == 0o700
    (tmp_path / "mine").mkdir(mode=0o750)
    assert stat.S_IMODE(open_folder(tmp_path / "mine").stat().st_mode) == 0o750


def test_the_folder_is_the_one_the_environment_names(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("WETRUN_DATA", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert data_folder() == tmp_path / "wetrun"
    monkeypatch.setenv("WETRUN_DATA", str(tmp_path / "here"))
    assert data_folder() == tmp_path / "here"


def test_what_keeps_dying_is_started_ever_more_seldom_until_it_was_well_for_a_minute() -> None:
    pauses = Pauses()
    assert [pauses.after(0.1) for _ in range(8)] == [1, 2, 4, 8, 16, 32, 60, 60]
    assert pauses.after(60.0) == 1
