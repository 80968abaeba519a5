"""`wetrun prove --minutes` in the yard, with nothing in the file but the machine."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from tests.cli.conftest import Run

DEMO = Path(__file__).parents[2] / "demo"
BARE = """format_version = 1
title = "First look"
season = "season.toml"
"""
OWN_MACHINE = """format_version = 1
title = "72 tips of size 05"

[machine]
name = "Trailed, 120 ft"
tank = "1200 gal"
boom = { spacing = "20 in", sections = [8, 8, 8, 8, 8, 8, 8, 8, 8] }
control = { loop = "flow meter", meter = { least = "3 gal/min", greatest = "150 gal/min" } }
pump = { flow = "140 gal/min" }

[tips]
fitted = "iso-11005-ff"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The demo's season and what it names."""
    shutil.copytree(DEMO, tmp_path / "demo")
    return tmp_path / "demo"


def day(run: Run, folder: Path, text: str, *options: str) -> str:
    (folder / "bare.toml").write_text(text, encoding="utf-8")
    ran = run("prove", folder / "bare.toml", *options)
    assert (ran.code, ran.err) == (0, "")
    return ran.out


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("minutes", [20, 45, 90])
def test_a_season_and_its_machine_are_enough(run: Run, folder: Path, minutes: int) -> None:
    said = flat(day(run, folder, BARE, "--minutes", f"{minutes}"))
    assert "names no set under [tips]: planned with Saltlick 110-06 pre-orifice, the first set on hand" in said
    assert re.search(r"In this order, about \d+ minutes and [\d.]+ gal of water: 1\. ", said)
    assert re.search(r"applied rate: [\d.]+ % before, [\d.]+ % after", said)
    assert ("Stays unproven: speed shown" in said) == (minutes < 90)
    assert "the tank holds 1200 gal" in said
    assert re.search(r"→ Take, [^:]+: ", said)


def test_without_a_set_on_hand_the_pass_says_how_much_a_tip_has_to_give(run: Run, folder: Path) -> None:
    season = folder / "season.toml"
    text = season.read_text(encoding="utf-8")
    owned = re.search(r"\[\[machine\.owned\]\].*?\n\n", text, re.DOTALL)
    assert owned is not None
    season.write_text(text.replace(owned[0], ""), encoding="utf-8")
    found = json.loads(day(run, folder, BARE, "--minutes", "45", "--json"))
    assert "the nearest to what the pass asks for" in found["guessed"]
    # 15 gal/ac at 13 mph and 20 in: 0.657 gal/min.
    assert found["catch"]["tip_flow_m3s"] == pytest.approx(0.657 * 6.309e-5, rel=0.25)
    (folder / "bare.toml").write_text(BARE + 'pass = "Post herbicide"\n', encoding="utf-8")  # its speeds are in logs
    ran = run("prove", folder / "bare.toml", "--minutes", "45")
    assert ran.code == 2
    assert "tips: no set is named, none is on hand" in ran.err
    assert "Add a table [tips] with fitted" in ran.err


def test_72_tips_of_05_from_one_jug_take_about_2600_gallons(run: Run, folder: Path) -> None:
    catch = '\n[catch]\nrule = "boom-10"\npressure = "40 psi"\ntime = "60 s"\nunit = "fl oz"\nreadings = []\n'
    found = json.loads(day(run, folder, OWN_MACHINE + catch, "--minutes", "300", "--jugs", "1", "--json"))["catch"]
    one = found["ways"][0]
    assert (one["way"], one["jugs"], one["catches"]) == ("whole boom on", 1, 72)
    assert one["water_m3"] == pytest.approx(2592 * 3.785411784e-3, rel=0.02)  # the ISO size is 1.3 % over the US one
    assert one["tanks"] == pytest.approx(2592 / 1200, rel=0.02)
    assert (one["time_s"], one["fits"]) == (72 * 90, False)


def test_a_machine_that_steers_by_a_meter_has_one_to_prove_before_its_range_is_typed(run: Run, folder: Path) -> None:
    untyped = OWN_MACHINE.replace(', meter = { least = "3 gal/min", greatest = "150 gal/min" }', "")
    assert untyped != OWN_MACHINE
    for minutes in ("45", "90"):
        options = ("--minutes", minutes)
        assert day(run, folder, untyped, *options) == day(run, folder, OWN_MACHINE, *options)


def test_the_ways_are_told_in_the_units_of_the_reader(run: Run, folder: Path) -> None:
    us, metric = (day(run, folder, BARE, "--minutes", "45", "--units", units) for units in ("us", "si"))
    for unit in (" gal", " psi", " gal/min"):
        assert unit in us
        assert unit not in metric
    for unit in (" L", " bar", " L/min"):
        assert unit in metric
        assert unit not in us


def test_the_catch_gets_the_time_the_other_tests_leave(run: Run, folder: Path) -> None:
    found = json.loads(day(run, folder, BARE, "--minutes", "90", "--json"))
    assert "catch of every tip" in found["tests"]
    assert found["catch"]["available_s"] < 90 * 60
    (taken,) = [way for way in found["catch"]["ways"] if way["recommended"]]
    assert taken["fits"]
    assert taken["time_s"] + found["catch"]["ready_s"] <= found["catch"]["available_s"]
    alone = json.loads(day(run, folder, BARE, "--minutes", "45", "--json"))
    assert "catch of every tip" not in alone["tests"]
    assert alone["catch"]["available_s"] == 45 * 60


def test_too_little_time_says_what_a_catch_of_every_tip_takes(run: Run, folder: Path) -> None:
    said = flat(day(run, folder, BARE, "--minutes", "5"))
    assert "No test fits that time" not in said  # tape and settings need no water
    assert "No way to catch fits 5 minutes with 8 minutes to get ready." in said
    assert re.search(r"Every tip takes at least 22 minutes and \d+ gal: whole boom on", said)


def test_more_jugs_take_less_time(run: Run, folder: Path) -> None:
    two, twelve = (day(run, folder, BARE, "--minutes", "45", "--json", "--jugs", n) for n in ("2", "12"))
    least = [
        min(way["time_s"] for way in json.loads(out)["catch"]["ways"] if way["every_tip"]) for out in (two, twelve)
    ]
    assert least[1] < least[0]


def test_without_minutes_a_set_must_be_named(run: Run, folder: Path) -> None:
    (folder / "bare.toml").write_text(BARE, encoding="utf-8")
    ran = run("prove", folder / "bare.toml")
    assert ran.code == 2
    assert "tips: this is missing" in ran.err
