"""A wet run's own page and its evidence: what they say is what the computation says, and never an old answer."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_catalogue, make_season, make_wet_run

from wetrun.documents.wetrun_file import read_wetrun
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_data import wet_run_data
from wetrun.proving.session import wet_run_result
from wetrun.quantity import System
from wetrun.shop.accounts.models import User
from wetrun.shop.records.models import Machine, WetRun

DEMO = Path(__file__).parents[2] / "demo"


def words_of(page: bytes) -> str:
    """What a reader of the page reads, on one line."""
    text = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", page.decode(), flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


@pytest.fixture(scope="module")
def data() -> dict[System, dict[str, Any]]:
    """The demo's wet run as the core tells it, without the shop."""
    run = read_wetrun(DEMO / "wetrun.toml").run
    found = {}
    for system in System:
        reader = Reader(system)
        found[system] = wet_run_data(wet_run_result(run, pressure_words=reader.difference), reader)
    return found


@pytest.fixture
def wet_run(machine: Machine) -> WetRun:
    """The demo's wet run on record."""
    make_catalogue(machine.branch)
    return make_wet_run(machine, make_season(machine))


@pytest.mark.parametrize("system", list(System))
def test_the_evidence_says_every_number_that_the_core_says(
    specialist: Client, wet_run: WetRun, data: dict[System, dict[str, Any]], system: System
) -> None:
    User.objects.filter(login__startswith="specialist").update(units=system.value)
    said, told = words_of(specialist.get(f"/wet-runs/{wet_run.pk}/result/").content), data[system]
    assert told["sentence"] in said
    for line in told["tests"]:
        for key in ("thing", "value", "limit", "rule", "verdict"):
            assert line[key] in said, line
    for number in told["numbers"]:
        assert all(number[key] in said for key in ("thing", "found", "new", "enter", "left", "form")), number
    for setting in told["settings"]:
        assert all(str(setting[key]) in said for key in ("setting", "found", "left", "should", "effect_found")), setting
    for step in told["ramp"]["steps"]:
        assert all(cell["read"] in said and cell["window"] in said for cell in step["cells"])
    for budget in told["budgets"]:
        assert f"{budget['thing']}: {budget['value']}" in said
        assert all(part["name"] in said and part["share"] in said for part in budget["parts"])
    for sentence in (*told["steps"], *told["boom"]["findings"], *told["cautions"], told["statement"]):
        assert sentence in said
    rows = [f"{r['tip']} {r['section']} {r['flow']} {r['off']} {r['plus']} {r['boom']}" for r in told["boom"]["rows"]]
    assert len(rows) == 72
    assert all(row in said for row in rows)


def test_the_run_s_page_has_the_answer_on_top_and_every_test_with_how_far_it_is(
    specialist: Client, wet_run: WetRun, data: dict[System, dict[str, Any]]
) -> None:
    said = words_of(specialist.get(f"/wet-runs/{wet_run.pk}/").content)
    assert said.index(data[System.US]["sentence"]) < said.index("Speed course")
    for far in ("6 of 6 answered", "4 runs", "4 catches", "72 tips", "6 pairs", "2 pressures", "6 steps", "9 sections"):
        assert far in said
    assert "70 pass, 2 fail" not in said  # the boom's own count stands with the evidence


def test_the_cross_check_says_first_which_reading_is_off(
    specialist: Client, wet_run: WetRun, data: dict[System, dict[str, Any]]
) -> None:
    said, told = words_of(specialist.get(f"/wet-runs/{wet_run.pk}/cross-check/").content), data[System.US]
    assert said.index(told["cross_check"]) < said.index("Readings against each other")
    assert "4.2 % high (± 1.1 %)" in told["cross_check"]
    for row in told["readings"]:
        assert f"{row['words']} {row['value']} {row['becomes']}" in said
    for row in told["balances"]:
        assert row["others"] in said
    assert all(hidden in said for hidden in told["unseen"])
    assert told["second"] in said


def test_an_answer_is_worked_out_again_once_a_reading_changed(specialist: Client, wet_run: WetRun) -> None:
    address = f"/wet-runs/{wet_run.pk}/"
    assert "tip 58 gives 13 % more" in words_of(specialist.get(address).content)
    wet_run.refresh_from_db()
    before = wet_run.digest
    wet_run.document["catch"]["readings"][57] = 39.2
    wet_run.document["catch"].pop("swap")
    wet_run.save()
    for page in ("", "result/", "cross-check/"):
        assert "tip 58" not in words_of(specialist.get(f"{address}{page}").content).lower()
    wet_run.refresh_from_db()
    assert wet_run.digest != before
    assert wet_run.version == 1  # nobody typed anything


