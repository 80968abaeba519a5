"""Tip plans on their pages: the numbers of the core, out of date said, agreed once, never edited."""

from __future__ import annotations

import io
from typing import Any

import pytest
from django.test import Client
from pypdf import PdfReader
from tests.shop_cases import small_season

from wetrun.documents.season_file import SeasonFile
from wetrun.papers.extras import Extras
from wetrun.papers.plan_data import plan_data
from wetrun.papers.reader import Reader
from wetrun.planning.over_logs import report_over_logs
from wetrun.quantity import System
from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.answers.seasons import season_file_of
from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of
from wetrun.shop.jobs.models import Job
from wetrun.shop.records.models import Season, TipPlan


@pytest.fixture
def season(branch: Branch) -> Season:
    return small_season(branch)


@pytest.fixture
def plan(season: Season) -> TipPlan:
    return keep_plan(tip_plan_of(season), None)


def core_says(file: SeasonFile, system: System) -> dict[str, Any]:
    report = report_over_logs(file.season, file.catalogue, {}, file="season.toml")
    return plan_data(report, Reader(system), Extras(typed=file.typed))


@pytest.mark.parametrize("system", list(System))
def test_the_page_shows_what_the_core_says(specialist: Client, season: Season, plan: TipPlan, system: System) -> None:
    User.objects.update(units=system.value)
    page = specialist.get(f"/seasons/{season.pk}/tip-plan/").content.decode()
    said = core_says(season_file_of(season), system)
    (one,) = said["passes"]
    assert str(said["answer"]) in page
    assert one["held"] in page
    assert one["window"] in page
    assert one["set"]["words"] in page
    for rung in one["ladder"]:
        assert rung["flow"] in page
    assert one["lane_svg"][:200] in page


def test_a_plan_is_asked_for_once_however_often_the_button_is_pressed(specialist: Client, season: Season) -> None:
    for _ in range(2):
        answer = specialist.post(f"/seasons/{season.pk}/tip-plan/")
        assert answer.status_code == 302
    job = Job.objects.get(kind="tip plan")
    assert job.args["season"] == season.pk


def test_no_plan_is_asked_for_while_something_is_not_right(specialist: Client, season: Season) -> None:
    season.document["pass"][0]["rate"] = "15 psi"
    season.save()
    page = specialist.post(f"/seasons/{season.pk}/tip-plan/").content.decode()
    assert not Job.objects.exists()
    assert "stands in the way" in page


def test_a_plan_whose_season_was_changed_says_so(specialist: Client, season: Season, plan: TipPlan) -> None:
    assert "Out of date" not in specialist.get(f"/seasons/{season.pk}/tip-plan/").content.decode()
    season.document["pass"][0]["rate"] = "17 gal/ac"
    season.save()
    page = specialist.get(f"/seasons/{season.pk}/tip-plan/").content.decode()
    assert "Out of date" in page


def test_a_new_plan_takes_the_place_of_the_old_one_which_stays_as_it_was(
    specialist: Client, season: Season, plan: TipPlan
) -> None:
    season.document["pass"][0]["rate"] = "10 gal/ac"
    season.save()
    keep_plan(tip_plan_of(season), None)
    old = TipPlan.objects.get(pk=plan.pk)
    assert old.replaced_at is not None
    assert old.in_us == plan.in_us
    assert "15.0 gal/ac" in specialist.get(f"/tip-plans/{plan.pk}/").content.decode()
    page = specialist.get(f"/seasons/{season.pk}/tip-plans/").content.decode()
    assert page.count("/tip-plans/") == 2


def test_the_customer_agrees_once_and_only_to_the_plan_that_stands(
    specialist: Client, season: Season, plan: TipPlan
) -> None:
    specialist.post(f"/tip-plans/{plan.pk}/agree/")
    plan.refresh_from_db()
    agreed = plan.agreed_at
    assert agreed is not None
    specialist.post(f"/tip-plans/{plan.pk}/agree/")
    plan.refresh_from_db()
    assert plan.agreed_at == agreed
    keep_plan(tip_plan_of(season), None)
    TipPlan.objects.filter(pk=plan.pk).update(agreed_at=None)
    assert specialist.post(f"/tip-plans/{plan.pk}/agree/").status_code == 403


def test_plan_and_card_are_handed_out_as_papers_with_the_same_numbers(specialist: Client, plan: TipPlan) -> None:
    for address, words in (
        (f"/tip-plans/{plan.pk}/tip-plan.pdf", plan.in_us["passes"][0]["window"]),
        (f"/tip-plans/{plan.pk}/cards/1.pdf", "15 gal/ac"),
    ):
        answer = specialist.get(address)
        assert answer["Content-Type"] == "application/pdf"
        pages = PdfReader(io.BytesIO(b"".join(answer.streaming_content))).pages  # type: ignore[attr-defined]
        assert words in " ".join(" ".join(page.extract_text() for page in pages).split())
    assert specialist.get(f"/tip-plans/{plan.pk}/cards/2.pdf").status_code == 404


def test_what_if_answers_other_numbers_and_keeps_nothing(specialist: Client, season: Season, plan: TipPlan) -> None:
    address = f"/seasons/{season.pk}/what-if/"
    as_planned = specialist.get(address).content.decode()
    assert plan.in_us["passes"][0]["window"] in as_planned
    slower = specialist.get(address, {"rate": "10"}).content.decode()
    assert "10.0 gal/ac" in slower
    wrong = specialist.get(address, {"rate": "10 psi"}).content.decode()
    assert "That cannot be worked out" in wrong
    assert 'value="10 psi"' in wrong
    season.refresh_from_db()
    assert season.document["pass"][0]["rate"] == "15 gal/ac"
    assert specialist.get(address, {"pass": "no such pass"}).status_code == 404


def test_strangers_find_no_plan_and_viewers_make_none(
    stranger: Client, viewer: Client, season: Season, plan: TipPlan
) -> None:
    assert stranger.get(f"/tip-plans/{plan.pk}/").status_code == 404
    assert stranger.get(f"/tip-plans/{plan.pk}/tip-plan.pdf").status_code == 404
    assert viewer.get(f"/seasons/{season.pk}/tip-plan/").status_code == 200
    assert viewer.post(f"/seasons/{season.pk}/tip-plan/").status_code == 403
    assert "<button" not in viewer.get(f"/seasons/{season.pk}/tip-plan/").content.decode().split("<main")[1]
