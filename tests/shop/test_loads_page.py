"""Tank loads on their page and paper."""

from __future__ import annotations

from django.test import Client
from tests.shop_cases import make_catalogue, make_season

from wetrun.papers.reader import Reader
from wetrun.quantity import System
from wetrun.shop.answers.loads import load_sheets_of
from wetrun.shop.records.models import Machine


def test_the_page_shows_the_amounts_of_the_core_in_order(specialist: Client, machine: Machine) -> None:
    make_catalogue(machine.branch)
    season = make_season(machine)
    page = specialist.get(f"/seasons/{season.pk}/loads/").content.decode()
    sheets = load_sheets_of(season, Reader(System.US))
    assert len(sheets) == len(season.document["pass"])
    at = 0
    for sheet in sheets:
        at = page.index(sheet["summary"], at)
        for row in sheet["rows"]:
            assert row["total"] in page[at:]
    assert "19 loads: 18 of 1,180 gal, then 1 of 976 gal" in page


def test_a_load_sheet_is_handed_out_as_a_paper(specialist: Client, machine: Machine) -> None:
    make_catalogue(machine.branch)
    season = make_season(machine)
    answer = specialist.get(f"/seasons/{season.pk}/loads/1.pdf")
    assert b"".join(answer.streaming_content).startswith(b"%PDF")  # type: ignore[attr-defined]
    assert specialist.get(f"/seasons/{season.pk}/loads/99.pdf").status_code == 404


def test_a_season_that_is_not_right_says_why_there_are_no_loads(specialist: Client, machine: Machine) -> None:
    season = make_season(machine)  # its tip file is not there
    page = specialist.get(f"/seasons/{season.pk}/loads/").content.decode()
    assert "tips.csv" in page
    assert "cannot be worked out yet" in page


def test_a_stranger_finds_no_loads(stranger: Client, machine: Machine) -> None:
    season = make_season(machine)
    assert stranger.get(f"/seasons/{season.pk}/loads/").status_code == 404