def test_a_run_that_cannot_be_judged_says_what_is_missing_and_where(specialist: Client, wet_run: WetRun) -> None:
    specialist.get(f"/wet-runs/{wet_run.pk}/")
    WetRun.objects.get(pk=wet_run.pk)
    wet_run.document["catch"].pop("pressure")
    wet_run.save()
    page = specialist.get(f"/wet-runs/{wet_run.pk}/result/").content.decode()
    to_field = f'<a href="/wet-runs/{wet_run.pk}/catch/#sheet-pressure">Catch of the tips</a>'
    assert f"{to_field}, Pressure at the tips: This is needed." in page
    assert "The flow meter reads" not in page  # no old verdict
    wet_run.refresh_from_db()
    assert (wet_run.verdict, wet_run.in_us) == ("", None)


def test_what_was_made_ready_and_not_read_does_not_keep_the_rest_from_being_judged(
    specialist: Client, wet_run: WetRun
) -> None:
    wet_run.document["course"]["run"] = []
    wet_run.document["catch"]["readings"] = ["" for _ in range(72)]
    wet_run.document["catch"].pop("swap")
    wet_run.save()
    said = words_of(specialist.get(f"/wet-runs/{wet_run.pk}/result/").content)
    assert "keeps this run from being judged" not in said
    assert "speed course" in said[said.index("Not proven") :]


def test_the_paper_is_a_pdf_of_the_same_run(specialist: Client, wet_run: WetRun) -> None:
    answer = specialist.get(f"/wet-runs/{wet_run.pk}/pdf/")
    assert answer["Content-Type"] == "application/pdf"
    assert b"".join(answer.streaming_content).startswith(b"%PDF-")  # type: ignore[attr-defined]


def test_what_changed_since_an_earlier_run_is_told_beyond_doubt_or_not(
    specialist: Client, wet_run: WetRun, machine: Machine
) -> None:
    later = make_wet_run(machine, wet_run.season)
    later.document["catch"]["readings"] = [41.9 if n != 22 else 41.7 for n in range(72)]
    later.document["catch"].pop("swap")
    later.save()
    said = words_of(specialist.get(f"/wet-runs/{later.pk}/since/").content)
    assert "Since “Before the season”, 12 Mar 2027:" in said
    assert "beyond doubt" in said
    assert specialist.get(f"/wet-runs/{later.pk}/since/?since=999").status_code == 200


def test_the_minutes_there_are_tell_which_tests_are_worth_it(specialist: Client, wet_run: WetRun) -> None:
    said = words_of(specialist.get(f"/wet-runs/{wet_run.pk}/day/", {"minutes": "45", "jugs": "8"}).content)
    assert "In this order, about" in said
    assert "Ways to catch this boom: 72 tips of 0.60 gal/min at 40 psi" in said
    bad = specialist.get(f"/wet-runs/{wet_run.pk}/day/", {"minutes": "soon", "jugs": "8"}).content.decode()
    assert 'value="soon"' in bad
    assert 'class="wrong-words"' in bad


@pytest.mark.parametrize("page", ["", "result/", "cross-check/", "day/", "since/", "course/", "catch/", "pdf/"])
def test_strangers_find_nothing(stranger: Client, wet_run: WetRun, page: str) -> None:
    assert stranger.get(f"/wet-runs/{wet_run.pk}/{page}").status_code == 404


def test_a_viewer_sees_everything_and_no_buttons(viewer: Client, wet_run: WetRun) -> None:
    for page in ("", "result/", "cross-check/", "course/", "catch/"):
        text = viewer.get(f"/wet-runs/{wet_run.pk}/{page}").content.decode()
        main = text[text.index("<main") : text.index("</main>")]
        assert "<button" not in main
        assert "<input" not in main
    assert viewer.post(f"/wet-runs/{wet_run.pk}/course/", {}).status_code == 403
    assert "Length of the course 300 ft" in words_of(viewer.get(f"/wet-runs/{wet_run.pk}/course/").content)
    assert "Tip 23 11.3 fl oz" in words_of(viewer.get(f"/wet-runs/{wet_run.pk}/catch/").content)


def test_no_page_has_a_style_or_a_script_of_its_own(specialist: Client, wet_run: WetRun) -> None:
    for page in ("", "result/", "cross-check/", "day/", "since/", "gates/", "catch/", "monitor/", "prove/"):
        text = specialist.get(f"/wet-runs/{wet_run.pk}/{page}").content.decode()
        assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son\w+=", text), page


@pytest.mark.parametrize("tips", [4, 72])
def test_a_page_asks_as_often_for_a_long_boom_as_for_a_short_one(
    specialist: Client, wet_run: WetRun, tips: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    wet_run.document["catch"]["readings"] = wet_run.document["catch"]["readings"][:tips]
    if tips < 58:
        wet_run.document["catch"].pop("swap")
    wet_run.save()
    for page in ("", "result/", "cross-check/", "catch/", "course/"):
        specialist.get(f"/wet-runs/{wet_run.pk}/{page}")
    for page, count in (("", 15), ("result/", 13), ("cross-check/", 13), ("catch/", 17), ("course/", 15)):
        with django_assert_num_queries(count):
            specialist.get(f"/wet-runs/{wet_run.pk}/{page}")
