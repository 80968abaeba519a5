"""`wetrun fleet` as a person runs it: the same plan as `wetrun plan`, everything not used told, nothing read twice."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data
from tests.cli.conftest import Run
from tests.fleet_cases import write_log, write_season

from wetrun.cli.fleet_files import told_csv
from wetrun.cli.fleet_notes import Driven, shared_drives
from wetrun.cli.fleet_progress import FleetProgress
from wetrun.cli.plain_fleet import NotUsed
from wetrun.fleet.tally_task import LogOutcome

LOGGED = ['A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"']
ON = ((0, 1_500_000), (1, -43), (2, 5000))
MACHINES = ("north", "south")


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two machines: one with a text log, its copy and task data, one with a bad log; a mistake, a stranger."""
    root = tmp_path_factory.mktemp("fleet")
    for name in MACHINES:
        write_season(root / "seasons", name)
    write_log(root / "logs" / "North" / "a.csv", 1)
    shutil.copy(root / "logs" / "North" / "a.csv", root / "logs" / "North" / "b.csv")
    drive = [MadeRecord(one.ms, one.day, one.position, ON) for one in driven(400, values=0)]
    good = header_text("ABD", LOGGED), log_bytes(drive, "ABD")
    logs = {"TLG00001": good, "TLG00002": (good[0][:-9], good[1])}
    write_task_data(root / "logs" / "North" / "TASKDATA", logs)
    write_log(root / "logs" / "south" / "c.csv", 7)
    (root / "logs" / "south" / "bad.csv").write_bytes(b"\0\1\2")
    write_log(root / "logs" / "stranger" / "d.csv", 3)
    bad = write_season(root / "seasons", "west")
    bad.write_text(bad.read_text(encoding="utf-8").replace('"400 ac"', '"400 parsecs"'), encoding="utf-8")
    return root


def command(root: Path) -> list[str | Path]:
    return [
        "fleet",
        root / "seasons",
        root / "logs",
        "--cache",
        root / "cache",
        "--out",
        root / "out",
        "--workers",
        "2",
    ]


def rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


def test_a_fleet_plans_each_machine_as_plan_does_and_lists_what_it_cannot(run: Run, root: Path) -> None:
    told = run(*command(root))
    assert told.code == 0, told.err
    said = " ".join(told.out.split())
    assert (
        "2 of 3 machines planned, 4 logs used, 1 refused, 1 in no machine's folder, 1 season file with mistakes."
        in said
    )
    assert "1 drive there twice, counted once" in said
    for name in MACHINES:
        plan = json.loads((root / "out" / f"fleet-plan-{name}.json").read_text(encoding="utf-8"))
        assert plan == plan_over(run, root, name)
    check_lists(root)
    again = json.loads(run(*command(root), "--json").out)
    assert [one["name"] for one in again["machines"]] == list(MACHINES)
    north = again["machines"][0]
    assert [log["path"] for log in north["logs"]] == ["North/TASKDATA/TASKDATA.XML", "North/a.csv", "North/b.csv"]
    assert north["plan"] == json.loads((root / "out" / "fleet-plan-north.json").read_text(encoding="utf-8"))
    assert len((root / "out" / "fleet-journal.jsonl").read_text(encoding="utf-8").splitlines()) == 4


def plan_over(run: Run, root: Path, name: str) -> dict[str, Any]:
    """What `wetrun plan` says over the same logs."""
    logs = {"north": ("North/TASKDATA", "North/a.csv", "North/b.csv"), "south": ("south/c.csv",)}[name]
    words = [word for log in logs for word in ("--log", root / "logs" / log)]
    planned = run("plan", root / "seasons" / f"{name}.toml", *words, "--json")
    assert planned.code == 0, planned.err
    found: dict[str, Any] = json.loads(planned.out)
    return found


def check_lists(root: Path) -> None:
    """The parts list adds up to what the plans need; what was not used stands there with its sentence."""
    plans = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((root / "out").glob("fleet-plan-*.json"))]
    wanted = [
        one["tips_to_buy"]
        for plan in plans
        for option in plan["options"]
        if option["most_sets"] == plan["proposed_sets"]
        for one in option["sets"]
    ]
    parts = rows(root / "out" / "fleet-parts.csv")
    assert sorted(int(row["count"]) for row in parts) == sorted(wanted)
    assert {row["machine"] for row in parts} == set(MACHINES)
    found = {
        (row["kind"], row["machine"], row["path"]): row["sentence"] for row in rows(root / "out" / "fleet-not-used.csv")
    }
    assert "parsecs" in found["season", "", "west.toml"]
    assert found["log", "", "stranger/d.csv"].startswith("It lies in no machine's folder")
    assert found["log", "south", "south/bad.csv"].startswith("bad.csv")
    assert "cut off" in found["part of a log", "north", "North/TASKDATA/TASKDATA.XML"]
    assert found["copy", "north", "North/TASKDATA"] == "b.csv: the same drive as a.csv; counted once."


def test_a_pass_nobody_knows_a_speed_of_leaves_its_machine_out_and_says_so(run: Run, tmp_path: Path) -> None:
    write_season(tmp_path / "seasons", "north")
    (tmp_path / "logs").mkdir()
    told = run("fleet", "seasons", "logs", "--cache", "cache")
    assert told.code == 2, told.err
    assert "0 of 1 machine planned" in told.out
    assert "No log." in told.out
    assert "stated speeds alone" not in told.out
    assert "north.toml: pass Burndown: neither speeds nor a log say how fast it is driven" in " ".join(told.out.split())
    assert run("fleet", "nowhere", "logs").code == 2


