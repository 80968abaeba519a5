"""Every command once, as a person would run it."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from tests.cli.conftest import SOURCE, Run

SECONDS = 400


def log_text(*, target: float = 15.0) -> str:
    """A metric-free little log: a straight run at 10 mph, then at 13, half the boom off in between."""
    rows = io.StringIO()
    table = csv.writer(rows)
    table.writerow(["time (s)", "distance (ft)", "swath width (ft)", "target rate (gal/ac)", "applied rate (gal/ac)"])
    for second in range(SECONDS):
        speed_fts = 14.6667 if second < SECONDS / 2 else 19.0667
        width = 45 if 180 <= second < 200 else 90
        table.writerow([second, round(speed_fts, 3), width, target, round(target * 1.01, 3)])
    return rows.getvalue()


@pytest.fixture
def season(run: Run, tmp_path: Path) -> Path:
    """The commented example, written by the command that writes it."""
    assert run("new", "season.toml").code == 0
    return tmp_path / "season.toml"


def test_help_names_every_command(run: Run) -> None:
    shown = run("--help")
    assert shown.code == 0
    assert all(f"  {name} " in shown.out for name in ("plan", "replay", "new", "log", "tips"))


@pytest.mark.parametrize("words", [["--help"], ["plan", "--help"], ["log", "inspect", "--help"], ["tips", "--help"]])
def test_help_imports_nothing_heavy(words: list[str]) -> None:
    script = (
        "import sys\nfrom wetrun.cli.app import app\n"
        f"try:\n    app({words!r})\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'scipy', 'numba', 'pint', 'typst'} & set(sys.modules)\n"
        "print('HEAVY', sorted(heavy))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], env={"PYTHONPATH": str(SOURCE)}, capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("HEAVY []\n")


def test_planning_over_a_small_log_never_imports_numba(season: Path, tmp_path: Path) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    script = (
        "import sys\nfrom wetrun.cli.app import app\n"
        f"app(['plan', {str(season)!r}, '--log', {str(tmp_path / 'small.csv')!r}, '--json'], standalone_mode=False)\n"
        "print('NUMBA', 'numba' in sys.modules)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], env={"PYTHONPATH": str(SOURCE)}, capture_output=True, text=True, check=True
    )
    assert done.stdout.endswith("NUMBA False\n")


def test_a_plan_tells_of_its_changeovers_and_a_better_order(run: Run, season: Path) -> None:
    shown = run("plan", season)
    assert "Burndown → Nitrogen before planting (maize): clean out. Contact herbicide A, left by" in shown.out
    assert "needs 0 instead of 2." in shown.out
    order = json.loads(run("plan", season, "--json").out)["order_of_passes"]
    assert order["as_planned"]["clean_outs"] == 2
    assert order["better"]["passes"][0] == "Nitrogen before planting"
    assert order["as_planned"]["changes"][0]["residues"][0]["reason"] == "risky on the crop"
    text = season.read_text(encoding="utf-8")
    silent = [line for line in text.splitlines() if not line.startswith(("risky_on", "risky_words"))]
    season.write_text("\n".join(silent), encoding="utf-8")
    untyped = run("plan", season)
    assert untyped.out.count("Changeovers: nobody typed") == 1
    assert "clean out" not in untyped.out
    assert json.loads(run("plan", season, "--json").out)["order_of_passes"]["better"] is None


def test_a_plan_opens_with_the_answer_and_the_field_s_speeds(run: Run, season: Path) -> None:
    shown = run("plan", season)
    assert shown.code == 0, shown.err
    lines = shown.out.splitlines()
    assert "hold" in lines[1]
    assert "% of your" in lines[1]
    first_pass = next(at for at, line in enumerate(lines) if line.startswith("=="))
    assert lines[first_pass + 1].startswith("Speeds by area")
    assert "By number of sets:" in lines


def test_a_plan_as_json_says_the_same_in_si(run: Run, season: Path, tmp_path: Path) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    shown = run("plan", season, "--log", "small.csv", "--json")
    assert shown.code == 0, shown.err
    plan = json.loads(shown.out)
    assert plan["format_version"] == 1
    assert {one["evidence"]["kind"] for one in plan["passes"]} == {"field log"}
    for one in plan["passes"]:
        assert 0 <= one["held"]["lower_frac"] <= one["held"]["upper_frac"] <= 1
        for reading in one["readings"]:
            lost = sum(reason["share_frac"] for reason in reading["lost"])
            assert lost + reading["held"]["lower_frac"] == pytest.approx(1.0, abs=0.01)


def test_one_log_for_one_pass_leaves_the_others_on_their_stated_speeds(run: Run, season: Path, tmp_path: Path) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    plan = json.loads(run("plan", season, "--log", "Burndown=small.csv", "--json").out)
    kinds = {one["pass"]: one["evidence"]["kind"] for one in plan["passes"]}
    assert kinds.pop("Burndown") == "field log"
    assert set(kinds.values()) == {"stated speeds"}


@pytest.mark.parametrize(("units", "paper", "width_pt"), [("us", "letter", 612), ("si", "a4", 595)])
def test_papers_are_written_in_both_systems_and_sizes(
    run: Run, season: Path, tmp_path: Path, units: str, paper: str, width_pt: int
) -> None:
    shown = run("plan", season, "--units", units, "--paper", paper, "--out", "papers")
    assert shown.code == 0, shown.err
    written = sorted(path.name for path in (tmp_path / "papers").iterdir())
    assert "tip-plan.pdf" in written
    assert any(name.startswith("cab-card-") for name in written)
    assert any(name.endswith("-us.svg") for name in written)
    assert any(name.endswith("-si.svg") for name in written)
    assert all(f"papers/{name}" in shown.out.replace("\\", "/") for name in written)
    pages = PdfReader(tmp_path / "papers" / "tip-plan.pdf").pages
    assert round(float(pages[0].mediabox.width)) == width_pt


def test_a_replay_sets_prediction_beside_what_came_out_and_says_why_they_differ(
    run: Run, season: Path, tmp_path: Path
) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    shown = run("replay", season, "small.csv", "--pass", "Burndown", "--json")
    assert shown.code == 0, shown.err
    replays = json.loads(shown.out)["replays"]
    assert [one["rate_m3pm2"] is None for one in replays] == [False, True]
    own = replays[1]
    assert own["logged_within_frac"] == 1.0
    assert "need not agree" in own["why_they_differ"]
    for reading in own["readings"]:
        parts = reading["held_cm2"] + reading["below_cm2"] + reading["above_cm2"]
        assert parts == reading["total_cm2"]
    text = run("replay", season, "small.csv", "--pass", "Burndown", "--tip", "iso-11006-ff").out
    assert "iso-11006-ff in Burndown" in text
    assert "What really came out" in text


def test_inspect_shows_counts_speeds_repairs_and_doubts(run: Run, tmp_path: Path) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    shown = run("log", "inspect", "small.csv")
    assert shown.code == 0, shown.err
    assert f"{SECONDS} rows, {SECONDS} instants" in shown.out
    assert "Speed at 1, 5, 25, 50, 75, 95, 99 of 100" in shown.out
    plain = json.loads(run("log", "inspect", "small.csv", "--json").out)["logs"][0]["logs"][0]["driven"]
    assert (plain["rows"], plain["instants"], plain["backward_steps"]) == (SECONDS, SECONDS, 0)


def test_inspect_says_of_a_log_without_times_that_it_has_none(run: Run, tmp_path: Path) -> None:
    points = "".join(f'<trkpt lat="{50 + nth / 1e5}" lon="10"/>' for nth in range(173))
    (tmp_path / "track.gpx").write_text(f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>", encoding="utf-8")
    shown = run("log", "inspect", "track.gpx").out
    assert "\n173 records without times\n" in shown
    assert " min" not in shown
    assert "gap" not in shown


def test_a_bad_log_among_good_ones_is_told_and_the_rest_go_on(run: Run, tmp_path: Path) -> None:
    (tmp_path / "good.csv").write_text(log_text(), encoding="utf-8")
    (tmp_path / "bad.csv").write_bytes(bytes(range(256)) * 20)
    shown = run("log", "inspect", "bad.csv", "good.csv")
    assert shown.code == 4
    assert "bad.csv" in shown.err
    assert "good.csv" in shown.out


def test_tips_are_listed_checked_and_shown(run: Run, tmp_path: Path) -> None:
    listed = json.loads(run("tips", "list", "--size", "04", "--json").out)["tips"]
    assert {tip["size"] for tip in listed} == {"04"}
    assert all(tip["generic"] for tip in listed)
    assert run("new", "tips.csv").code == 0
    checked = run("tips", "check", "tips.csv")
    assert checked.code == 0, checked.err
    assert "understood" in checked.out
    shown = json.loads(run("tips", "show", "iso-11004-ff", "--carrier", "UAN 28", "--json").out)
    flows = [row["flow_m3s"] for row in shown["rows"]]
    assert flows == sorted(flows)
    assert (tmp_path / "tips.csv").exists()


@pytest.mark.parametrize("name", ["season.toml", "map.toml", "tips.csv"])
def test_new_never_writes_over_a_file(run: Run, tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine", encoding="utf-8")
    refused = run("new", name)
    assert refused.code == 6
    assert "already" in refused.err
    assert (tmp_path / name).read_text(encoding="utf-8") == "mine"


def test_the_example_map_is_a_map(run: Run, tmp_path: Path) -> None:
    from wetrun.fieldlog.readers.mapping import mapping_in

    assert run("new", "map.toml").code == 0
    mapping = mapping_in(tmp_path / "map.toml")
    assert {"time", "distance", "target_rate"} <= set(mapping.columns)


NO_SPEEDS = """\
format_version = 1
title = "Speeds to come"
[customer]
name = "Somebody"
[machine]
name = "90 ft"
[machine.boom]
spacing = "20 in"
sections = [18, 18, 18]
[machine.control]
loop = "flow meter"
[[pass]]
name = "one"
crop = "corn"
area = "100 ac"
first = 2031-04-01
last = 2031-04-30
carrier = "water"
rate = "15 gal/ac"
"""


@pytest.mark.parametrize("given", ["small.csv", "one=small.csv"])
def test_a_log_on_the_command_line_stands_for_speeds_nobody_typed(run: Run, tmp_path: Path, given: str) -> None:
    (tmp_path / "season.toml").write_text(NO_SPEEDS, encoding="utf-8")
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    refused = run("plan", "season.toml")
    assert refused.code == 2
    assert '--log "one=FILE"' in refused.err
    assert run("plan", "season.toml", "--log", given).code == 0
    assert run("replay", "season.toml", "small.csv").code == 0


def by_pass(plan: dict[str, Any]) -> dict[str, Any]:
    """The passes of a plan in JSON, by name."""
    return {one["pass"]: one for one in plan["passes"]}


def test_a_log_given_twice_counts_once(run: Run, season: Path, tmp_path: Path) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    twice = ("--log", "Burndown=small.csv", "--log", f"Burndown={tmp_path / 'small.csv'}")
    plan = json.loads(run("plan", season, *twice, "--json").out)
    burndown = by_pass(plan)["Burndown"]
    assert burndown["evidence"]["logs"] == ["small.csv"]


def test_what_a_log_leaves_open_is_said_on_screen_and_in_json(run: Run, season: Path, tmp_path: Path) -> None:
    bare = log_text().replace("(gal/ac)", "").replace("swath width (ft)", "swath width (m)")
    (tmp_path / "bare.csv").write_text(bare, encoding="utf-8")
    plan = json.loads(run("plan", season, "--log", "Burndown=bare.csv", "--json").out)
    burndown = by_pass(plan)["Burndown"]
    said = " ".join(burndown["log_doubts"])
    assert "its rates have no unit" in said
    assert "times as wide as this machine's" in said
    shown = run("plan", season, "--log", "Burndown=bare.csv").out.replace("\n", " ")
    assert "its rates have no unit" in shown


def test_a_full_width_below_what_was_on_is_refused(run: Run, season: Path, tmp_path: Path) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    narrow = 'format_version = 1\n[boom]\nfull_width = { value = 60, unit = "ft" }\n'
    (tmp_path / "map.toml").write_text(narrow, encoding="utf-8")
    refused = run("plan", season, "--log", "small.csv", "--map", "map.toml")
    assert refused.code == 4
    assert "full width" in refused.err


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("--pass", "Nope"), "Nope"),
        (("--pass", "Burndown", "--tip", "iso-11006-f"), "iso-11006-ff"),
    ],
)
def test_a_mistyped_name_is_the_user_s_to_correct(
    run: Run, season: Path, tmp_path: Path, words: tuple[str, ...], name: str
) -> None:
    (tmp_path / "small.csv").write_text(log_text(), encoding="utf-8")
    refused = run("replay", season, "small.csv", *words)
    assert refused.code == 2
    assert name in refused.err


def test_the_exact_replay_lies_inside_the_bracket_the_plan_shows(run: Run, tmp_path: Path) -> None:
    """Every pass of the demo that has a log, at the planned rate and the same speeds."""
    demo = SOURCE.parent / "demo"
    for part in ("season.toml", "tips.csv", "log_map.toml", "make_logs.py"):
        (tmp_path / part).write_bytes((demo / part).read_bytes())
    subprocess.run(
        [sys.executable, tmp_path / "make_logs.py"], env={"PYTHONPATH": str(SOURCE)}, check=True, capture_output=True
    )
    plan = json.loads(run("plan", "season.toml", "--json").out)
    checked = 0
    for one in plan["passes"]:
        if one["evidence"]["kind"] != "field log" or one["tip_set"] is None:
            continue
        log = tmp_path / "logs" / one["evidence"]["logs"][0]
        replays = json.loads(run("replay", "season.toml", log, "--pass", one["pass"], "--json").out)["replays"]
        same = replays[0]
        assert same["tip"] == one["tip_set"]["tip"]
        if same["rate_m3pm2"] != pytest.approx(one["rate_m3pm2"]):
            continue
        reading = one["readings"][0]["held"]
        held = same["readings"][0]["held_cm2"] / same["readings"][0]["total_cm2"]
        assert reading["lower_frac"] - 1e-9 <= held <= reading["upper_frac"] + 1e-9, one["pass"]
        checked += 1
    assert checked >= 1
