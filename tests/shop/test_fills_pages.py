"""Loads in season, written down on a phone: kept as typed, judged, corrected, and as a file both ways."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import today_in

from wetrun.documents.fills_example import example_fills
from wetrun.documents.fills_file import fills_of
from wetrun.shop.accounts.models import User
from wetrun.shop.records.models import FillBook, FilledLoad, Machine, Trail, WetRun

pytestmark = pytest.mark.django_db


@pytest.fixture
def book(machine: Machine) -> FillBook:
    meter = {"meter": {"number": "720", "form": "pulses per US gal"}}
    return FillBook.objects.create(branch=machine.branch, machine=machine, title="Loads 2027", document=meter)


def typed(book: FillBook, **more: Any) -> dict[str, Any]:
    return {"on": today_in(book.branch).isoformat(), "filled": "1000", "counted": "1030", **more}


def write(client: Client, book: FillBook, **more: Any) -> Any:
    return client.post(f"/fills/{book.pk}/loads/new/", typed(book, **more))


def test_a_book_is_begun_with_number_and_tools_as_typed(specialist: Client, machine: Machine) -> None:
    address = f"/machines/{machine.pk}/fills/new/"
    wrong = specialist.post(address, {"title": "Loads", "number": "0", "form": "pulses per US gal", "mark": "x gal"})
    assert 'value="x gal"' in wrong.content.decode()
    assert not FillBook.objects.exists()
    sent = {"title": "Loads", "number": "720.0", "form": "pulses per US gal", "mark": "5", "fill_meter": "0.5"}
    assert specialist.post(address, sent).status_code == 302
    book = FillBook.objects.get()
    assert book.document["meter"] == {"number": "720.0", "form": "pulses per US gal"}
    assert book.document["tools"] == {"fill_meter": "0.5 %", "mark": "5 gal"}
    page = specialist.get(f"/fills/{book.pk}/edit/").content.decode()
    assert 'value="0.5 %"' in page


def test_loads_are_kept_as_typed_and_say_what_the_number_would_be(specialist: Client, book: FillBook) -> None:
    for counted in ("1030", "1031.5 gal", "3900 L"):
        assert write(specialist, book, counted=counted, area="68.7", rate="15", left="0").status_code == 302
    texts = [load.document["counted"] for load in FilledLoad.objects.order_by("pk")]
    assert texts == ["1030 gal", "1031.5 gal", "3900 L"]
    page = specialist.get(f"/fills/{book.pk}/").content.decode()
    assert "720 would become 742.0 ±" in page
    assert "never set by itself" in page
    assert page.count("<svg ") >= 1
    assert "+3.0 ±" in page
    assert FilledLoad.objects.first().area_m2 == pytest.approx(68.7 * 4046.8564224)  # type: ignore[union-attr]
    assert WetRun.objects.count() == 0
    assert FillBook.objects.get().document["meter"]["number"] == "720"


def test_a_metric_reader_types_and_reads_litres(specialist: Client, book: FillBook) -> None:
    User.objects.filter(login__startswith="specialist").update(units="si")
    write(specialist, book, filled="3800", counted="3876")
    assert FilledLoad.objects.get().document["filled"] == "3800 L"
    page = specialist.get(f"/fills/{book.pk}/").content.decode()
    assert "3800 L" in page.replace("\xa0", "").replace(",", "")
    assert "+2.0 ±" in page


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"weight": "8340 lb"}, "by meter or by scale, one of the two"),
        ({"filled": "", "weight": "8340"}, "only with the density"),
        ({"left": "1000"}, "nothing was put out"),
        ({"carried": "on"}, "no load stands before the first"),
        ({"counted": "many"}, "many"),
        ({"counted": ""}, "required"),
        ({"on": "2999-01-01"}, "still to come"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_typed_is_lost(
    specialist: Client, book: FillBook, more: dict[str, str], words: str
) -> None:
    page = write(specialist, book, note="kept <by> hand", **more).content.decode()
    assert words in page
    assert "kept &lt;by&gt; hand" in page
    assert 'role="alert"' in page
    assert not FilledLoad.objects.exists()


def test_sent_twice_it_is_one_load_and_a_correction_keeps_the_place(specialist: Client, book: FillBook) -> None:
    entry = "0f4b8e7e-98a9-4a44-8db5-3ad8e6b6f001"
    for _ in range(2):
        write(specialist, book, entry=entry, left="40")
    write(specialist, book, carried="on", filled="900", counted="968")
    assert FilledLoad.objects.count() == 2
    first = FilledLoad.objects.order_by("pk").first()
    assert first is not None
    assert specialist.post(f"/filled-loads/{first.pk}/correct/", typed(book, left="30")).status_code == 302
    text = specialist.get(f"/fills/{book.pk}/fills.toml").content.decode()
    file = fills_of(tomllib.loads(text), "fills.toml")
    assert [round(load.put_out_m3 / 0.003785411784) for load in file.loads] == [970, 930]
    assert file.loads[1].carried_from == "1"
    again = specialist.post(f"/filled-loads/{first.pk}/correct/", typed(book), follow=True).content.decode()
    assert "corrected already" in again
    assert [line.what for line in Trail.objects.filter(kind="FilledLoad").order_by("pk")] == [
        "written down",
        "written down",
        "corrected",
    ]


def test_a_file_comes_out_as_it_went_in(specialist: Client, machine: Machine) -> None:
    text = example_fills()
    assert specialist.post(f"/machines/{machine.pk}/fills/import/", {"text": text}).status_code == 302
    book = FillBook.objects.get()
    out = specialist.get(f"/fills/{book.pk}/fills.toml").content.decode()
    assert tomllib.loads(out) == tomllib.loads(text)
    assert "743.2 ± 5.1" in specialist.get(f"/fills/{book.pk}/").content.decode()
    wrong = specialist.post(
        f"/machines/{machine.pk}/fills/import/", {"text": text.replace('"1000 gal"', '"heaps"')}
    ).content.decode()
    assert "load[1].filled" in wrong
    assert "heaps" in wrong
    assert FillBook.objects.count() == 1


def test_acres_of_loads_lapse_a_proof(specialist: Client, book: FillBook) -> None:
    from tests.shop.test_proofs_page import proven_run

    proven_run(book.machine)
    write(specialist, book, filled="9000", counted="9000", area="3000")
    assert "No longer proven" not in specialist.get(f"/machines/{book.machine_id}/").content.decode()
    write(specialist, book, filled="9000", counted="9000", area="3000")
    assert "meter number</strong>: acres since" in specialist.get(f"/machines/{book.machine_id}/").content.decode()


@pytest.mark.parametrize("count", [2, 30])
def test_a_book_asks_as_often_for_many_loads_as_for_few(
    specialist: Client, book: FillBook, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for n in range(count):
        document = {"on": today_in(book.branch), "filled": "1000 gal", "counted": f"{1030 + n % 4} gal"}
        own = {"branch": book.branch, "machine": book.machine, "book": book}
        FilledLoad.objects.create(on=today_in(book.branch), document=document, **own)
    specialist.get(f"/fills/{book.pk}/")
    with django_assert_num_queries(6):
        page = specialist.get(f"/fills/{book.pk}/").content.decode()
    assert len(re.findall(r"/filled-loads/\d+/correct/", page)) == count
