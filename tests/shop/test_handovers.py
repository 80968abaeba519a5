"""Handing a machine over: walk round, numbers, signature."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client
from tests.shop_cases import demo, make_season

from wetrun.machine.walk_round import WALK
from wetrun.proving.monitor import Setting
from wetrun.shop.answers.handovers import compared_numbers, left_numbers, steering_of_machine
from wetrun.shop.records.models import Handover, Machine, MonitorSettings


@pytest.fixture
def settings_left(machine: Machine) -> MonitorSettings:
    monitor = demo("wetrun.toml")["monitor"]
    return MonitorSettings.objects.create(
        branch=machine.branch, machine=machine, document=monitor, on=date(2027, 3, 12), by="A. Reed"
    )


def walked(**more: str) -> dict[str, str]:
    return {"operator": "B. Cole", **{f"look-{look.key}": "right" for look in WALK}, **more}


def shown(settings: MonitorSettings, **other: str) -> dict[str, str]:
    read = {one.key: one.text for one in left_numbers(settings)} | other
    return {f"number-{key}": text for key, text in read.items()}


def test_the_numbers_of_the_demo_s_monitor_are_those_it_was_left_with(settings_left: MonitorSettings) -> None:
    left = {one.key: one.text for one in left_numbers(settings_left)}
    assert left["meter_number"] == "748"
    assert left["section_width-9"] == "160"
    assert len(left) == 14


def test_a_wrong_number_is_found_with_what_it_does_to_the_rate(
    machine: Machine, settings_left: MonitorSettings
) -> None:
    left = left_numbers(settings_left)
    typed = {one.key: one.text for one in left} | {"meter_number": "720", "section_width-3": "16"}
    rows = {row["key"]: row for row in compared_numbers(left, typed, steering_of_machine(machine))}
    # A meter thought to give 720 pulses where it gives 748 lets 720/748 of the rate through: 3.7 % less.
    assert rows["meter_number"]["same"] is False
    assert rows["meter_number"]["words"] == "rate −3.7 % at every speed"
    assert rows["section_width-3"]["words"] == "rate −90.0 % at every speed in this section, −10.0 % over the boom"
    assert rows["speed_number"]["same"] is True
    assert rows["speed_number"]["words"] == ""


def test_a_machine_that_steers_by_pressure_does_not_mind_its_meter(
    machine: Machine, settings_left: MonitorSettings
) -> None:
    machine.document["control"]["loop"] = "pressure"
    left = left_numbers(settings_left)
    typed = {one.key: one.text for one in left} | {"meter_number": "720"}
    rows = {row["key"]: row for row in compared_numbers(left, typed, steering_of_machine(machine))}
    assert rows["meter_number"]["words"] == "does not act on the rate"


def test_a_whole_walk_with_equal_numbers_is_signed_and_then_never_changed(
    specialist: Client, machine: Machine, settings_left: MonitorSettings
) -> None:
    make_season(machine)
    typed = walked(sign="yes", signed_name="Bo Cole") | {"pass_name": "Fungicide"} | shown(settings_left)
    answer = specialist.post(f"/machines/{machine.pk}/handovers/new/", typed)
    handover = Handover.objects.get()
    assert answer["Location"] == f"/handovers/{handover.pk}/"
    assert handover.signed_at is not None
    assert (handover.pass_name, handover.operator) == ("Fungicide", "B. Cole")
    specialist.post(f"/handovers/{handover.pk}/", typed | {"operator": "Somebody else"})
    handover.refresh_from_db()
    assert handover.operator == "B. Cole"
    assert "Signed by Bo Cole" in specialist.get(f"/handovers/{handover.pk}/").content.decode()


def test_a_number_that_differs_is_signed_and_shown(
    specialist: Client, machine: Machine, settings_left: MonitorSettings
) -> None:
    typed = walked(sign="yes", signed_name="Bo Cole") | shown(settings_left, hold_pressure="32")
    specialist.post(f"/machines/{machine.pk}/handovers/new/", typed)
    page = specialist.get(f"/handovers/{Handover.objects.get().pk}/").content.decode()
    assert "rate +20.6 % below the speed where the minimum hold acts" in page


def test_nothing_is_signed_while_something_is_open_and_what_was_typed_stays(
    specialist: Client, machine: Machine, settings_left: MonitorSettings
) -> None:
    typed = walked(sign="yes", remarks="left mirror cracked") | shown(settings_left, meter_number="abc", density="")
    del typed["look-leaks"]
    page = specialist.post(f"/machines/{machine.pk}/handovers/new/", typed).content.decode()
    assert not Handover.objects.exists()
    assert "Nobody looked yet: with water at working pressure nothing leaks." in page
    assert f"Not compared yet: {Setting.DENSITY.value}." in page
    assert "Nobody signed." in page
    assert 'value="abc"' in page
    assert "left mirror cracked" in page


def test_an_unfinished_handover_is_kept_and_gone_on_with(specialist: Client, machine: Machine) -> None:
    specialist.post(f"/machines/{machine.pk}/handovers/new/", {"operator": "B. Cole", "look-tips": "wrong"})
    handover = Handover.objects.get()
    page = specialist.get(f"/handovers/{handover.pk}/").content.decode()
    assert 'value="B. Cole"' in page
    specialist.post(f"/handovers/{handover.pk}/", walked(version="1", sign="yes", signed_name="Bo Cole"))
    handover.refresh_from_db()
    assert handover.signed_at is not None


def test_of_two_who_go_on_with_one_handover_the_second_is_told(specialist: Client, machine: Machine) -> None:
    specialist.post(f"/machines/{machine.pk}/handovers/new/", {"operator": "B. Cole"})
    handover = Handover.objects.get()
    specialist.post(f"/handovers/{handover.pk}/", {"operator": "First", "version": "1"})
    page = specialist.post(f"/handovers/{handover.pk}/", {"operator": "Second", "version": "1"}).content.decode()
    handover.refresh_from_db()
    assert handover.operator == "First"
    assert 'value="Second"' in page
    assert "Somebody else changed" in page


def test_a_stranger_finds_no_handover_and_a_viewer_may_not_begin_one(
    stranger: Client, viewer: Client, machine: Machine
) -> None:
    handover = Handover.objects.create(branch=machine.branch, machine=machine, operator="B. Cole")
    assert stranger.get(f"/handovers/{handover.pk}/").status_code == 404
    assert viewer.get(f"/handovers/{handover.pk}/").status_code == 200
    assert "<button" not in viewer.get(f"/handovers/{handover.pk}/").content.decode().split("<main")[1]
    assert viewer.get(f"/machines/{machine.pk}/handovers/new/").status_code == 403
