"""A wet run from its beginning to its proof, and another one in its place."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from tests.shop.form_reading import sent_by
from tests.shop_cases import make_catalogue, make_machine, make_season, make_wet_run, season_document

from wetrun.documents.wetrun_file import read_wetrun
from wetrun.proving.session import wet_run_result
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Customer, Machine, MonitorSettings, Season, TipPlan, WetRun

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture
def season(machine: Machine) -> Season:
    make_catalogue(machine.branch)
    return make_season(machine)


@pytest.fixture
def wet_run(machine: Machine, season: Season) -> WetRun:
    return make_wet_run(machine, season)


def now(run: WetRun) -> WetRun:
    return WetRun.objects.get(pk=run.pk)


def proves(client: Client, run: WetRun, **more: str) -> Any:
    address = f"/wet-runs/{run.pk}/prove/"
    sent = sent_by(client.get(address).content.decode().partition("<main")[2])
    sent["sure"] = "on"
    sent.update(more)
    return client.post(address, sent.dict())


def begun(client: Client, machine: Machine, **typed: str) -> Any:
    address = f"/machines/{machine.pk}/wet-runs/new/"
    sent = sent_by(client.get(address).content.decode().partition("<main")[2])
    return client.post(address, sent.dict() | typed)


def test_a_run_begins_with_the_tip_the_plan_puts_on_for_its_pass(
    specialist: Client, machine: Machine, season: Season
) -> None:
    passes = [{"name": "Burndown and residual", "set": {"ident": "saltlick-06-ai"}}, {"name": "Desiccant", "set": None}]
    plan = {"in_us": {"passes": passes}, "in_si": {}, "digest": "x", "method": "m"}
    TipPlan.objects.create(branch=machine.branch, season=season, **plan)
    answer = begun(specialist, machine, on="2027-03-12", technician="B. Ash", title="Before it rains")
    run = WetRun.objects.get()
    assert answer["Location"] == f"/wet-runs/{run.pk}/"
    assert run.document == {
        "format_version": 1,
        "title": "Before it rains",
        "units": "us",
        "on": date(2027, 3, 12),
        "technician": "B. Ash",
        "pass": "Burndown and residual",
        "tips": {"fitted": "saltlick-06-ai"},
    }
    assert (run.season, run.on, run.technician, run.is_open) == (season, date(2027, 3, 12), "B. Ash", True)
    page = specialist.get(f"/wet-runs/{run.pk}/").content.decode()
    assert "Confirm every gate before water flows." in page
    assert "keeps this run from being judged" not in page


def test_without_a_plan_the_tip_has_to_be_named_and_nothing_typed_is_lost(specialist: Client, machine: Machine) -> None:
    page = begun(specialist, machine, technician="B. Ash", title="Before it rains").content.decode()
    assert "Write its ident." in page
    assert 'value="Before it rains"' in page
    assert not WetRun.objects.exists()
    begun(specialist, machine, fitted="iso-11004-ai")
    assert WetRun.objects.get().document["tips"] == {"fitted": "iso-11004-ai"}
    assert WetRun.objects.get().season is None


def test_what_is_proven_is_what_the_core_says_and_the_monitor_s_numbers_are_kept_with_it(
    specialist: Client, wet_run: WetRun
) -> None:
    answer = proves(specialist, wet_run)
    assert answer["Location"] == f"/wet-runs/{wet_run.pk}/"
    run, result = now(wet_run), wet_run_result(read_wetrun(DEMO / "wetrun.toml").run)
    assert (run.verdict, run.agrees, run.is_open) == (result.verdict.value, False, False)
    assert run.sentence == result.sentence
    assert run.proven_by is not None
    assert run.files_then is not None
    assert set(run.files_then) == {"wetrun.toml", "season.toml", "tips.csv"}
    settings = MonitorSettings.objects.get()
    assert settings.document["as_left"]["meter_number"] == "748"
    page = specialist.get(f"/wet-runs/{run.pk}/").content.decode()
    assert "it is not changed any more" in page
    assert "/prove/" not in page
    assert "/supersede/" in page


def test_nothing_is_proven_unless_somebody_says_that_he_looked(specialist: Client, wet_run: WetRun) -> None:
    page = specialist.post(f"/wet-runs/{wet_run.pk}/prove/", {"digest": "x"}).content.decode()
    assert "Look at the evidence, then tick this." in page
    assert now(wet_run).is_open


def test_an_answer_that_changed_since_it_was_looked_at_is_not_proven(specialist: Client, wet_run: WetRun) -> None:
    seen = specialist.get(f"/wet-runs/{wet_run.pk}/prove/").content.decode()
    sent = sent_by(seen.partition("<main")[2]).dict() | {"sure": "on"}
    wet_run.document["catch"]["readings"][57] = 39.2
    wet_run.document["catch"].pop("swap")
    wet_run.save()
    page = specialist.post(f"/wet-runs/{wet_run.pk}/prove/", sent).content.decode()
    assert "Something was typed since this page was shown." in page
    assert now(wet_run).is_open


def test_a_proven_run_stays_as_it_was_though_season_machine_and_tips_change(
    specialist: Client, wet_run: WetRun, machine: Machine, season: Season
) -> None:
    proves(specialist, wet_run)
    specialist.get("/")  # where the message about the proof is shown
    before = specialist.get(f"/wet-runs/{wet_run.pk}/result/").content.decode()
    machine.document["boom"]["sections"] = [4, 4]
    machine.save()
    season.document = season_document() | {"pass": []}
    season.save()
    after = specialist.get(f"/wet-runs/{wet_run.pk}/result/").content.decode()
    body = ("<main", "</main>")
    assert after[after.index(body[0]) : after.index(body[1])] == before[before.index(body[0]) : before.index(body[1])]


def test_a_technician_may_type_and_not_prove(signed_in: Any, wet_run: WetRun) -> None:
    technician = signed_in(Role.TECHNICIAN)
    page = technician.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    assert "/prove/" not in page
    assert technician.get(f"/wet-runs/{wet_run.pk}/prove/").status_code == 403
    assert technician.post(f"/wet-runs/{wet_run.pk}/prove/", {"sure": "on"}).status_code == 403
    assert now(wet_run).is_open


@pytest.mark.parametrize("with_readings", ["no", "yes"])
def test_a_run_in_the_place_of_another_is_linked_and_takes_it_once_it_is_proven(
    specialist: Client, wet_run: WetRun, with_readings: str
) -> None:
    proves(specialist, wet_run)
    answer = specialist.post(f"/wet-runs/{wet_run.pk}/supersede/", {"with_readings": with_readings})
    later = WetRun.objects.exclude(pk=wet_run.pk).get()
    assert answer["Location"] == f"/wet-runs/{later.pk}/"
    assert (later.follows, later.is_open, now(wet_run).superseded_by) == (now(wet_run), True, None)
    if with_readings == "yes":
        assert later.document == now(wet_run).document
    else:
        kept = later.document
        assert kept["course"]["source"][0]["name"] == "wheel"
        assert "run" not in kept["course"]
        assert not {"gates", "steady", "screen", "section"} & set(kept)
        assert "readings" not in kept["catch"]
        assert set(kept["monitor"]) == {"name", "profile"}
    proves(specialist, later)
    assert now(wet_run).superseded_by == later
    page = specialist.get(f"/wet-runs/{wet_run.pk}/").content.decode()
    assert f'href="/wet-runs/{later.pk}/"' in page
    assert "/supersede/" not in page
    assert specialist.post(f"/wet-runs/{wet_run.pk}/supersede/", {"with_readings": "no"}).status_code == 302
    assert WetRun.objects.count() == 2


def test_only_a_proven_run_is_superseded(specialist: Client, wet_run: WetRun) -> None:
    page = specialist.post(f"/wet-runs/{wet_run.pk}/supersede/", {"with_readings": "no"}, follow=True).content.decode()
    assert "Only a proven run is superseded" in page
    assert WetRun.objects.count() == 1


def handed_in(client: Client, machine: Machine, text: str, **more: str) -> Any:
    file = SimpleUploadedFile("spring.toml", text.encode())
    return client.post(f"/machines/{machine.pk}/wet-runs/import/", {"file": file, **more})


def test_a_file_comes_in_and_goes_out_the_same(specialist: Client, machine: Machine, season: Season) -> None:
    text = (DEMO / "wetrun.toml").read_text(encoding="utf-8")
    assert handed_in(specialist, machine, text).status_code == 302
    run = WetRun.objects.get()
    assert (run.season, run.title, run.on) == (season, "Before the season", date(2027, 3, 12))
    out = specialist.get(f"/wet-runs/{run.pk}/wetrun.toml")
    assert out.content.decode() == text
    run.document["doubts"]["gauge"] = "0.6 %"
    run.save()
    changed = tomllib.loads(specialist.get(f"/wet-runs/{run.pk}/wetrun.toml").content.decode())
    assert changed == tomllib.loads(text.replace('gauge = "0.7 %"', 'gauge = "0.6 %"'))


def test_a_file_that_is_none_is_refused_in_a_sentence(specialist: Client, machine: Machine) -> None:
    page = handed_in(specialist, machine, "title = Before").content.decode()
    assert "line 1, column 9" in page
    page = handed_in(specialist, machine, 'format_version = 99\ntitle = "x"').content.decode()
    assert "this Wetrun reads format_version 1" in page
    assert not WetRun.objects.exists()


def test_a_file_with_another_machine_in_it_asks_before_it_changes_the_record(
    specialist: Client, signed_in: Any, branch: Branch, customer: Customer
) -> None:
    machine = make_machine(
        customer, {"name": "Small", "boom": {"spacing": "20 in", "sections": [4]}, "control": {"loop": "none"}}
    )
    text = (
        'format_version = 1\ntitle = "Yard"\n[tips]\nfitted = "iso-11004-ff"\n[machine]\nname = "Small"\n'
        'boom = { spacing = "20 in", sections = [5] }\ncontrol = { loop = "none" }\n'
    )
    page = handed_in(signed_in(Role.TECHNICIAN), machine, text).content.decode()
    assert "Your role does not allow that" in page
    page = handed_in(specialist, machine, text).content.decode()
    assert "boom.sections[1] was 4, becomes 5" in page
    assert not WetRun.objects.exists()
    sent = sent_by(page.partition("<main")[2]).dict()
    assert specialist.post(f"/machines/{machine.pk}/wet-runs/import/", sent).status_code == 302
    machine.refresh_from_db()
    assert machine.document["boom"]["sections"] == [5]
    assert WetRun.objects.get().title == "Yard"


def test_strangers_and_viewers_begin_nothing(
    stranger: Client, viewer: Client, machine: Machine, wet_run: WetRun
) -> None:
    for page in ("new", "import"):
        address = f"/machines/{machine.pk}/wet-runs/{page}/"
        assert stranger.get(address).status_code == 404
        assert viewer.get(address).status_code == 403
    for page in ("prove", "supersede", "stands"):
        address = f"/wet-runs/{wet_run.pk}/{page}/"
        assert stranger.post(address, {}).status_code == 404
        assert viewer.post(address, {}).status_code == 403
    assert viewer.get(f"/wet-runs/{wet_run.pk}/wetrun.toml").status_code == 200
    assert stranger.get(f"/wet-runs/{wet_run.pk}/wetrun.toml").status_code == 404
