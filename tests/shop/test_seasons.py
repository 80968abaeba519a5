"""A season on its pages: begun, typed pass by pass, never lost, never mixed up."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop.form_reading import sent_by
from tests.shop_cases import make_catalogue, make_season, small_season

from wetrun.shop.accounts.models import Branch
from wetrun.shop.records.models import Machine, Season, Trail


def form_of(answer: Any) -> dict[str, Any]:
    """What a browser would send of a page nobody touched."""
    posted = sent_by(answer.content.decode().split("<main")[1])
    return {name: posted.getlist(name) if len(posted.getlist(name)) > 1 else posted[name] for name in posted}


def test_a_season_is_begun_with_a_title_and_goes_on_with_its_first_pass(specialist: Client, machine: Machine) -> None:
    answer = specialist.post(f"/machines/{machine.pk}/seasons/new/", {"title": "Season 2028", "units": "us"})
    season = Season.objects.get()
    assert answer["Location"] == f"/seasons/{season.pk}/passes/1/"
    assert season.document == {"format_version": 1, "title": "Season 2028", "units": "us"}
    assert season.problems > 0
    page = specialist.get(f"/seasons/{season.pk}/").content.decode()
    assert "stand in the way of a plan" in page or "stands in the way of a plan" in page


def test_a_pass_sent_back_untouched_is_the_same_to_the_letter(specialist: Client, machine: Machine) -> None:
    make_catalogue(machine.branch)
    season = make_season(machine)
    before = season.document
    for nth in range(1, len(before["pass"]) + 1):
        address = f"/seasons/{season.pk}/passes/{nth}/"
        answer = specialist.post(address, form_of(specialist.get(address)))
        assert answer.status_code == 302
    season.refresh_from_db()
    assert season.document == before


def test_a_typed_pass_is_kept_as_typed_and_a_bare_number_takes_the_unit_at_its_field(
    specialist: Client, branch: Branch
) -> None:
    season = small_season(branch)
    address = f"/seasons/{season.pk}/passes/1/"
    typed = form_of(specialist.get(address))
    name = next(key for key, value in typed.items() if value == "15 gal/ac")
    specialist.post(address, typed | {name: "17,5"})
    season.refresh_from_db()
    assert season.document["pass"][0]["rate"] == "17,5 gal/ac"
    assert season.document["pass"][0]["first"] == date(2027, 4, 15)
    line = Trail.objects.filter(kind="Season", key=str(season.pk)).latest("pk")
    assert line.before["pass"][0]["rate"] == "15 gal/ac"
    assert line.after["pass"][0]["rate"] == "17,5 gal/ac"


def test_a_wrong_pass_keeps_what_was_typed_and_says_so_at_its_field_and_may_be_kept_unfinished(
    specialist: Client, branch: Branch
) -> None:
    season = small_season(branch)
    address = f"/seasons/{season.pk}/passes/1/"
    typed = form_of(specialist.get(address))
    name = next(key for key, value in typed.items() if value == "15 gal/ac")
    page = specialist.post(address, typed | {name: "15 psi"})
    assert page.status_code == 200
    assert 'value="15 psi"' in page.content.decode()
    season.refresh_from_db()
    assert season.document["pass"][0]["rate"] == "15 gal/ac"
    specialist.post(address, typed | {name: "15 psi", "unfinished": "yes"})
    season.refresh_from_db()
    assert season.document["pass"][0]["rate"] == "15 psi"
    assert season.problems == 1


def test_a_name_another_pass_has_is_told_at_its_field(specialist: Client, branch: Branch) -> None:
    season = small_season(branch)
    specialist.post(f"/seasons/{season.pk}/passes/1/move/", {"do": "copy", "version": "1"})
    address = f"/seasons/{season.pk}/passes/2/"
    typed = form_of(specialist.get(address))
    name = next(key for key, value in typed.items() if value == "Burndown 2")
    page = specialist.post(address, typed | {name: "Burndown"}).content.decode()
    assert "has the same name" in page


@pytest.mark.parametrize(
    ("do", "names"),
    [("up", ["B", "A", "C"]), ("down", ["A", "C", "B"]), ("out", ["A", "C"]), ("copy", ["A", "B", "B 2", "C"])],
)
def test_a_pass_is_moved_copied_and_taken_out(specialist: Client, branch: Branch, do: str, names: list[str]) -> None:
    season = small_season(branch)
    (one,) = season.document["pass"]
    season.document["pass"] = [one | {"name": name} for name in "ABC"]
    season.save()
    specialist.post(f"/seasons/{season.pk}/passes/2/move/", {"do": do, "version": str(season.version)})
    season.refresh_from_db()
    assert [each["name"] for each in season.document["pass"]] == names


def test_of_two_who_change_a_season_the_second_is_told_and_sees_both(specialist: Client, branch: Branch) -> None:
    season = small_season(branch)
    address = f"/seasons/{season.pk}/passes/1/"
    typed = form_of(specialist.get(address))
    name = next(key for key, value in typed.items() if value == "15 gal/ac")
    specialist.post(address, typed | {name: "16 gal/ac"})
    page = specialist.post(address, typed | {name: "18 gal/ac"}).content.decode()
    season.refresh_from_db()
    assert season.document["pass"][0]["rate"] == "16 gal/ac"
    assert 'value="18 gal/ac"' in page
    assert "Somebody else changed" in page


def test_title_plan_and_water_change_and_the_passes_stay(specialist: Client, branch: Branch) -> None:
    season = small_season(branch)
    address = f"/seasons/{season.pk}/edit/"
    typed = form_of(specialist.get(address))
    name = next(key for key, value in typed.items() if value == "Small season")
    specialist.post(address, typed | {name: "Smaller season"})
    season.refresh_from_db()
    assert season.title == season.document["title"] == "Smaller season"
    assert list(season.document) == ["format_version", "title", "units", "plan", "pass"]


def test_a_season_put_away_can_be_taken_out_again(specialist: Client, branch: Branch) -> None:
    season = small_season(branch)
    for put_away in (True, False):
        specialist.post(f"/seasons/{season.pk}/put-away/")
        season.refresh_from_db()
        assert (season.put_away_at is not None) == put_away


def test_strangers_find_no_season_and_viewers_change_none(stranger: Client, viewer: Client, branch: Branch) -> None:
    season = small_season(branch)
    assert stranger.get(f"/seasons/{season.pk}/").status_code == 404
    assert stranger.post(f"/seasons/{season.pk}/passes/1/", {}).status_code == 404
    page = viewer.get(f"/seasons/{season.pk}/")
    assert page.status_code == 200
    assert "<button" not in page.content.decode().split("<main")[1]
    assert viewer.get(f"/seasons/{season.pk}/passes/1/").status_code == 403


@pytest.mark.parametrize("count", [1, 40])
def test_a_season_s_page_asks_as_often_for_many_passes_as_for_one(
    specialist: Client, branch: Branch, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    season = small_season(branch)
    (one,) = season.document["pass"]
    season.document["pass"] = [one | {"name": f"Pass {n}"} for n in range(count)]
    season.save()
    specialist.get(f"/seasons/{season.pk}/")
    with django_assert_num_queries(8):
        specialist.get(f"/seasons/{season.pk}/")
