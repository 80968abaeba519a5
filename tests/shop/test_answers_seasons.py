"""A season's record read as its file would be: the same files beside each other, the same sentences, and no way out."""

from __future__ import annotations

import os
import tomllib
from datetime import date, datetime
from pathlib import Path

import pytest
from django.conf import settings
from tests.shop_cases import make_branch, make_catalogue, make_season
from tests.shop_files import SMALL_SEASON, make_log, make_map, make_small_season

from wetrun.documents.season_file import read_season
from wetrun.errors import InputProblems
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.bench import bench
from wetrun.shop.answers.file_names import wrong_with
from wetrun.shop.answers.laid_out import season_laid_out
from wetrun.shop.answers.season_logs import uses_of_logs
from wetrun.shop.answers.seasons import dates_of, problems_of_season, season_file_of
from wetrun.shop.records.models import Machine

pytestmark = pytest.mark.django_db


def test_a_record_reads_to_the_same_season_as_its_file(branch: Branch, tmp_path: Path) -> None:
    (tmp_path / "season.toml").write_text(SMALL_SEASON, encoding="utf-8")
    by_file = read_season(tmp_path / "season.toml")
    by_record = season_file_of(make_small_season(branch))
    assert by_record.season == by_file.season
    assert by_record.typed == by_file.typed
    assert by_record.units == by_file.units


def test_the_tip_file_a_season_names_is_the_branch_s_own(machine: Machine) -> None:
    season = make_season(machine)
    (problem,) = problems_of_season(season)
    assert (problem.key, problem.limit) == ("plan.catalogue", "there is no such file")
    make_catalogue(make_branch("South yard"))
    assert len(problems_of_season(season)) == 1
    make_catalogue(machine.branch)
    assert problems_of_season(season) == ()
    assert {"saltlick-06-ai"} <= {tip.ident for tip in season_file_of(season).catalogue}


def test_everything_wrong_is_told_at_once_in_the_loader_s_sentences(branch: Branch) -> None:
    season = make_small_season(branch)
    season.document["pass"][0]["rate"] = "200 L/hat"
    season.document["pass"][1]["after"] = "Winter"
    del season.machine.document["boom"]["spacing"]
    assert [problem.key for problem in problems_of_season(season)] == [
        "machine.boom.spacing",
        "pass[1].rate (“Spring”)",
        "pass[2].after (“Flag leaf”)",
    ]


@pytest.mark.parametrize(
    ("name", "limit"),
    [
        ("tips.csv", ""),
        ("logs/2026/north 40.csv", ""),
        ("Übersicht.csv", ""),
        ("../tips.csv", "it leads out of the folder"),
        ("a/../../b", "it leads out of the folder"),
        ("/etc/passwd", "it is a place on one computer"),
        ("~root/x", "it is a place on one computer"),
        ("C:\\tips.csv", "it holds a character that no file name has everywhere"),
        ("a\0b", "it holds a character that no file name has everywhere"),
        ("a/./b", "a part of it is empty, begins with a dot, or has spaces at its ends"),
        (".ssh/key", "a part of it is empty, begins with a dot, or has spaces at its ends"),
        ("a/b/c/d/e/f", "it has more than 5 parts, or one of more than 120 letters"),
        ("x" * 121, "it has more than 5 parts, or one of more than 120 letters"),
        ("Season.toml", "it is the name of the file itself"),
    ],
)
def test_only_names_that_stay_in_one_folder_are_laid_out(name: str, limit: str) -> None:
    assert wrong_with(name) == limit


@pytest.mark.parametrize("place", ["catalogue", "logs", "log_map"])
def test_a_name_that_leads_out_is_refused_wherever_it_stands(branch: Branch, place: str) -> None:
    season = make_small_season(branch)
    if place == "catalogue":
        season.document["plan"]["catalogue"] = "../../etc/passwd"
    else:
        season.document["pass"][0][place] = ["../x"] if place == "logs" else "../x"
    with pytest.raises(InputProblems, match="leads out of the folder"):
        season_laid_out(season, logs=True)


