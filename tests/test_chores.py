"""The chores say in a sentence what they miss, and nothing where nothing is missing."""

from __future__ import annotations

from pathlib import Path

import dev
import pytest


def test_a_program_that_is_missing_is_named_with_what_is_lost_and_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    dev.say_what_is_missing()
    said = capsys.readouterr().out.splitlines()
    assert len(said) == len(dev.PROGRAMS)
    assert said[0] == (
        "Not here: chromium, so no page is tried in a real browser (Debian and Ubuntu: apt install chromium)."
    )


def test_a_program_that_is_there_under_any_of_its_names_is_not_missed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    for names, _, _ in dev.PROGRAMS:
        (tmp_path / names[-1]).touch(mode=0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    dev.say_what_is_missing()
    assert capsys.readouterr().out == ""
