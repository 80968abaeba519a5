"""`wetrun trouble` as it is run: the page on it is true, files of both kinds do, and what is no reading is refused."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest
from tests.cli.conftest import Run

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "howto" / "a-machine-in-trouble.md"
RUN = ROOT / "demo" / "wetrun.toml"
SEASON = ROOT / "demo" / "season.toml"


def examples() -> list[tuple[list[str], list[str]]]:
    blocks = re.findall(r"```console\n\$ wetrun (trouble .*?)\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    return [(shlex.split(words), told.splitlines()) for words, told in blocks]


@pytest.mark.parametrize(("words", "told"), examples())
def test_the_page_shows_what_the_command_prints(run: Run, words: list[str], told: list[str]) -> None:
    ran = run(*(str(ROOT / word) if word.startswith("demo/") else word for word in words))
    assert (ran.code, ran.err) == (0, "")
    said = " ".join(ran.out.split())
    assert told
    for line in told:
        assert line in said
    assert "Never open, loosen or reach into a line under pressure" in said
    assert "The label is the law" in said


def test_a_season_file_takes_the_set_on_the_boom_and_the_pass_its_liquid(run: Run) -> None:
    numbers = ("--set", "20 gal/ac", "--rate", "20 gal/ac", "--speed", "10 mph", "--cab", "60 psi")
    water = json.loads(run("trouble", SEASON, "--tip-set", "saltlick-06-ai", *numbers, "--json").out)
    uan = json.loads(
        run("trouble", SEASON, "--tip-set", "saltlick-06-ai", "--pass", "UAN top-dress", *numbers, "--json").out
    )
    first = (water["words"]["told"][0], uan["words"]["told"][0])
    pressures = [float(found) for told in first for found in re.findall(r"(\d+) psi at the tip", told)]
    # 32 % UAN weighs 11.06 lb/gal against water's 8.33: its tips need so much more pressure for the same flow.
    assert pressures[1] / pressures[0] == pytest.approx(1.327, abs=0.03)
    assert water["method"] == "trouble-1"


def test_metric_is_told_as_metric(run: Run) -> None:
    ran = run("trouble", RUN, "--set", "140 L/ha", "--rate", "140 L/ha", "--speed", "21 km/h", "--units", "si")
    assert re.search(r"\d L/min of a tip at this speed: \d\.\d bar at the tip", " ".join(ran.out.split()))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--says", "luck"), "rate, pressure, section"),
        (("--cab", "fast"), "--cab"),
        (("--cab", "0 psi"), "above zero"),
        (("--low-section", "12"), "9 sections"),
        (("--on", "1-12"), "The boom has 9"),
        (("--on", "x"), "The boom has 9"),
        (("--carrier", "gravel"), "density"),
        (("--tip-set", "saltlick-06-ai"), "a wet run names its own set"),
    ],
)
def test_what_cannot_be_is_refused_with_the_remedy(run: Run, words: tuple[str, ...], said: str) -> None:
    ran = run("trouble", RUN, *words)
    assert ran.code != 0
    assert said in " ".join(ran.err.split())


def test_a_pass_or_set_that_a_season_does_not_have_is_refused(run: Run) -> None:
    for words in (("--pass", "Harvest"), ("--tip-set", "nothing-06")):
        ran = run("trouble", SEASON, *words)
        assert ran.code != 0
        assert words[1] in ran.err
