"""A monitor's numbers: taken down to the last zero, held against the wet run, their history kept."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop.form_reading import sent_by
from tests.shop.test_wet_run_pages import words_of
from tests.shop_cases import demo, make_catalogue, make_season, make_user, make_wet_run

from wetrun.documents.wetrun_file import read_wetrun
from wetrun.papers.wet_run_monitor import setting_rows
from wetrun.proving.session import wet_run_result
from wetrun.shop.accounts.desk import Desk, desk_of
from wetrun.shop.accounts.models import User
from wetrun.shop.answers.proving import prove
from wetrun.shop.records.models import Machine, MonitorSettings, WetRun

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture
def desk(machine: Machine) -> Desk:
    user: User = make_user(machine.branch, login="chief", name="C. Oak")
    return desk_of(user, machine.branch.pk)


@pytest.fixture
def proven(machine: Machine, desk: Desk) -> WetRun:
    make_catalogue(machine.branch)
    return prove(make_wet_run(machine, make_season(machine)), desk)


def taken_down(machine: Machine, on: date, **left: str) -> MonitorSettings:
    monitor: dict[str, Any] = demo("wetrun.toml")["monitor"]
    monitor["as_found"], monitor["as_left"] = monitor["as_left"], monitor["as_left"] | left
    return MonitorSettings.objects.create(
        branch=machine.branch, machine=machine, document=monitor, on=on, by="B. Ash", why="customer called"
    )


def test_a_proven_run_s_numbers_stand_there_big_with_where_they_are_from(
    specialist: Client, machine: Machine, proven: WetRun
) -> None:
    said = words_of(specialist.get(f"/machines/{machine.pk}/monitor-settings/").content)
    assert "meter number 748 pulses per US gal" in said
    assert "density 8.33 lb per US gal" in said
    assert "Before the season" in said
    assert "meter number: 720 → 748" in said
    for row in setting_rows(wet_run_result(read_wetrun(DEMO / "wetrun.toml").run).findings):
        assert all(str(row[key]) in said for key in ("setting", "should", "why", "state", "effect_found"))


def test_a_number_changed_after_the_run_says_what_it_does_to_the_rate(
    specialist: Client, machine: Machine, proven: WetRun
) -> None:
    taken_down(machine, date(2027, 4, 2), meter_number="700")
    said = words_of(specialist.get(f"/machines/{machine.pk}/monitor-settings/").content)
    assert "meter number 700 pulses per US gal" in said
    assert "meter number: 748 → 700" in said
    # 749.8 proved: 700 counts 6.6 % fewer pulses for a gallon, so the controller lets 6.6 % less through.
    assert "As left: rate −6.6 % at every speed" in said


def test_numbers_are_taken_down_by_hand_to_the_last_zero(specialist: Client, machine: Machine) -> None:
    address = f"/machines/{machine.pk}/monitor-settings/new/"
    sent = sent_by(specialist.get(address).content.decode().partition("<main")[2]).dict()
    sent |= {"on": "2027-04-02", "by": "B. Ash", "why": "new monitor", "sheet.name": "cab monitor"}
    sent |= {"sheet.profile.meter_number.form": "pulses per US gal", "sheet.profile.meter_number.step": "1"}
    sent |= {"sheet.profile.meter_number.__is": "yes", "sheet.as_found.meter_number": "720.0"}
    assert specialist.post(address, sent).status_code == 302
    settings = MonitorSettings.objects.get()
    assert settings.document["as_found"] == {"meter_number": "720.0"}
    assert (settings.on, settings.by, settings.why) == (date(2027, 4, 2), "B. Ash", "new monitor")
    said = words_of(specialist.get(f"/machines/{machine.pk}/monitor-settings/").content)
    assert "meter number 720.0 pulses per US gal" in said


def test_the_next_snapshot_starts_with_the_monitor_s_profile_and_without_its_numbers(
    specialist: Client, machine: Machine
) -> None:
    taken_down(machine, date(2027, 4, 2))
    sent = sent_by(
        specialist.get(f"/machines/{machine.pk}/monitor-settings/new/").content.decode().partition("<main")[2]
    )
    assert sent["sheet.profile.meter_number.form"] == "pulses per US gal"
    assert sent["sheet.as_found.meter_number"] == ""


def test_bad_input_keeps_what_was_typed_and_says_what_is_wrong(specialist: Client, machine: Machine) -> None:
    address = f"/machines/{machine.pk}/monitor-settings/new/"
    taken_down(machine, date(2027, 4, 2))
    sent = sent_by(specialist.get(address).content.decode().partition("<main")[2]).dict()
    sent |= {"by": "", "sheet.as_found.meter_number": "seven hundred"}
    page = specialist.post(address, sent).content.decode()
    assert 'value="seven hundred"' in page
    assert 'id="sheet-as_found-meter_number-wrong"' in page
    assert 'class="wrong-words"' in page
    assert MonitorSettings.objects.count() == 1


def test_a_stranger_finds_nothing_and_a_viewer_sees_no_buttons(
    stranger: Client, viewer: Client, machine: Machine
) -> None:
    taken_down(machine, date(2027, 4, 2))
    address = f"/machines/{machine.pk}/monitor-settings/"
    assert stranger.get(address).status_code == 404
    assert stranger.post(f"{address}new/", {}).status_code == 404
    page = viewer.get(address)
    assert page.status_code == 200
    assert "/new/" not in page.content.decode()
    assert viewer.get(f"{address}new/").status_code == 403


@pytest.mark.parametrize("count", [1, 40])
def test_a_long_history_asks_as_often_as_a_short_one(
    specialist: Client, machine: Machine, proven: WetRun, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        taken_down(machine, date(2026, 4, 1 + n % 28))
    address = f"/machines/{machine.pk}/monitor-settings/"
    specialist.get(address)
    with django_assert_num_queries(8):
        specialist.get(address)
