"""Whose log is whose: folders named as season files, passes, maps of columns, copies, and what belongs to nobody."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from bench.made_time_log import driven, header_text, log_bytes, write_task_data
from tests.fleet_cases import write_log, write_season

from wetrun.errors import InputProblems
from wetrun.fleet.log_sets import log_set_of, log_sets_in
from wetrun.fleet.machines import Fleet, Machine, fleet_in
from wetrun.fleet.tally_task import LogTask, outcome_of
from wetrun.fleet.work import work_of

MAP = "format_version = 1\n"


def fleet(root: Path) -> Fleet:
    (root / "logs").mkdir(exist_ok=True)
    return fleet_in([root / "seasons"], root / "logs")


def logs_of(machine: Machine, root: Path) -> dict[str, list[str]]:
    return {
        ident: [log.log_set.path.relative_to(root / "logs").as_posix() for log in logs]
        for ident, logs in machine.logs.items()
    }


def test_a_folder_named_as_the_season_file_holds_its_logs_wherever_it_stands(tmp_path: Path) -> None:
    write_season(tmp_path / "seasons" / "east branch", "North Farm no. 7")
    write_season(tmp_path / "seasons", "south")
    for name in ("north-farm_No7/a.csv", "north-farm_No7/2031/b.csv", "west/South/c.csv", "stray.csv", "who/d.csv"):
        write_log(tmp_path / "logs" / name, len(name))
    found = fleet(tmp_path)
    by_name = {machine.name: logs_of(machine, tmp_path) for machine in found.machines}
    north = ["north-farm_No7/2031/b.csv", "north-farm_No7/a.csv"]
    assert by_name["North Farm no. 7"] == {"Burndown": north, "Post": north}
    assert by_name["south"] == {"Burndown": ["west/South/c.csv"], "Post": ["west/South/c.csv"]}
    assert [path.relative_to(tmp_path / "logs").as_posix() for path in found.unmatched] == ["stray.csv", "who/d.csv"]


def test_a_pass_s_folder_is_for_that_pass_and_the_rest_for_those_that_have_none(tmp_path: Path) -> None:
    write_season(tmp_path / "seasons", "north")
    write_log(tmp_path / "logs" / "north" / "burn-down" / "a.csv", 1)
    write_log(tmp_path / "logs" / "north" / "b.csv", 2)
    machine = fleet(tmp_path).machines[0]
    assert logs_of(machine, tmp_path) == {"Burndown": ["north/burn-down/a.csv"], "Post": ["north/b.csv"]}


def test_logs_named_in_the_season_file_count_and_one_that_is_not_there_is_refused_alone(tmp_path: Path) -> None:
    season = write_season(tmp_path / "seasons", "north")
    text = season.read_text(encoding="utf-8").replace(
        'rate = "20 gal/ac"\n', 'rate = "20 gal/ac"\nlogs = ["a.csv", "b.csv"]\n'
    )
    season.write_text(text, encoding="utf-8")
    write_log(tmp_path / "seasons" / "a.csv", 1)
    write_log(tmp_path / "logs" / "north" / "c.csv", 2)
    machine = fleet(tmp_path).machines[0]
    assert [log.log_set.path.name for log in machine.logs["Post"]] == ["a.csv", "b.csv"]
    assert [log.log_set.path.name for log in machine.logs["Burndown"]] == ["c.csv"]
    tasks = work_of([machine], cache=tmp_path / "cache").tasks
    refused = {log.log_set.path.name: outcome_of(task).refused for log, task in tasks.items()}
    assert refused["b.csv"].startswith("b.csv: it cannot be read (no such file or directory)")
    assert (refused["a.csv"], refused["c.csv"]) == ("", "")


def test_the_nearest_map_of_columns_holds(tmp_path: Path) -> None:
    write_season(tmp_path / "seasons", "north")
    for name in ("north/a.csv", "north/old terminal/b.csv"):
        write_log(tmp_path / "logs" / name, len(name))
    for folder in ("", "north/old terminal"):
        (tmp_path / "logs" / folder / "map.toml").write_text(MAP, encoding="utf-8")
    maps = {log.log_set.path.name: log.column_map for log in fleet(tmp_path).machines[0].logs["Post"]}
    assert maps["a.csv"] == tmp_path / "logs" / "map.toml"
    assert maps["b.csv"] == tmp_path / "logs" / "north" / "old terminal" / "map.toml"


def test_a_map_that_does_not_fit_refuses_its_logs_with_everything_wrong_in_it(tmp_path: Path) -> None:
    path = write_log(tmp_path / "a.csv", 1)
    wrong = tmp_path / "map.toml"
    wrong.write_text('format_version = 9\n[columns]\nspeed = { column = "x", unit = "furlong" }\n', encoding="utf-8")
    outcome = outcome_of(LogTask(path=path, parts=(path,), column_map=wrong, questions=(), cache=tmp_path / "c"))
    assert len(outcome.refused.splitlines()) == 2
    assert "format_version" in outcome.refused
    assert "furlong" in outcome.refused


def test_every_mistake_of_every_season_is_told_and_the_others_go_on(tmp_path: Path) -> None:
    write_season(tmp_path / "seasons", "good")
    bad = write_season(tmp_path / "seasons", "bad")
    text = bad.read_text(encoding="utf-8")
    bad.write_text(text.replace('"400 ac"', '"400 parsecs"').replace('"15 psi"', '"high"'), encoding="utf-8")
    (tmp_path / "seasons" / "torn.toml").write_text("title = [", encoding="utf-8")
    (tmp_path / "seasons" / "wetrun.toml").write_text('format_version = 1\npass = "Post"\n', encoding="utf-8")
    (tmp_path / "seasons" / "map.toml").write_text(MAP, encoding="utf-8")
    write_log(tmp_path / "logs" / "bad" / "a.csv", 1)
    found = fleet(tmp_path)
    assert [machine.name for machine in found.machines] == ["good"]
    wrong = {one.file: one.sentences for one in found.wrong}
    assert sorted(wrong) == ["bad.toml", "torn.toml"]
    assert len(wrong["bad.toml"]) == 2
    assert found.unmatched == ()  # they have a machine; its file only has to be mended


def test_two_seasons_of_one_name_are_both_told(tmp_path: Path) -> None:
    for branch in ("east", "west"):
        write_season(tmp_path / "seasons" / branch, "North-12" if branch == "east" else "north 12")
    found = fleet(tmp_path)
    assert found.machines == ()
    assert [one.file for one in found.wrong] == ["North-12.toml", "north 12.toml"]
    assert "Rename one of them" in found.wrong[0].sentences[0]


@pytest.mark.parametrize("missing", ["seasons", "logs"])
def test_a_folder_that_is_not_there_is_the_user_s_to_correct(tmp_path: Path, missing: str) -> None:
    for folder in {"seasons", "logs"} - {missing}:
        (tmp_path / folder).mkdir()
    with pytest.raises(InputProblems, match=f"{missing}: there is no such"):
        fleet_in([tmp_path / "seasons"], tmp_path / "logs")


def test_without_a_season_there_is_nothing_to_do(tmp_path: Path) -> None:
    (tmp_path / "seasons").mkdir()
    with pytest.raises(InputProblems, match="there is no season file"):
        fleet(tmp_path)


def task_data(folder: Path) -> Path:
    header = header_text("ABD", ['A="008D" B="" C="DET-1"'])
    return write_task_data(folder, {"TLG00001": (header, log_bytes(driven(300, values=1), "ABD"))})


def test_the_files_of_a_set_are_one_log(tmp_path: Path) -> None:
    root = tmp_path / "logs"
    task_data(root / "one" / "TASKDATA")
    task_data(root / "outer")
    task_data(root / "outer" / "inner")
    for ending in (".shp", ".SHX", ".dbf", ".prj", ".csv"):
        (root / f"field{ending}").write_bytes(b"x")
    (root / "__MACOSX").mkdir()
    for junk in ("._field.csv", ".hidden", "__MACOSX/a.csv", "map.toml", "letter.pdf"):
        (root / junk).write_bytes(b"x")
    with zipfile.ZipFile(root / "sent.zip", "w") as sent:
        sent.writestr("TASKDATA.XML", "x")
    found = {one.path.relative_to(root).as_posix(): [part.name for part in one.parts] for one in log_sets_in(root)}
    task = ["TASKDATA.XML", "TLG00001.bin", "TLG00001.xml"]
    assert found == {
        "field.csv": ["field.csv"],
        "field.shp": ["field.SHX", "field.dbf", "field.prj", "field.shp"],
        "one/TASKDATA/TASKDATA.XML": task,
        "outer/TASKDATA.XML": task,
        "outer/inner/TASKDATA.XML": task,
        "sent.zip": ["sent.zip"],
    }
    assert [part.name for part in log_set_of(root / "outer" / "TASKDATA.XML").parts] == task
    assert log_set_of(root / "absent.csv").parts == (root / "absent.csv",)


def test_a_change_in_any_file_of_a_set_is_another_log(tmp_path: Path) -> None:
    folder = task_data(tmp_path / "TASKDATA")
    found = log_set_of(folder / "TASKDATA.XML")

    def key() -> str:
        task = LogTask(path=found.path, parts=found.parts, column_map=None, questions=(), cache=tmp_path / "cache")
        outcome = outcome_of(task)
        assert not outcome.refused, outcome.refused
        return outcome.key

    before = key()
    main = folder / "TASKDATA.XML"
    main.write_bytes(main.read_bytes() + b"\n")
    assert key() != before
