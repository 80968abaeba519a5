"""Replays on their pages: asked once, shown with map, table and worst places."""

from __future__ import annotations

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from tests.shop_cases import LOG_MAP, log_text, small_season

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.answers.replays import ReplayAsked, replay_of
from wetrun.shop.jobs.models import Job
from wetrun.shop.records.models import ColumnMap, FieldLog, Replay

ASKED = {"pass_name": "Burndown", "tip": "iso-11004-ai", "lag": "0.5 s"}


@pytest.fixture
def log(branch: Branch) -> FieldLog:
    ColumnMap.objects.create(branch=branch, name="log_map.toml", text=LOG_MAP)
    season = small_season(branch)
    text = log_text()
    stored = default_storage.save("logs/aa/replayed.csv", ContentFile(text.encode()))
    return FieldLog.objects.create(
        branch=branch,
        machine=season.machine,
        season=season,
        name="field 1.csv",
        stored=stored,
        column_map="log_map.toml",
        size=len(text),
        sha256=f"{abs(hash(text)):064x}"[:64],
        state="ready",
    )


@pytest.fixture
def replay(log: FieldLog) -> Replay:
    assert log.season is not None
    done = replay_of(log, log.season, ReplayAsked(pass_name=ASKED["pass_name"], tip=ASKED["tip"], lag=ASKED["lag"]))
    done.save()
    return done


def test_a_replay_is_asked_for_once(specialist: Client, log: FieldLog) -> None:
    for _ in range(2):
        answer = specialist.post(f"/logs/{log.pk}/replays/new/", ASKED)
        assert answer["Location"] == f"/logs/{log.pk}/"
    job = Job.objects.get(kind="replay")
    assert (job.args["tip"], job.args["lag"]) == ("iso-11004-ai", "0.5 s")
    assert "iso-11004-ai over field 1.csv" in specialist.get(f"/logs/{log.pk}/").content.decode()


def test_the_page_shows_map_table_and_worst_places_in_the_reader_s_units(specialist: Client, replay: Replay) -> None:
    page = specialist.get(f"/replays/{replay.pk}/").content.decode()
    at_rate = replay.in_us["logs"][0]["rates"][0]
    assert at_rate["within"] in page
    for row in at_rate["errors"]:
        assert row["area"] in page
    assert '<svg xmlns="http://www.w3.org/2000/svg"' in page
    assert "within 5 %" in page
    User.objects.update(units="si")
    page = specialist.get(f"/replays/{replay.pk}/").content.decode()
    assert replay.in_si["logs"][0]["rates"][0]["area"] in page


def test_a_pass_the_season_does_not_have_is_told_at_its_field(specialist: Client, log: FieldLog) -> None:
    page = specialist.post(f"/logs/{log.pk}/replays/new/", {"pass_name": "Moon", "lag": "0.7 s"}).content.decode()
    assert "wrong-words" in page
    assert 'value="0.7 s"' in page
    assert not Job.objects.exists()


def test_strangers_find_no_replay_and_viewers_ask_for_none(stranger: Client, viewer: Client, replay: Replay) -> None:
    assert stranger.get(f"/replays/{replay.pk}/").status_code == 404
    assert viewer.get(f"/replays/{replay.pk}/").status_code == 200
    assert viewer.get(f"/logs/{replay.log_id}/replays/new/").status_code == 403
