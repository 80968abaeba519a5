"""`wetrun changeover` as it is run: text, JSON, papers, both unit systems, a level out of reach, what it refuses."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from tests.cli.conftest import Run

from wetrun.documents.changeover_example import example_changeover

DEMO = Path(__file__).parents[2] / "demo"
SMALL = (  # few choices of water, so that each run takes a second or two
    ('class = "self-propelled"', 'class = "mounted"'),
    ('tank = "1000 gal"', 'tank = "300 gal"'),
    ('load = "900 gal"', 'load = "280 gal"'),
    ("sections = [9, 9, 9, 9, 9, 9]", "sections = [9, 9]"),
    ('circuit = "sump"', 'circuit = "eductor"'),
    ('rinse_tank = "100 gal"', 'rinse_tank = "40 gal"'),
    ("refills = 2", "refills = 0"),
)


def flat(text: str) -> str:
    """Text without its line breaks, as a reader takes it in."""
    return " ".join(text.split())


@pytest.fixture
def small(tmp_path: Path) -> Any:
    """Write the example for a small machine, edited, and return its path."""

    def write(*edits: tuple[str, str]) -> Path:
        text = example_changeover()
        for old, new in (*SMALL, *edits):
            assert old in text, f"the example has no {old!r} any more"
            text = text.replace(old, new, 1)
        path = tmp_path / "changeover.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_the_demo_end_to_end(run: Run, tmp_path: Path) -> None:
    for name in ("season.toml", "changeover.toml", "tips.csv", "log_map.toml"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    ran = run("changeover", "changeover.toml", "--out", "papers")
    assert (ran.code, ran.err) == (0, "")
    said = flat(ran.out)
    assert "From Post herbicide (soybeans) to Fungicide (corn): rinse 4 times" in said
    assert "The rinse tank holds 100 gal: 2 refills. Tolerated: 1 % (France" in said
    assert "The same water in 3 ways" in said
    assert "eductor forgotten" in said
    assert "Foam marker is never rinsed" in said
    assert "By hand: foam marker" in said
    assert "Grassline, by its label: Clean out before spraying corn or small grains. [label-1]" in said
    assert "The label is the law" in said
    assert "if nothing is bound" in said
    assert not re.search(r"\b(is|are) (now )?(clean|safe)\b", said)
    assert (tmp_path / "papers" / "changeover.pdf").read_bytes().startswith(b"%PDF")


def test_json_holds_si_and_agrees_with_the_text(run: Run, small: Any) -> None:
    path = small()
    result = json.loads(run("changeover", path, "--json").out)
    assert result["format_version"] == 1
    plan = result["plan"]
    assert plan["reached"] is True
    assert sum(rinse["water_m3"] for rinse in plan["rinses"]) == pytest.approx(plan["water_m3"])
    assert plan["left_frac"] <= result["tolerated"]["in_mix_frac"]
    assert {way["way"] for way in result["three_ways"]} == {"one rinse", "equal rinses", "one forgotten"}
    assert all(way["water_m3"] == pytest.approx(plan["water_m3"]) for way in result["three_ways"])
    held = [step for step in result["steps"] if step["last_of_rinse"]]
    assert [step["rinse"] for step in held] == list(range(1, len(plan["rinses"]) + 1))
    assert sum(step["water_m3"] for step in result["steps"]) == pytest.approx(plan["water_m3"])
    by_name = {circuit["name"]: circuit for circuit in result["circuits"]}
    assert by_name["eductor"]["measured"] is True
    assert by_name["pump"]["measured"] is False
    assert result["typed"]["plumbing.measured[1].volume"] == "4.5 gal"


def test_both_unit_systems_tell_the_same_clean_out(run: Run, small: Any) -> None:
    path = small()
    us, si = (json.loads(run("changeover", path, "--units", units, "--json").out) for units in ("us", "si"))
    assert us["plan"] == si["plan"]
    assert us["sheet"]["water"].endswith(" gal")
    assert si["sheet"]["water"].endswith(" L")
    said = flat(run("changeover", path, "--units", "si").out)
    assert si["sheet"]["water"] in said
    answer = said.partition("In the yard")[0].replace("Yard number 12, 90 ft", "")  # the machine's own name
    assert not re.search(r"\d (gal|ac|ft)\b", answer)


def test_a_level_no_water_reaches_is_a_result_with_what_helps(run: Run, small: Any) -> None:
    path = small(('own = "1 %" ', 'own = "0.001 %" '))
    ran = run("changeover", path)
    assert (ran.code, ran.err) == (0, "")
    said = flat(ran.out)
    assert "does not reach 0.001 %" in said
    assert "What helps:" in said
    plan = json.loads(run("changeover", path, "--json").out)["plan"]
    assert plan["reached"] is False
    assert plan["binding"]
    assert plan["remedies"]
    assert plan["left_frac"] > 1e-5


def test_a_record_says_what_it_lacks(run: Run, small: Any) -> None:
    text = '[record]\nsigned_by = "B. Ash"\n[[record.step]]\nstep = "moon"\nby = "B. Ash"\n'
    ran = run("changeover", small(("# [record]\n", f"{text}#\n")))
    assert ran.code == 0
    said = flat(ran.out)
    assert "The record is not complete." in said
    assert "– moon: the list has no such step." in said
    assert "– rinse-1: still open." in said
    assert "How far it is diluted is not known" in said


def test_winter_adds_its_steps_and_those_of_spring(run: Run, small: Any) -> None:
    said = flat(run("changeover", small(("# [winter] ", '[winter]\nantifreeze = "Frostline, undiluted."\n#'))).out)
    assert "Put away for the winter:" in said
    assert "Frostline, undiluted." in said
    assert "In spring:" in said


def test_what_is_new_is_what_is_planned(run: Run) -> None:
    assert run("new", "changeover.toml").code == 0
    ran = run("changeover", "changeover.toml", "--units", "si")
    assert (ran.code, ran.err) == (0, "")


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        ('volume = "4.5 gal"', 'volume = "0 gal"', 2, "more than nothing"),
        ('circuit = "eductor"', 'circuit = "sump"', 2, "has none of that name"),
        ('load = "280 gal"', 'load = "2800 gal"', 3, "gal"),
        ('name = "Yardline tank cleaner"', 'name = "Bleach with ammonia"', 2, "toxic gas"),
    ],
)
def test_what_cannot_be_is_one_sentence_on_standard_error(
    run: Run, small: Any, old: str, new: str, code: int, words: str
) -> None:
    ran = run("changeover", small((old, new)))
    assert ran.code == code
    assert ran.out == ""
    assert words in ran.err
    assert len(ran.err.splitlines()) == 1
    assert "Traceback" not in ran.err
