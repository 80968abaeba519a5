"""Season and changeover files on the pages: seen before they are kept, lossless both ways."""

from __future__ import annotations

import io
import tomllib
import zipfile
from pathlib import Path

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from tests.shop_cases import DEMO, make_catalogue, make_changeover, make_season

from wetrun.documents.season_file import read_season
from wetrun.shop.accounts.models import Branch
from wetrun.shop.records.models import Changeover, Customer, Machine, Season

TEXT = (DEMO / "season.toml").read_text(encoding="utf-8")


def upload(text: str, name: str = "season.toml") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, text.encode(), content_type="application/toml")


def test_a_season_file_is_looked_at_before_it_is_kept_and_comes_back_to_the_letter(
    specialist: Client, branch: Branch
) -> None:
    make_catalogue(branch)
    page = specialist.post("/seasons/import/", {"file": upload(TEXT)}).content.decode()
    assert not Season.objects.exists()
    assert "Customer “Low Fork Farm” is new." in page
    answer = specialist.post("/seasons/import/", {"text": TEXT.replace("\n", "\r\n"), "keep": "yes"})
    season = Season.objects.get()
    assert answer["Location"] == f"/seasons/{season.pk}/"
    assert (season.machine.name, season.machine.customer.name) == ("Number 7, 120 ft", "Low Fork Farm")
    given = specialist.get(f"/seasons/{season.pk}/season.toml")
    assert given.content.decode() == TEXT
    season.document["title"] = "Season 2027, second try"
    season.save()
    changed = tomllib.loads(specialist.get(f"/seasons/{season.pk}/season.toml").content.decode())
    assert changed == tomllib.loads(TEXT) | {"title": "Season 2027, second try"}


def test_a_second_file_of_the_machine_says_what_it_would_change(specialist: Client, branch: Branch) -> None:
    specialist.post("/seasons/import/", {"text": TEXT, "keep": "yes"})
    other = TEXT.replace('tank = "1200 gal"', 'tank = "1320 gal"')
    page = specialist.post("/seasons/import/", {"text": other}).content.decode()
    assert "tank was" in page
    assert "1320 gal" in page
    assert Machine.objects.get().document["tank"] == "1200 gal"
    assert Customer.objects.count() == 1


def test_what_is_no_season_file_is_refused_with_its_line_and_the_text_stays(specialist: Client, branch: Branch) -> None:
    page = specialist.post("/seasons/import/", {"text": 'title = "x\nrate = 15 gal'}).content.decode()
    assert "line 1" in page
    assert "rate = 15 gal" in page
    page = specialist.post("/seasons/import/", {"text": "format_version = 99"}).content.decode()
    assert "format_version" in page
    assert not Season.objects.exists()


def test_a_zip_can_be_worked_on_by_the_command_line_as_it_is(
    specialist: Client, machine: Machine, tmp_path: Path
) -> None:
    make_catalogue(machine.branch)
    season = make_season(machine)
    make_changeover(machine, season)
    answer = specialist.get(f"/seasons/{season.pk}/season.zip")
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as packed:  # type: ignore[attr-defined]
        packed.extractall(tmp_path)
        assert {"season.toml", "tips.csv"} <= set(packed.namelist())
    found = read_season(tmp_path / "season.toml", logs_needed=False)
    assert [one.ident for one in found.season.passes] == [one["name"] for one in season.document["pass"]]


def test_a_changeover_file_goes_in_and_comes_out_the_same(specialist: Client, machine: Machine) -> None:
    make_catalogue(machine.branch)
    make_season(machine)
    text = (DEMO / "changeover.toml").read_text(encoding="utf-8")
    specialist.post(f"/machines/{machine.pk}/changeovers/import/", {"text": text, "keep": "yes"})
    changeover = Changeover.objects.get()
    given = specialist.get(f"/changeovers/{changeover.pk}/changeover.toml").content.decode()
    assert tomllib.loads(given) == tomllib.loads(text)


def test_nobody_takes_in_files_without_the_right_to(viewer: Client, stranger: Client, machine: Machine) -> None:
    assert viewer.post("/seasons/import/", {"text": TEXT, "keep": "yes"}).status_code == 403
    assert stranger.get(f"/seasons/{make_season(machine).pk}/season.zip").status_code == 404
    assert stranger.post(f"/machines/{machine.pk}/changeovers/import/", {"text": "x"}).status_code == 404
