"""Field logs on their pages: handed in once, read by the worker, told with repairs and doubts."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from tests.shop_cases import LOG_MAP, log_text, small_season

from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers.field_logs import keep_reading_of, read_log
from wetrun.shop.answers.tip_plans import tip_plan_of
from wetrun.shop.jobs.models import Job
from wetrun.shop.records.models import ColumnMap, FieldLog, Season


@pytest.fixture
def season(branch: Branch) -> Season:
    ColumnMap.objects.create(branch=branch, name="log_map.toml", text=LOG_MAP)
    return small_season(branch)


def handed_in(client: Client, of: Season, *texts: str, **more: Any) -> Any:
    files = [SimpleUploadedFile(f"field {n}.csv", text.encode()) for n, text in enumerate(texts, start=1)]
    typed = {"sent": files, "season": of.pk, "column_map": "log_map.toml"} | more
    return client.post(f"/machines/{of.machine_id}/logs/new/", typed)


def test_a_log_is_kept_as_it_came_and_read_by_a_job(specialist: Client, season: Season) -> None:
    answer = handed_in(specialist, season, log_text())
    log = FieldLog.objects.get()
    assert answer["Location"] == f"/logs/{log.pk}/"
    assert Job.objects.get(kind="field log").args["log"] == log.pk
    given = specialist.get(f"/logs/{log.pk}/file/")
    assert b"".join(given.streaming_content).decode() == log_text()  # type: ignore[attr-defined]
    assert "field" not in log.stored


def test_a_log_that_was_read_is_told_and_counts_in_the_plan(specialist: Client, season: Season) -> None:
    handed_in(specialist, season, log_text())
    log = FieldLog.objects.get()
    read_log(log)
    keep_reading_of(log)
    page = specialist.get(f"/logs/{log.pk}/").content.decode()
    assert "Speeds, mph" in page
    assert "Repaired" in page or "Left out" in page or "300" in page
    plan = tip_plan_of(season)
    assert "field 1.csv" in str(plan.in_us["passes"][0]["evidence"])


def test_the_same_file_again_is_not_counted_twice(specialist: Client, season: Season) -> None:
    handed_in(specialist, season, log_text())
    page = handed_in(specialist, season, log_text(), log_text(100)).headers
    assert page["Location"].startswith("/logs/")
    assert FieldLog.objects.count() == 2


def test_a_file_that_is_no_log_is_kept_and_told_why_it_cannot_be_used(specialist: Client, season: Season) -> None:
    handed_in(specialist, season, "dear shop,\nhere is my log\n")
    log = FieldLog.objects.get()
    read_log(log)
    keep_reading_of(log)
    page = specialist.get(f"/logs/{log.pk}/").content.decode()
    assert log.state == "refused"
    assert "It cannot be used" in page


def test_a_log_is_told_for_which_passes_it_stands(specialist: Client, season: Season) -> None:
    handed_in(specialist, season, log_text())
    log = FieldLog.objects.get()
    typed = {"season": season.pk, "passes": ["Burndown"], "column_map": ""}
    specialist.post(f"/logs/{log.pk}/", typed)
    log.refresh_from_db()
    assert (log.passes, log.column_map, log.state) == (["Burndown"], "", "waiting")
    page = specialist.post(f"/logs/{log.pk}/", {"passes": ["Burndown"]}).content.decode()
    assert "Choose the season" in page


def test_a_log_taken_away_counts_no_more(specialist: Client, season: Season) -> None:
    handed_in(specialist, season, log_text())
    log = FieldLog.objects.get()
    specialist.post(f"/logs/{log.pk}/take-away/", follow=True)
    assert "field 1.csv" not in specialist.get(f"/machines/{season.machine_id}/").content.decode()
    plan = tip_plan_of(season)
    assert "field 1.csv" not in str(plan.in_us["passes"][0]["evidence"])


def test_no_file_or_another_s_season_is_told_at_its_field(
    specialist: Client, season: Season, other_branch: Branch
) -> None:
    page = specialist.post(f"/machines/{season.machine_id}/logs/new/", {"season": season.pk}).content.decode()
    assert page.count('class="wrong-words"') == 1
    strange = small_season(other_branch)
    page = handed_in(specialist, season, log_text(), season=strange.pk).content.decode()
    assert "wrong-words" in page
    assert not FieldLog.objects.exists()


def test_strangers_find_no_log_and_viewers_hand_none_in(
    stranger: Client, viewer: Client, specialist: Client, season: Season
) -> None:
    handed_in(specialist, season, log_text())
    log = FieldLog.objects.get()
    assert stranger.get(f"/logs/{log.pk}/").status_code == 404
    assert stranger.get(f"/logs/{log.pk}/file/").status_code == 404
    assert viewer.get(f"/logs/{log.pk}/").status_code == 200
    assert handed_in(viewer, season, log_text(50)).status_code == 403
    assert FieldLog.objects.count() == 1
