"""`wetrun short` as it is run: minutes and what still holds decide, and what is no proof is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.conftest import Run
from tests.cli.test_cli_day import OWN_MACHINE


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wetrun.toml"
    path.write_text(OWN_MACHINE, encoding="utf-8")
    return path


def test_minutes_and_what_holds_decide(run: Run, file: Path) -> None:
    plain = run("short", file, "--minutes", "30")
    assert (plain.code, plain.err) == (0, "")
    said = " ".join(plain.out.split())
    assert "1. catch of twelve tips: 3 minutes" in said
    assert "To be booked: timed course, both ways" in said
    assert "Stays unproven: how well flow follows" in said
    held = json.loads(
        run("short", file, "--minutes", "30", "--holds", "Meter number", "--holds", "monitor settings", "--json").out
    )
    assert [step["test"] for step in held["steps"]] == ["ramp over the speeds"]
    assert held["after_frac"] < held["before_frac"]
    assert "No test fits that time." in run("short", file, "--minutes", "0").out


def test_what_is_no_proof_is_refused_with_those_there_are(run: Run, file: Path) -> None:
    ran = run("short", file, "--minutes", "30", "--holds", "good luck")
    assert ran.code != 0
    said = " ".join(ran.err.split())
    assert "good luck" in said
    assert "wheel speed number" in said
