"""What-ifs on one pass: the plan's own reckoning, told in the reader's units, nothing kept."""

from __future__ import annotations

import pytest
from tests.shop_files import make_log, make_map, make_small_season

from wetrun.papers.reader import Reader
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of
from wetrun.shop.answers.what_ifs import what_if
from wetrun.shop.records.models import Season, TipPlan

pytestmark = pytest.mark.django_db
SI = Reader(System.SI)
SAME = ("window", "ends", "held", "held_bracket", "lost", "ladder", "rate", "what_ifs", "findings", "over")


@pytest.fixture
def season(branch: Branch) -> Season:
    return make_small_season(branch)


@pytest.mark.parametrize("name", ["Spring", "Flag leaf"])
def test_nothing_changed_is_the_plan_s_own_answer(season: Season, name: str) -> None:
    plan = keep_plan(tip_plan_of(season), None)
    planned = next(one for one in plan.in_si["passes"] if one["name"] == name)
    told = what_if(season, name, {}, reader=SI)
    assert told["problems"] == []
    assert {key: told[key] for key in SAME} == {key: planned[key] for key in SAME}


def test_a_changed_pass_is_what_the_plan_of_a_changed_season_says(season: Season) -> None:
    keep_plan(tip_plan_of(season), None)
    told = what_if(season, "Spring", {"rate": "150 L/ha", "fast": "14 km/h", "carrier": "UAN 32"}, reader=SI)
    season.document["pass"][0] |= {"rate": "150 L/ha", "carrier": "UAN 32"}
    season.document["pass"][0]["speeds"]["fast"] = "14 km/h"
    season.document["pass"][0]["fit"] = [told["set"]["ident"]]
    season.document["plan"]["most_sets"] = 2
    wanted = tip_plan_of(season).in_si["passes"][0]
    assert (told["window"], told["held_bracket"], told["carrier"]) == (
        wanted["window"],
        wanted["held_bracket"],
        wanted["carrier"],
    )


def test_another_tip_is_shown_beside_the_plan_s_set(season: Season) -> None:
    plan = keep_plan(tip_plan_of(season), None)
    planned = plan.in_si["passes"][0]["set"]["ident"]
    told = what_if(season, "Spring", {}, tip="iso-11006-ai", reader=SI)
    assert [row["ident"] for row in told["sets"] if row["chosen"]] == ["iso-11006-ai"] == [told["set"]["ident"]]
    assert planned in {row["ident"] for row in told["sets"]}
    assert told["lane_svg"].startswith("<svg")
    assert {row[0] for row in told["lane_rows"]} == {row["words"] for row in told["sets"]}


def test_a_tip_that_cannot_be_used_says_why_and_still_shows_its_speeds(season: Season) -> None:
    season.document["pass"][0]["fit"] = ["air induction"]
    told = what_if(season, "Spring", {}, tip="iso-11004-pre", reader=SI)
    assert told["refused"] == "not among the tips asked for"
    assert "km/h" in told["window"]


@pytest.mark.parametrize(
    ("changes", "tip", "key", "words"),
    [
        ({"rate": "150 L/hat"}, None, "rate", "it has a unit not known here"),
        ({"slow": "20 km/h"}, None, "speeds.slow", "must not be above"),
        ({"carrier": "soup"}, None, "carrier", "soup"),
        ({}, "nothing", "", "there is no such tip"),
    ],
)
def test_what_cannot_be_is_told_at_its_field(
    season: Season, changes: dict[str, str], tip: str | None, key: str, words: str
) -> None:
    told = what_if(season, "Spring", changes, tip, reader=SI)
    assert set(told) == {"problems"}
    assert told["problems"][0]["key"] == key
    assert words in told["problems"][0]["words"]


def test_a_pass_the_season_does_not_have_is_told(season: Season) -> None:
    (problem,) = what_if(season, "Autumn", {}, reader=SI)["problems"]
    assert problem["remedy"] == "It has: Spring, Flag leaf."


def test_mistakes_in_other_passes_are_not_in_the_way(season: Season) -> None:
    season.document["pass"][1] = {"name": "Flag leaf"}
    season.document["pass"][0]["after"] = "Flag leaf"
    assert what_if(season, "Spring", {}, reader=SI)["problems"] == []


def test_the_speeds_of_a_log_count_once_it_was_read_and_typed_ones_instead_of_it(season: Season) -> None:
    make_map(season.branch)
    make_log(season.machine)
    first = season.document["pass"][0]
    del first["speeds"]
    first |= {"logs": ["drive.csv"], "log_map": "map.toml"}
    season.save()
    (problem,) = what_if(season, "Spring", {}, reader=SI)["problems"]
    assert "no log of it has been read yet" in problem["limit"]
    plan = keep_plan(tip_plan_of(season), None)
    told = what_if(season, "Spring", {}, reader=SI)
    assert told["from_log"] == ["drive.csv"]
    assert told["held_bracket"] == plan.in_si["passes"][0]["held_bracket"]
    typed = what_if(season, "Spring", {"slow": "7 km/h", "usual": "9 km/h", "fast": "11 km/h"}, reader=SI)
    assert typed["from_log"] == []
    assert typed["usual"] == "9.0 km/h"


def test_nothing_is_kept(season: Season) -> None:
    before = dict(season.document)
    what_if(season, "Spring", {"rate": "150 L/ha"}, reader=SI)
    assert season.document == before
    assert not TipPlan.objects.exists()
