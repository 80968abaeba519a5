"""ISO 11783-10 task data on the command line: looked into, planned by, replayed, refused with a sentence."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data
from tests.cli.conftest import Run

LOGGED = ['A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"']
ALL_ON = -43  # sections 1 to 3 on, 4 to 16 not there
ON = ((0, 1_870_000), (1, ALL_ON), (2, 5000))


@pytest.fixture
def task_data(tmp_path: Path) -> Path:
    drive = [MadeRecord(one.ms, one.day, one.position, ON) for one in driven(400, values=0)]
    good = header_text("ABD", LOGGED), log_bytes(drive, "ABD")
    return write_task_data(tmp_path / "TASKDATA", {"TLG00001": good, "TLG00002": (good[0][:-9], good[1])})


def test_inspect_says_machine_records_speeds_boom_and_what_was_left_out(run: Run, task_data: Path) -> None:
    told = run("log", "inspect", str(task_data), "--units", "si")
    assert told.code == 0
    plain = " ".join(told.out.split())
    assert "ISO 11783-10 time log, version 4.1; machines described: sprayer; time logs: 1 read, 1 not." in plain
    assert "400 records over 1.3 min with 1,200 values; 0 gaps" in plain
    assert "logged: 18.0, 18.0, 18.0, 18.0, 18.0, 18.0, 18.0 km/h" in plain
    assert "Sections: 3 ids in 1 group (1, 2, 3); full width 23" in plain
    assert "Applied rate at 5, 25, 50, 75, 95 of 100: 187.0, 187.0, 187.0, 187.0, 187.0 L/ha" in plain
    assert "Left out: TLG00002.xml, line 1: the XML is cut off" in plain
    assert "values are held until written again: states 600 s at most, others 60 s" in plain


def test_inspect_as_json_has_the_same_in_si(run: Run, task_data: Path) -> None:
    (told,) = json.loads(run("log", "inspect", str(task_data), "--json").out)["logs"]
    (log,) = told["logs"]
    assert (log["name"], log["kind"], log["missing"]) == ("TLG00001", "sprayer", "")
    assert log["records"]["records"] == 400
    assert log["driven"]["full_width_m"] == pytest.approx(23.0)
    assert log["driven"]["area_m2"] == pytest.approx(399 * 23.0)
    assert log["driven"]["rates"][0]["percentiles_m3pm2"] == pytest.approx([187e-7] * 7)
    assert told["refused"][0]["file"] == "TLG00002.xml"


def test_a_plan_and_a_replay_take_task_data_as_a_log(run: Run, task_data: Path) -> None:
    assert run("new", "season.toml").code == 0
    planned = run("plan", "season.toml", "--log", str(task_data), "--json")
    assert planned.code == 0, planned.err
    assert "TASKDATA TLG00001" in planned.out
    replayed = run("replay", "season.toml", str(task_data), "--pass", "Burndown", "--tip", "iso-11006-ff")
    assert replayed.code == 0, replayed.err


def test_an_empty_folder_is_refused_with_what_to_give(run: Run, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    refused = run("log", "inspect", str(tmp_path / "empty"))
    assert refused.code == 4
    assert "the folder or zip the terminal wrote" in " ".join(refused.err.split())