def test_a_file_and_a_folder_of_one_name_are_refused_before_anything_is_written(branch: Branch) -> None:
    season = make_small_season(branch)
    make_log(season.machine, name="drive.csv", column_map="")
    season.document["plan"]["catalogue"] = "logs"
    make_catalogue(branch, "logs")
    season.document["pass"][0]["logs"] = ["logs/drive.csv"]
    with pytest.raises(InputProblems, match="cannot be the folder of"):
        season_laid_out(season, logs=True)


def test_logs_are_second_names_of_what_was_handed_in_and_are_gone_afterwards(branch: Branch) -> None:
    season = make_small_season(branch)
    make_map(branch)
    log = make_log(season.machine)
    season.document["pass"][0] |= {"logs": ["logs/drive.csv"], "log_map": "map.toml"}
    with bench(season_laid_out(season, logs=True)) as laid:
        assert (laid.folder / "logs" / "drive.csv").samefile(settings.UPLOADS / log.stored)
        assert sorted(path.name for path in laid.folder.iterdir()) == ["logs", "map.toml", "season.toml"]
        read_season(laid.file)
    assert not laid.folder.exists()
    assert (settings.UPLOADS / log.stored).exists()


def test_what_a_killed_process_left_is_cleared_away_a_day_later(branch: Branch) -> None:
    room = settings.UPLOADS.parent / "bench"
    old, young = room / "wetrun-bench-old", room / "wetrun-bench-young"
    for folder in (old, young):
        folder.mkdir(parents=True, exist_ok=True)
    os.utime(old, (0, 0))
    season_file_of(make_small_season(branch))
    assert not old.exists()
    assert young.exists()


def test_a_log_handed_in_for_no_pass_stands_for_every_pass_without_its_own(branch: Branch) -> None:
    season = make_small_season(branch)
    make_map(branch)
    make_log(season.machine)
    given = make_log(season.machine, "b", name="more.csv", season=season)
    season.document["pass"][0] |= {"logs": ["drive.csv"]}
    assert [(use.pass_name, use.name) for use in uses_of_logs(season)] == [
        ("Spring", "drive.csv"),
        ("Flag leaf", "logs/more.csv"),
    ]
    given.passes = ["Spring"]
    given.save()
    assert [(use.pass_name, use.name) for use in uses_of_logs(season)] == [
        ("Spring", "drive.csv"),
        ("Spring", "logs/more.csv"),
    ]
    file = tomllib.loads(season_laid_out(season, logs=True).texts["season.toml"])
    assert file["pass"][0]["logs"] == ["drive.csv", "logs/more.csv"]
    assert file["pass"][0]["log_map"] == "map.toml"
    assert "logs" not in season.document["pass"][1]


def test_two_uploads_of_one_name_lie_beside_each_other(branch: Branch) -> None:
    season = make_small_season(branch)
    for text in ("a", "b"):
        make_log(season.machine, text, season=season, column_map="")
    assert len({use.name for use in uses_of_logs(season)}) == 2
    with bench(season_laid_out(season, logs=True)) as laid:
        assert sorted(path.read_text() for path in (laid.folder / "logs").iterdir()) == ["a", "b"]


def test_a_log_that_was_taken_away_stands_for_nothing(branch: Branch) -> None:
    season = make_small_season(branch)
    make_log(season.machine, season=season, taken_away_at=datetime(2027, 1, 1).astimezone())
    assert uses_of_logs(season) == ()


def test_the_days_of_a_season_are_those_of_its_passes_however_typed(branch: Branch) -> None:
    document = make_small_season(branch).document
    assert dates_of(document) == (date(2027, 4, 1), date(2027, 6, 10))
    document["pass"][0]["first"] = "2027-03-30"
    document["pass"][1]["last"] = "soon"
    assert dates_of(document) == (date(2027, 3, 30), date(2027, 4, 30))
    assert dates_of({"pass": "none"}) == (None, None)
