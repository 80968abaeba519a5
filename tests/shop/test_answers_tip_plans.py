"""Tip plans from records: the command line's own numbers, kept as they were, and told when they no longer stand."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_user
from tests.shop_files import SMALL_MAP, make_log, make_map, make_small_season, small_log_text

from wetrun.documents.season_file import read_season
from wetrun.errors import InputProblems
from wetrun.fieldlog.readers.mapping import mapping_in
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.tallied import tallied_in_pieces
from wetrun.fleet import tally_task
from wetrun.fleet.reading import reading_of
from wetrun.papers.extras import Extras
from wetrun.papers.plan_data import plan_data
from wetrun.papers.reader import Reader
from wetrun.planning.over_logs import report_over_logs, turn_questions
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.files import season_text
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.tip_plans import (
    digest_of,
    keep_plan,
    parts_of_seasons,
    standing_of,
    standing_plan,
    stands,
    tip_plan_of,
)
from wetrun.shop.records.models import ColumnMap, Season, TipPlan, Trail
from wetrun.shop.records.models.base import Frozen

pytestmark = pytest.mark.django_db


@pytest.fixture
def season(branch: Branch) -> Season:
    return make_small_season(branch)


def logged(season: Season) -> Season:
    """The small season with a log that its first pass names, and no stated speeds there."""
    make_map(season.branch)
    make_log(season.machine)
    first = season.document["pass"][0]
    del first["speeds"]
    first |= {"logs": ["logs/drive.csv"], "log_map": "map.toml"}
    season.save()
    return season


def test_the_plan_of_a_record_is_that_of_the_command_line_number_by_number(season: Season, tmp_path: Path) -> None:
    logged(season)
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "drive.csv").write_text(small_log_text(), encoding="utf-8")
    (tmp_path / "map.toml").write_text(SMALL_MAP, encoding="utf-8")
    (tmp_path / "season.toml").write_text(season_text(season), encoding="utf-8")
    file = read_season(tmp_path / "season.toml")
    question = turn_questions(file.season)["Spring"]
    reading = reading_of(file.log_paths["Spring"][0], ReadRequest(mapping_in(tmp_path / "map.toml")))
    logs = {"Spring": tuple(tallied_in_pieces(pieces, (question,)) for pieces in reading.logs)}
    report = report_over_logs(file.season, file.catalogue, logs, file="season.toml")
    plan = tip_plan_of(season)
    for system, kept in ((System.US, plan.in_us), (System.SI, plan.in_si)):
        wanted = plain(plan_data(report, Reader(system), Extras(typed=file.typed, shop=season.branch.name)))
        notes = [one.pop("evidence") for one in wanted["passes"]]
        ours = [{key: value for key, value in one.items() if key != "evidence"} for one in kept["passes"]]
        assert ours == wanted.pop("passes")
        assert {key: kept[key] for key in wanted} == wanted
        assert [one["evidence"][: len(note)] for one, note in zip(kept["passes"], notes, strict=True)] == notes
    proposed = report.plan.proposed
    assert (plan.held_low_frac, plan.held_high_frac) == (proposed.held.lower_frac, proposed.held.upper_frac)
    assert plan.sets == len(proposed.tip_sets)
    assert sum(one["count"] for one in plan.parts) == proposed.tips_to_buy


def test_what_is_kept_comes_back_as_it_was_made(season: Season) -> None:
    plan = keep_plan(tip_plan_of(season), None)
    kept = TipPlan.objects.get(pk=plan.pk)
    assert kept.in_us == json.loads(json.dumps(plan.in_us)) == plan.in_us
    assert kept.inputs == plan.inputs
    assert [card["name"] for card in kept.in_si["cards"]] == ["Spring", "Flag leaf"]
    assert all(lane.startswith("<svg") for lane in kept.in_us["lanes"])


def test_a_log_is_tallied_once_however_often_it_is_planned_over(
    season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    logged(season)
    first = tip_plan_of(season)

    def never(*_: object) -> None:
        raise AssertionError("tallied again")

    monkeypatch.setattr(tally_task, "tallied_entry", never)
    season.document["pass"][1]["rate"] = "210 L/ha"
    again = tip_plan_of(season)
    assert first.inputs["ledgers"] == again.inputs["ledgers"] != {}


def test_a_log_that_cannot_be_used_is_told_and_the_plan_goes_on(season: Season) -> None:
    make_log(season.machine, "no log at all", season=season, passes=["Spring"], column_map="")
    evidence = tip_plan_of(season).in_us["passes"][0]["evidence"]
    assert any("drive.csv" in words for words in evidence)
    del season.document["pass"][0]["speeds"]
    with pytest.raises(InputProblems, match="neither speeds nor a log"):
        tip_plan_of(season)


def test_a_new_plan_takes_the_place_of_the_one_before_and_changes_nothing_of_it(season: Season, branch: Branch) -> None:
    by = make_user(branch)
    first = keep_plan(tip_plan_of(season), by)
    before: dict[str, Any] = dict(TipPlan.objects.filter(pk=first.pk).values().get())
    season.document["pass"][0]["rate"] = "150 L/ha"
    season.save()
    second = keep_plan(tip_plan_of(season), by)
    after: dict[str, Any] = dict(TipPlan.objects.filter(pk=first.pk).values().get())
    assert after.pop("replaced_at") is not None
    before.pop("replaced_at")
    assert after == before
    assert standing_plan(season) == second
    assert Trail.objects.filter(kind="Season", by=by).count() == 2


def test_what_a_plan_says_is_never_written_over(season: Season) -> None:
    plan = TipPlan.objects.get(pk=keep_plan(tip_plan_of(season), None).pk)
    plan.agreed_at = timezone.now()
    plan.save()
    plan.in_us = plan.in_us | {"answer": "Another"}
    with pytest.raises(Frozen):
        plan.save()
    assert TipPlan.objects.get(pk=plan.pk).in_us["answer"] != "Another"


def test_a_plan_stands_until_something_it_rests_on_changes(season: Season) -> None:
    logged(season)
    plan = keep_plan(tip_plan_of(season), None)
    assert stands(plan, season).up_to_date
    season.title = "Called otherwise"  # beside the document: no number rests on it
    assert stands(plan, season).up_to_date
    season.document["pass"][0]["rate"] = "190 L/ha"
    season.document["pass"][1]["name"] = "Flag"
    season.machine.document["tank"] = "900 L"
    season.machine.customer.name = "Three Creeks"
    make_log(season.machine, small_log_text(300), name="more.csv", season=season, passes=["Flag"], column_map="")
    assert stands(plan, season).changed == (
        "The machine was changed.",
        "The customer is called otherwise.",
        "Pass “Flag” is new.",
        "Pass “Flag leaf” is no longer there.",
        "Pass “Spring” was changed.",
        "Log logs/more.csv counts for “Flag” now.",
    )


def test_a_replaced_tip_file_or_map_is_named(season: Season) -> None:
    logged(season)
    parts = parts_of_seasons([season])[season.pk]
    plan = TipPlan(season=season, digest=digest_of(season), inputs={"parts": parts})
    ColumnMap.objects.update(replaced_at=timezone.now())
    make_map(season.branch, SMALL_MAP + "\n# newer\n")
    assert stands(plan, season).changed == ("The file map.toml was replaced.",)


def test_an_older_wetrun_s_plan_is_out_of_date(season: Season) -> None:
    parts = parts_of_seasons([season])[season.pk]
    plan = TipPlan(season=season, digest="another", inputs={"parts": parts | {"wetrun": "0.0.9"}})
    (words,) = stands(plan, season).changed
    assert words.startswith("It was worked out by Wetrun 0.0.9; this is ")


def test_whether_many_plans_stand_is_asked_in_as_many_queries_as_for_one(
    branch: Branch, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(5):
        one = make_small_season(branch)
        one.machine.document["name"] = f"Number {number + 10}"
        one.machine.save()
    seasons = list(Season.objects.select_related("machine__customer"))
    with django_assert_num_queries(1):
        parts = parts_of_seasons(seasons)  # no tip file and no map is named: only the logs are looked for
    assert len({json.dumps(each) for each in parts.values()}) == 5
    plan = TipPlan(digest="", inputs={})
    assert not standing_of(plan, parts[seasons[0].pk]).up_to_date


def test_progress_rises_and_says_what_is_done(season: Season) -> None:
    told: list[tuple[float, str]] = []
    tip_plan_of(logged(season), progress=lambda share, words: told.append((share, words)))
    assert [words for _, words in told] == ["reading drive.csv", "choosing tips", "writing it down"]
    assert [share for share, _ in told] == sorted(share for share, _ in told)


def test_the_parts_are_what_the_plan_has_bought(season: Season) -> None:
    season.machine.document["owned"] = []
    plan = tip_plan_of(season)
    (row,) = plan.parts
    assert (row["count"], row["cost_cents"]) == (24, None)
    (printed,) = plan.in_us["parts"]
    assert printed["tip"] == row["words"]
    assert "24" in printed["count"]
