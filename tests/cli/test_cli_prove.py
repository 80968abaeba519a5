"""`wetrun prove` as a technician runs it: a process, its two streams and its exit code."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from tests.cli.conftest import Run

from wetrun.documents.wetrun_example import example_wetrun

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """The demo's wet run with the season, tips, map and logs it rests on."""
    shutil.copytree(DEMO, tmp_path / "demo")
    return tmp_path / "demo" / "wetrun.toml"


@pytest.fixture
def example(tmp_path: Path) -> Path:
    path = tmp_path / "wetrun.toml"
    path.write_text(example_wetrun(), encoding="utf-8")
    return path


def flat(text: str) -> str:
    """Text without its line breaks, as a reader takes it in."""
    return " ".join(text.split())


def test_a_failed_machine_is_a_result_and_no_error(run: Run, demo: Path) -> None:
    ran = run("prove", demo)
    assert ran.code == 0
    assert ran.err == ""
    said = flat(ran.out)
    head = said[: said.index("Verdicts")]
    assert "The flow meter reads 4." in head
    assert "tip 23" in head
    assert "tip 58" in head
    assert "UNDECIDED" in said
    assert "720 → 749" in said
    assert "pulses per US gal (pulses per amount)" in said
    assert "not a statutory inspection" in said
    assert "Never clear a tip by mouth" in said


def test_what_is_new_is_what_is_proved(run: Run, tmp_path: Path) -> None:
    assert run("new", "wetrun.toml").code == 0
    ran = run("prove", "wetrun.toml")
    assert (ran.code, ran.err) == (0, "")
    assert "nothing that was tested is beyond its limit" in flat(ran.out)
    again = run("new", "wetrun.toml")
    assert again.code == 6
    assert "there already" in again.err


def test_json_holds_every_verdict_with_its_evidence(run: Run, demo: Path) -> None:
    ran = run("prove", demo, "--json")
    assert ran.code == 0
    result = json.loads(ran.out)
    assert result["format_version"] == 1
    assert result["verdict"] == "fail"
    meter = next(line for line in result["evidence"] if line["thing"] == "error of the flow meter")
    assert 0.03 < meter["value"] < 0.05
    assert meter["expanded"] > 0.0
    assert meter["rule"]
    assert meter["source"]
    assert [tip["tip"] for tip in result["tips_to_change"]] == [23, 58]
    assert len(result["all_tips"]) == 72
    assert result["new_numbers"][0]["enter"] == "750"
    assert result["unseen"]
    assert {words for shown in result["unseen_shown_by"] for words in shown["shows"]} == set(result["unseen"])


def test_json_holds_every_reading_and_balance_and_the_second_way(run: Run, demo: Path) -> None:
    result = json.loads(run("prove", demo, "--json").out)
    readings, balances = result["readings"], result["balances"]
    checked = [reading for reading in readings if reading["deviate"] is not None]
    meter = next(reading for reading in checked if reading["reading"].startswith("flow meter"))
    assert meter["beyond"] == (meter["deviate"] > meter["limit"])
    assert meter["off_ratio"] == pytest.approx(meter["value"] / meter["becomes"] - 1.0)
    assert all(balance["checked_by"] and balance["limit"] > 1.9 for balance in balances)
    assert any(balance["reading"].startswith("flow meter") and balance["beyond"] for balance in balances)
    second = result["second_route"]
    assert second["ends"] == "ends at the same"
    assert any("the flow meter" in step["without"] for step in second["steps"])
    assert all(step["statistic"] <= step["limit"] for step in second["steps"][-1:])
    assert second["words"].rstrip(".") in " ".join(run("prove", demo).out.split())


def test_units_of_the_reader(run: Run, demo: Path) -> None:
    us, si = run("prove", demo).out, run("prove", demo, "--units", "si").out
    assert "mph" in us
    assert "psi" in us
    table = si[si.index("Verdicts") : si.index("Next steps")]
    assert "km/h" in table
    assert " bar" in table
    assert not re.search(r"± [0-9.]+ (mph|psi|ft)\b", table)


def test_a_second_run_shows_what_changed(run: Run, demo: Path, tmp_path: Path) -> None:
    later = demo.with_name("later.toml")
    lines = demo.read_text(encoding="utf-8").splitlines()
    pulses = [n for n, line in enumerate(lines) if line.startswith("pulses = ") and "{" not in line]
    assert len(pulses) == 4
    for n in pulses:  # the meter has been mended: 4 % fewer pulses for the same weight
        lines[n] = f"pulses = {round(int(lines[n].split('=')[1]) / 1.04)}"
    later.write_text("\n".join(lines), encoding="utf-8")
    ran = run("prove", later, "--since", demo)
    assert ran.code == 0
    said = flat(ran.out)
    changed = said[said.index("Since the earlier run") : said.index("Caution")]
    assert "error of the flow meter" in changed
    assert "speed by GPS" not in changed


def test_the_day_is_planned_for_the_minutes_there_are(run: Run, demo: Path) -> None:
    short, long = run("prove", "--minutes", "20", demo), run("prove", "--minutes", "120", demo)
    assert short.code == long.code == 0
    assert "Stays unproven" in short.out
    tests = [len(re.findall(r"^ +[0-9]\. ", ran.out, re.MULTILINE)) for ran in (short, long)]
    assert tests[0] < tests[1]
    plan = json.loads(run("prove", "--minutes", "45", demo, "--json").out)
    assert plan["after_frac"] < plan["before_frac"]
    assert plan["time_s"] <= 45 * 60


def test_a_slip_comes_back_as_a_question(run: Run, example: Path) -> None:
    text = example.read_text(encoding="utf-8")
    row = re.search(r"readings = \[ .*\n(.*?)\n", text)
    assert row is not None
    third = row[1].split(",")[2].strip()
    parts = row[1].split(",")
    parts[2] = f" {float(third) * 10:.0f}"
    example.write_text(text.replace(row[1], ",".join(parts), 1), encoding="utf-8")
    ran = run("prove", example)
    assert ran.code == 0
    said = flat(ran.out)
    assert "Questions about the readings; nothing was corrected" in said
    assert "Tip 3" in said
    assert "1 question about the readings must be answered first" in said


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('length = "300 ft"', "length = 300", "course.length"),
        ('fitted = "iso-11004-ff"', 'fitted = "nothing"', "tips.fitted"),
        ("format_version = 1", "format_version = 9", "format_version"),
        ('title = "Spring wet run"', 'title = "no end', "line"),
    ],
)
def test_a_broken_file_is_told_by_key_and_remedy(run: Run, example: Path, old: str, new: str, key: str) -> None:
    text = example.read_text(encoding="utf-8")
    assert old in text
    example.write_text(text.replace(old, new, 1), encoding="utf-8")
    ran = run("prove", example)
    assert ran.code == 2
    assert ran.out == ""
    assert key in ran.err
    assert "wetrun.toml" in ran.err
    assert "Traceback" not in ran.err


def test_two_machines_are_not_compared(run: Run, demo: Path, example: Path) -> None:
    ran = run("prove", example, "--since", demo)
    assert ran.code == 3
    assert "same machine" in ran.err


def test_out_writes_the_evidence_sheet(run: Run, demo: Path, tmp_path: Path) -> None:
    ran = run("prove", demo, "--out", "sheets", "--paper", "a4")
    assert ran.code == 0
    written = list((tmp_path / "sheets").glob("*.pdf"))
    assert len(written) == 1
    assert written[0].read_bytes().startswith(b"%PDF")
    assert f"Written: sheets/{written[0].name}" in flat(ran.out)
