"""`wetrun loads` as it is run: text, JSON, papers, both unit systems, and what it refuses."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from tests.cli.conftest import Run

from wetrun.documents.season_example import example_season

DEMO = Path(__file__).parents[2] / "demo"
PASSES = 5


def flat(text: str) -> str:
    """Text without its line breaks, as a reader takes it in."""
    return " ".join(text.split())


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """The demo's season with its tips; its logs are not needed for loads."""
    for name in ("season.toml", "tips.csv", "log_map.toml"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    return tmp_path / "season.toml"


def test_the_demo_tells_every_pass_without_its_logs(run: Run, demo: Path) -> None:
    ran = run("loads", demo)
    assert (ran.code, ran.err) == (0, "")
    said = flat(ran.out)
    assert len(re.findall("== .*? ==", said)) == PASSES
    assert "19 loads: 18 of 1,180 gal, then 1 of 976 gal; 22,216 gal in all" in said
    assert "Weight sets the load, not the tank: at most 1,077 gal for the weight on the rear axle" in said
    assert "Grassline before Broadstop: label of Broadstop, which holds. A-W-A-M-L-E-S has it the other way" in said
    assert "Ammonium sulfate by the water test: 4.36 lb/100 gal, planned 8.50 lb/100 gal" in said
    assert "The label is the law" in said
    assert "bleach" in said


@pytest.mark.parametrize("units", ["us", "si"])
def test_every_printed_column_adds_up_to_its_printed_total(run: Run, demo: Path, units: str) -> None:
    result = json.loads(run("loads", demo, "--units", units, "--json").out)
    assert result["format_version"] == 1
    sizes = {"gal": 128, "fl oz": 1, "lb": 16, "oz": 1, "L": 100, "kg": 100}  # steps of the usual jug and scale
    checked = 0
    for each in result["passes"]:
        counts = [int(column["count"]) for column in each["sheet"]["columns"]]
        assert sum(counts) == len(each["loads"])
        for row in each["sheet"]["rows"]:
            steps = [_steps(text, sizes) for text in row["amounts"]]
            assert sum(n * step for n, step in zip(counts, steps, strict=True)) == _steps(row["total"], sizes)
            checked += 1
        fills = [_steps(column["fill"], sizes) for column in each["sheet"]["columns"]]
        liquid = [row for row in each["sheet"]["rows"] if re.search(r"gal|fl oz|L$", row["total"])]
        for at, fill in enumerate(fills):
            assert sum(_steps(row["amounts"][at], sizes) for row in liquid) == fill
        done = each["sheet"]["refills"]["rows"]
        tenths = [round(10 * float(re.sub(r"[^0-9.]", "", row["area"]))) for row in done]
        assert sum(tenths) == round(10 * float(re.sub(r"[^0-9.]", "", done[-1]["done"])))
    assert checked > 15


def _steps(text: str, sizes: dict[str, int]) -> int:
    """Steps of a printed amount, such as 18 gal 96 fl oz."""
    parts = re.findall(r"([0-9.,\u00a0]+)\s(fl oz|gal|lb|oz|kg|L)", text)
    assert parts, text
    return sum(round(float(number.replace(",", "").replace("\u00a0", "")) * sizes[unit]) for number, unit in parts)


def test_json_holds_si_and_the_steps(run: Run, demo: Path) -> None:
    (only,) = json.loads(run("loads", demo, "--pass", "uan TOP-dress", "--json").out)["passes"]
    assert only["sheet"]["name"] == "UAN top-dress"
    assert only["limit"] == "weight on the rear axle"
    assert sum(load["fill_steps"] for load in only["loads"]) * only["gauge_m3"] == pytest.approx(only["made_m3"])
    assert only["left_over_m3"] == pytest.approx(only["undrainable_m3"], abs=only["gauge_m3"])
    (post,) = json.loads(run("loads", demo, "--pass", "Post herbicide", "--json").out)["passes"]
    assert post["order"]["names"] == ["Spray-grade AMS", "Grassline", "Broadstop", "Clingwell"]
    assert post["order"]["by_label"] == ["Broadstop"]
    assert post["order"]["labels_agree"] is True
    assert post["conditioner"]["advice"] == "covered"


def test_out_writes_a_sheet_a_pass_and_takes_a_stale_one_away(run: Run, demo: Path, tmp_path: Path) -> None:
    ran = run("loads", demo, "--out", "sheets", "--paper", "a4")
    assert (ran.code, ran.err) == (0, "")
    written = sorted(path.name for path in (tmp_path / "sheets").iterdir())
    assert len(written) == PASSES
    assert "load-sheet-uan-top-dress.pdf" in written
    assert all((tmp_path / "sheets" / name).read_bytes().startswith(b"%PDF") for name in written)
    (tmp_path / "sheets" / "cab-card-x.pdf").write_bytes(b"another paper")
    assert run("loads", demo, "--out", "sheets", "--pass", "Desiccant").code == 0
    assert sorted(path.name for path in (tmp_path / "sheets").iterdir()) == [
        "cab-card-x.pdf",
        "load-sheet-desiccant.pdf",
    ]


def test_what_is_new_is_what_is_loaded(run: Run) -> None:
    assert run("new", "season.toml").code == 0
    ran = run("loads", "season.toml", "--units", "si")
    assert (ran.code, ran.err) == (0, "")
    assert "10 loads of 3" in flat(ran.out)


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        (
            'band = { width = "10 in", row = "30 in" }',
            'band = { width = "40 in", row = "30 in" }',
            2,
            "wider than its row",
        ),
        ('rate = "3 oz/ac"', "", 2, "has no rate"),
        ('empty = "13600 lb"', 'empty = "19995 lb"', 3, "Weigh the machine again"),
        ('carry_in = "14 gal"', 'carry_in = "500 gal"\njar = "1 L"', 2, "jar"),
    ],
)
def test_what_cannot_be_is_one_sentence_on_standard_error(
    run: Run, tmp_path: Path, old: str, new: str, code: int, words: str
) -> None:
    text = example_season().replace("# band =", "band =").replace("   # rates are then", " # rates are then")
    assert old in text
    (tmp_path / "season.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    ran = run("loads", "season.toml")
    assert ran.code == code
    assert ran.out == ""
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_a_pass_nobody_planned_is_told_with_those_there_are(run: Run, demo: Path) -> None:
    ran = run("loads", demo, "--pass", "Harvest")
    assert ran.code == 2
    assert "Name one of: Burndown and residual, UAN top-dress" in ran.err
