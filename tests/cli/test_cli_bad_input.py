"""Broken seasons and logs: one sentence each with place and remedy, no traceback, nothing half-written."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path

import pytest
from tests.cli.conftest import Run
from tests.cli.test_cli_commands import log_text

Break = Callable[[str], str]


def swapped(old: str, new: str) -> Break:
    """Replace a text that must be there."""

    def change(text: str) -> str:
        assert old in text, f"the example has no {old!r} any more"
        return text.replace(old, new, 1)

    return change


def line_changed(start: str, line: str) -> Break:
    """Replace the first line that starts with something."""

    def change(text: str) -> str:
        lines = text.splitlines()
        at = next(number for number, one in enumerate(lines) if one.strip().startswith(start))
        return "\n".join([*lines[:at], line, *lines[at + 1 :]])

    return change


BROKEN_SEASONS: dict[str, tuple[Break, str]] = {
    "unit of another kind": (line_changed("spacing", 'spacing = "20 psi"'), "machine.boom.spacing"),
    "no unit": (line_changed("spacing", "spacing = 20"), "machine.boom.spacing"),
    "negative": (line_changed("spacing", 'spacing = "-20 in"'), "machine.boom.spacing"),
    "not a number": (line_changed("spacing", 'spacing = "about twenty inches"'), "machine.boom.spacing"),
    "infinite": (line_changed("spacing", 'spacing = "inf in"'), "machine.boom.spacing"),
    "missing": (line_changed("spacing", ""), "machine.boom.spacing"),
    "unknown key": (line_changed("spacing", 'spacing = "20 in"\nspacings = "20 in"'), "spacings"),
    "no sections": (line_changed("sections", "sections = []"), "machine.boom.sections"),
    "sections below one": (line_changed("sections", "sections = [12, 0, -3]"), "machine.boom.sections"),
    "unknown loop": (line_changed("loop", 'loop = "magic"'), "machine.control.loop"),
    "unknown crop of units": (line_changed("units", 'units = "cubits"'), "units"),
    "newer format": (line_changed("format_version", "format_version = 99"), "format_version"),
    "slow above fast": (
        line_changed("speeds", 'speeds = { slow = "15 mph", usual = "12 mph", fast = "8 mph" }'),
        "speeds",
    ),
    "rate of zero": (line_changed("rate =", 'rate = "0 gal/ac"'), "rate"),
    "area of nothing": (line_changed("area", 'area = "0 ac"'), "area"),
    "dates turned round": (line_changed("first", "first = 2031-12-31"), "first"),
    "log that is not there": (line_changed("speeds", 'logs = ["nowhere.csv"]'), "logs"),
    "broken toml": (line_changed("title", 'title = "no end'), "line"),
}


@pytest.mark.parametrize("name", BROKEN_SEASONS)
def test_a_broken_season_gets_sentences_and_nothing_is_written(run: Run, tmp_path: Path, name: str) -> None:
    change, key = BROKEN_SEASONS[name]
    assert run("new", "season.toml").code == 0
    season = tmp_path / "season.toml"
    season.write_text(change(season.read_text(encoding="utf-8")), encoding="utf-8")
    check_refused(run("plan", "season.toml", "--out", "papers"), 2, "season.toml", key)
    assert not (tmp_path / "papers").exists()


NO_SEASONS: dict[str, bytes] = {
    "empty": b"",
    "only blanks": b"\n \n\t\n",
    "binary": bytes(range(256)) * 8,
    "nul bytes": b"\0" * 4096,
    "not utf-8": 'title = "Zürich"'.encode("cp1252"),
    "a picture": b"\x89PNG\r\n\x1a\n" + b"\0\1\2\3" * 64,
}


@pytest.mark.parametrize("name", NO_SEASONS)
def test_what_is_no_season_at_all_is_refused(run: Run, tmp_path: Path, name: str) -> None:
    (tmp_path / "season.toml").write_bytes(NO_SEASONS[name])
    check_refused(run("plan", "season.toml", "--out", "papers"), 2, "season.toml", "")
    assert not (tmp_path / "papers").exists()


def test_a_season_that_is_a_folder_or_missing_is_refused(run: Run, tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    check_refused(run("plan", "folder.toml"), 2, "folder.toml", "")
    check_refused(run("plan", "missing.toml"), 2, "missing.toml", "")


HEADER = "time (s),distance (ft),swath width (ft),target rate (gal/ac)\n"
BROKEN_LOGS: dict[str, bytes] = {
    "empty": b"",
    "header only": HEADER.encode(),
    "binary": bytes(range(256)) * 64,
    "cut gzip": gzip.compress(log_text().encode())[:200],
    "gzip of nothing": gzip.compress(b""),
    "no clock": b"distance (ft),swath width (ft)\n1,2\n3,4\n5,6\n",
    "no numbers": (HEADER + "a,b,c,d\n" * 30).encode(),
    "standing still": (HEADER + "".join(f"{t},0,90,15\n" for t in range(50))).encode(),
    "words": b"Dear customer, please find the log enclosed.\nKind regards\n",
    "wrong unit in the header": log_text().replace("distance (ft)", "distance (psi)").encode(),
    "a web page": b"<!DOCTYPE html><html><body>Please sign in</body></html>\n" * 5,
}


@pytest.mark.parametrize("name", BROKEN_LOGS)
def test_a_broken_log_is_refused_with_place_and_remedy(run: Run, tmp_path: Path, name: str) -> None:
    assert run("new", "season.toml").code == 0
    (tmp_path / "field.csv").write_bytes(BROKEN_LOGS[name])
    check_refused(run("plan", "season.toml", "--log", "field.csv", "--out", "papers"), 4, "field.csv", "")
    assert not (tmp_path / "papers").exists()


def test_a_gigabyte_of_zeros_is_refused_at_once(run: Run, tmp_path: Path) -> None:
    assert run("new", "season.toml").code == 0
    for name, code in (("zeros.toml", 2), ("zeros.csv", 4)):
        with (tmp_path / name).open("wb") as sparse:
            sparse.truncate(1_000_000_000)
        words = ("plan", name) if code == 2 else ("plan", "season.toml", "--log", name)
        check_refused(run(*words, limit_s=20.0), code, name, "")


def test_a_log_named_for_a_pass_that_is_not_there_is_refused(run: Run, tmp_path: Path) -> None:
    assert run("new", "season.toml").code == 0
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    check_refused(run("plan", "season.toml", "--log", "No such pass=small.csv"), 2, "No such pass", "")


def test_an_output_folder_that_is_a_file_is_refused(run: Run, tmp_path: Path) -> None:
    assert run("new", "season.toml").code == 0
    (tmp_path / "papers").write_text("mine", encoding="utf-8")
    refused = run("plan", "season.toml", "--out", "papers")
    assert refused.code == 6
    assert "papers" in refused.err
    assert "Traceback" not in refused.err
    assert (tmp_path / "papers").read_text(encoding="utf-8") == "mine"


def check_refused(ran: object, code: int, file: str, key: str) -> None:
    """One process refused its input politely."""
    assert (ran.code, ran.out) == (code, ""), (ran.code, ran.out, ran.err)  # type: ignore[attr-defined]
    said = ran.err  # type: ignore[attr-defined]
    assert "Traceback" not in said
    assert file in said
    assert key in said
    # A sentence that ends, then a remedy that ends.
    assert all(line.rstrip().endswith((".", "?", "!", '"', "”")) for line in said.strip().splitlines()), said
    assert said.count(". ") >= 1
