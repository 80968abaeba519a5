"""The commands over a real log: 32 % UAN, 100 ft boom, one row per section (open data, MIT; see its provenance)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.conftest import Run

SEASON = """\
format_version = 1
title = "Nitrogen on the open log"
units = "us"

[customer]
name = "Nobody"

[machine]
name = "100 ft, 7 sections"

[machine.boom]
spacing = "20 in"
sections = [12, 6, 9, 6, 9, 6, 12]

[machine.control]
loop = "flow meter"
hold = { pressure = "15 psi" }

[[pass]]
name = "as driven"
crop = "wheat"
area = "115 ac"
first = 2031-04-01
last = 2031-04-30
carrier = "UAN 32"
rate = "37 gal/ac"
logs = ["LOG"]
log_map = "map.toml"

[[pass]]
name = "lighter"
crop = "wheat"
area = "115 ac"
first = 2031-05-01
last = 2031-05-30
carrier = "UAN 32"
rate = "25 gal/ac"
logs = ["LOG"]
log_map = "map.toml"
"""


@pytest.fixture
def season(run: Run, tmp_path: Path, real_log_path: Path) -> Path:
    """A season on the real log; the example column map fits it as it is."""
    assert run("new", "map.toml").code == 0
    path = tmp_path / "season.toml"
    path.write_text(SEASON.replace("LOG", real_log_path.as_posix()), encoding="utf-8")
    return path


def test_inspect_reports_rows_instants_sections_and_clock_steps_apart(
    run: Run, season: Path, real_log_path: Path
) -> None:
    shown = run("log", "inspect", real_log_path, "--map", season.parent / "map.toml")
    assert shown.code == 0, shown.err
    assert "183,239 rows, 27,857 instants" in shown.out
    assert "1 backward clock step" in shown.out
    assert "14 ids in 2 groups" in shown.out
    told = run("log", "inspect", real_log_path, "--map", season.parent / "map.toml", "--json")
    plain = json.loads(told.out)["logs"][0]["logs"][0]["driven"]
    assert (plain["rows"], plain["instants"], plain["backward_steps"]) == (183_239, 27_857, 1)
    assert [len(group) for group in plain["section_groups"]] == [7, 7]


def test_replay_prints_what_came_out_beside_its_own_prediction(run: Run, season: Path, real_log_path: Path) -> None:
    """93.6 ± 0.5 % of the area really within 5 % of the logged target; demanded flow within 3 % of the logged one."""
    shown = run("replay", season, real_log_path, "--pass", "as driven")
    assert shown.code == 0, shown.err
    assert "93.6 % of the area within" in shown.out.replace("\n", " ")
    assert "need not agree" in shown.out
    own = json.loads(run("replay", season, real_log_path, "--pass", "as driven", "--json").out)["replays"][1]
    assert own["logged_within_frac"] == pytest.approx(0.936, abs=0.005)
    for demanded, logged in zip(own["boom_flow_demanded_m3s"], own["boom_flow_logged_m3s"], strict=True):
        assert demanded == pytest.approx(logged, rel=0.03)


def test_a_rate_unlike_the_log_s_is_read_twice_and_the_worse_counts(run: Run, season: Path) -> None:
    plan = json.loads(run("plan", season, "--json").out)
    by_name = {one["pass"]: one for one in plan["passes"]}
    assert [reading["reading"] for reading in by_name["as driven"]["readings"]] == ["same speed"]
    lighter = by_name["lighter"]
    assert [reading["reading"] for reading in lighter["readings"]] == ["same speed", "same boom flow"]
    lowest = min(reading["held"]["lower_frac"] for reading in lighter["readings"])
    assert lighter["held"]["lower_frac"] == pytest.approx(lowest, abs=1e-9)
