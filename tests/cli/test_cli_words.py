"""What every command prints, read as a reader does: per cent one way, true minus signs, words of one unit system."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.cli.conftest import Run

DEMO = Path(__file__).parents[2] / "demo"
JOINED = re.compile(r"\d%")
HYPHEN = re.compile(r"(?<![\w-])-\d")
"""A hyphen in the place of a minus; tips such as 04-110 and dates have a letter or digit before it."""


def told(value: Any) -> Iterator[str]:
    """Every text inside JSON; keys are names and not told to anybody."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from (text for part in value.values() for text in told(part))
    elif isinstance(value, list):
        yield from (text for part in value for text in told(part))


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize(
    "words",
    [
        ("prove", DEMO / "wetrun.toml"),
        ("prove", DEMO / "wetrun.toml", "--minutes", "45"),
        ("plan", "season.toml"),
        ("loads", "season.toml"),
    ],
    ids=["prove", "day", "plan", "loads"],
)
def test_per_cent_and_minus_are_written_one_way(run: Run, words: tuple[str | Path, ...], system: str) -> None:
    assert run("new", "season.toml").code == 0
    text, plain = run(*words, "--units", system), run(*words, "--units", system, "--json")
    assert (text.code, plain.code) == (0, 0), text.err + plain.err
    said = [text.out, *told(json.loads(plain.out))]
    assert sum("%" in part for part in said) >= 1
    assert not [part for part in said if JOINED.search(part) or HYPHEN.search(part)]