def test_a_fleet_none_of_whose_logs_can_be_used_ends_with_the_number_of_a_refused_log(run: Run, tmp_path: Path) -> None:
    write_season(tmp_path / "seasons", "north")
    (tmp_path / "logs" / "north").mkdir(parents=True)
    (tmp_path / "logs" / "north" / "bad.csv").write_bytes(b"\0\1\2")
    told = run("fleet", "seasons", "logs", "--cache", "cache", "--workers", "1")
    assert told.code == 4, told.err
    assert "No log (1 refused)." in told.out
    assert run("fleet", "seasons", "logs", "--cache", "cache", "--workers", "1", "--json").code == 4
    bad = write_season(tmp_path / "seasons", "west")
    bad.write_text("[[pass]]\n", encoding="utf-8")
    assert run("fleet", "seasons", "logs", "--cache", "cache", "--workers", "1").code == 2


def test_doubts_and_a_drive_of_two_machines_are_told_on_screen_in_a_table_and_as_json(run: Run, tmp_path: Path) -> None:
    for name in MACHINES:
        write_season(tmp_path / "seasons", name)
    write_log(tmp_path / "logs" / "north" / "a.csv", 1)
    write_log(tmp_path / "logs" / "south" / "own.csv", 2)
    shutil.copy(tmp_path / "logs" / "north" / "a.csv", tmp_path / "logs" / "south" / "b.csv")
    made = [MadeRecord(one.ms, one.day, {**one.position, "D": 8}, ON) for one in driven(400, values=0)]
    logs = {"TLG00001": (header_text("ABD", LOGGED), log_bytes(made, "ABD"))}
    write_task_data(tmp_path / "logs" / "north" / "TASKDATA", logs)
    words = ["fleet", "seasons", "logs", "--cache", "cache", "--workers", "1", "--out", "out"]
    told = run(*words)
    assert told.code == 0, told.err
    said = " ".join(told.out.split())
    task = "north/TASKDATA/TASKDATA.XML"
    assert "of 2 logs with doubts" in said.split("== south")[0]
    assert "== Logs to look at ==" in said
    assert f"not to plan by (north) {task} – " in said
    assert "two machines (north) north/a.csv – the very same drive is that of south (south/b.csv)" in said
    assert "two machines (south) south/b.csv – the very same drive is that of north (north/a.csv)" in said
    found = rows(tmp_path / "out" / "fleet-notes.csv")
    bad = next(one for one in found if one["kind"] == "not to plan by")
    assert bad["path"] == task
    assert "simulated on 100" in bad["sentence"]
    assert [one["machine"] for one in found if one["kind"] == "two machines"] == list(MACHINES)
    notes = json.loads(run(*words, "--json").out)["notes"]
    assert notes == [{name: one[name] for name in ("kind", "machine", "path", "sentence")} for one in found]


def test_a_drive_is_told_once_for_each_machine_and_a_machine_s_own_copies_are_not() -> None:
    same = [
        Driven("a", "north", "north/a.csv"),
        Driven("a", "north", "north/b.csv"),
        Driven("b", "south", "south/c.csv"),
    ]
    assert shared_drives(same) == ()
    three = [Driven("a", name, f"{name}.csv") for name in ("east", "north", "south")]
    assert [one.machine for one in shared_drives(three)] == ["east", "north", "south"]
    assert "that of north (north.csv), south (south.csv), and" in shared_drives(three)[0].sentence


def test_a_cluster_s_address_is_looked_at_before_anything_else(run: Run) -> None:
    told = run("fleet", "nowhere", "nothing", "--cluster", "192.168.1.20:8786")
    assert told.code == 2
    assert told.err.startswith("--cluster is 192.168.1.20:8786: tcp:// or tls:// is missing in front")


def test_a_name_that_would_be_a_formula_stays_a_text() -> None:
    table = told_csv([NotUsed("log", "=1+1", "a.csv", "x")]).decode("utf-8-sig")
    assert "'=1+1" in table


def test_progress_tells_rates_of_what_was_read_and_the_time_left() -> None:
    now = [0.0]
    progress = FleetProgress(10, 100_000_000, clock=lambda: now[0])
    assert progress.words() == "0 of 10 logs"
    progress.done(50_000_000, LogOutcome(key="a", known=True))
    now[0] = 10.0
    progress.done(20_000_000, LogOutcome(key="b"))
    assert progress.words() == "2 of 10 logs, 1 known before, 6 logs/min, 2.0 MB/s, 0:15 min left"
    progress.done(10_000_000, LogOutcome(refused="bad"))
    assert "1 refused" in progress.words()


def test_where_there_is_no_terminal_a_line_comes_now_and_then(capsys: pytest.CaptureFixture[str]) -> None:
    now = [0.0]
    with FleetProgress(100, 100, clock=lambda: now[0]) as progress:
        for _ in range(100):
            now[0] += 1.0
            progress.done(1, LogOutcome(key="a"))
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(",")[0] for line in lines] == ["30 of 100 logs", "60 of 100 logs", "90 of 100 logs"]
