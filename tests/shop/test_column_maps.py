"""Maps of log columns: read at once, replaced by name, never taken from under a log that is read by them."""

from __future__ import annotations

import html
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from tests.shop_cases import DEMO, make_season, season_document

from wetrun.documents.map_example import example_map
from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.records.models import ColumnMap, FieldLog, Machine, Season, Trail

TEXT = (DEMO / "log_map.toml").read_text(encoding="utf-8")
BAD = TEXT.replace('unit = "ft" }', 'unit = "furlong" }', 1).replace("speed ", "haste ")


@pytest.fixture
def column_map(branch: Branch) -> ColumnMap:
    return ColumnMap.objects.create(branch=branch, name="log_map.toml", text=TEXT)


@pytest.fixture
def season(machine: Machine) -> Season:
    return make_season(machine, season_document(logs=True))


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", page)).split())


def test_a_map_is_taken_in_and_comes_back_as_it_was(specialist: Client, branch: Branch) -> None:
    upload = SimpleUploadedFile("log_map.toml", TEXT.encode())
    answer = specialist.post("/column-maps/import/", {"file": upload})
    kept = ColumnMap.objects.get()
    assert answer["Location"] == f"/column-maps/{kept.pk}/"
    assert (kept.branch, kept.name, kept.text) == (branch, "log_map.toml", TEXT)
    assert specialist.get(f"/column-maps/{kept.pk}/file.toml").content.decode() == TEXT
    assert Trail.objects.get(kind="ColumnMap").by == kept.made_by


def test_its_page_tells_what_each_column_means_in_the_reader_s_units(specialist: Client, column_map: ColumnMap) -> None:
    told = words(specialist.get(f"/column-maps/{column_map.pk}/").content.decode())
    assert "distance Dist ft" in told
    assert "time Clock –" in told
    assert "Where no column tells the width that was on: 120 ft." in told
    User.objects.update(units="si")
    assert "36.58 m." in words(specialist.get(f"/column-maps/{column_map.pk}/").content.decode())


@pytest.mark.parametrize("sent", ["pasted", "uploaded"])
def test_all_that_is_wrong_is_told_at_once_and_nothing_is_lost(specialist: Client, sent: str) -> None:
    upload = SimpleUploadedFile("m.toml", BAD.encode())
    data = {"text": BAD, "name": "m.toml"} if sent == "pasted" else {"file": upload}
    page = specialist.post("/column-maps/import/", data).content.decode()
    assert not ColumnMap.objects.exists()
    places = re.findall(r'<tr><th scope="row">([^<]+)</th>', page)
    assert places == ["columns.distance.unit", "columns.haste"]
    assert html.escape(BAD.splitlines()[6]) in page
    assert 'value="m.toml"' in page


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[columns", "is not TOML"),
        ("format_version = 9\n", "must be 1"),
        ("# much\n" * 20_000, "It is larger than"),
    ],
    ids=["no TOML", "a newer format", "too large"],
)
def test_what_is_no_map_is_refused_in_words(specialist: Client, text: str, said: str) -> None:
    page = specialist.post("/column-maps/import/", {"text": text, "name": "m.toml"}).content.decode()
    assert said in words(page)
    assert not ColumnMap.objects.exists()


def test_letters_that_are_not_utf_8_are_told_where_they_stand(specialist: Client) -> None:
    upload = SimpleUploadedFile("m.toml", TEXT.replace("Dist", "Größe").encode("cp1252"))
    page = specialist.post("/column-maps/import/", {"file": upload}).content.decode()
    assert "m.toml is byte 236: line 7 holds a byte that is not UTF-8." in words(page)
    assert not ColumnMap.objects.exists()


def test_a_newer_map_says_which_seasons_name_it(specialist: Client, column_map: ColumnMap, season: Season) -> None:
    data = {"text": TEXT.replace("120", "90"), "name": "log_map.toml", "over": str(column_map.pk)}
    answer = specialist.post("/column-maps/import/", data, follow=True)
    told = words(answer.content.decode())
    assert f"1 season uses it; its tip plan is out of date until it is made again: {season.machine.name}" in told
    assert "90 ft." in told
    assert ColumnMap.objects.get(replaced_at=None).text != TEXT


def test_a_map_stays_while_a_log_is_read_by_it(specialist: Client, column_map: ColumnMap, machine: Machine) -> None:
    log = FieldLog.objects.create(
        branch=machine.branch, machine=machine, name="a.csv", stored="logs/a", sha256="0", column_map="log_map.toml"
    )
    told = words(specialist.post(f"/column-maps/{column_map.pk}/", follow=True).content.decode())
    assert "“log_map.toml” stays, because it is in use. Name another file in these first: a.csv." in told
    log.taken_away_at = log.made_at
    log.save()
    specialist.post(f"/column-maps/{column_map.pk}/")
    column_map.refresh_from_db()
    assert column_map.replaced_at is not None


def test_the_template_is_taken_in_as_it_stands(specialist: Client) -> None:
    text = specialist.get("/column-maps/template.toml").content.decode()
    assert text == example_map()
    specialist.post("/column-maps/import/", {"text": text, "name": "map.toml"})
    assert ColumnMap.objects.get().text == text


def test_another_branch_s_map_is_not_there(stranger: Client, column_map: ColumnMap) -> None:
    assert stranger.get(f"/column-maps/{column_map.pk}/").status_code == 404
    assert stranger.post(f"/column-maps/{column_map.pk}/").status_code == 404
    assert stranger.get(f"/column-maps/{column_map.pk}/file.toml").status_code == 404


def test_a_viewer_sees_a_map_and_no_buttons(viewer: Client, column_map: ColumnMap) -> None:
    page = viewer.get(f"/column-maps/{column_map.pk}/").content.decode()
    assert "Dist" in page
    assert "/import/" not in page
    assert "Take it out of use" not in page
    assert viewer.post("/column-maps/import/", {"text": TEXT, "name": "m.toml"}).status_code == 403
    assert viewer.post(f"/column-maps/{column_map.pk}/").status_code == 403
