"""Readings of a wet run: kept once however often they are sent, never changed, never added to what is proven."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone
from tests.shop_cases import make_wet_run

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Machine, Reading, WetRun
from wetrun.shop.records.readings import EntryTaken, RunProven, TypedReading, keep_reading

ENTRY = uuid.UUID("8c1d3a52-6a70-4f3b-9a53-0a8d6f2b7c11")
AT = datetime(2027, 3, 12, 13, 40, tzinfo=UTC)


@pytest.fixture
def wet_run(machine: Machine) -> WetRun:
    return make_wet_run(machine)


@pytest.fixture
def technician(signed_in: Callable[[Role], Client]) -> Client:
    return signed_in(Role.TECHNICIAN)


def read(place: str = "catch.readings.23", typed: str = "11.3", entry: uuid.UUID | None = None) -> TypedReading:
    return TypedReading(entry or uuid.uuid4(), place, typed, AT)


def sent(client: Client, wet_run: WetRun, *, accept: str = "application/json", **fields: str) -> HttpResponse:
    data = {"entry": str(ENTRY), "place": "catch.readings.23", "typed": "11.3"} | fields
    answer: Any = client.post(f"/wet-runs/{wet_run.pk}/readings/", data, headers={"accept": accept})
    return answer  # type: ignore[no-any-return]


def test_readings_are_numbered_in_the_order_they_are_kept(wet_run: WetRun, people: dict[Role, User]) -> None:
    by = people[Role.TECHNICIAN]
    numbers = [keep_reading(wet_run, read(typed=str(n)), by).reading.number for n in range(4)]
    assert numbers == [1, 2, 3, 4]
    assert [r.typed for r in wet_run.readings.all()] == ["0", "1", "2", "3"]


def test_a_reading_sent_twice_is_kept_once(wet_run: WetRun, people: dict[Role, User]) -> None:
    first = keep_reading(wet_run, read(entry=ENTRY), people[Role.TECHNICIAN])
    second = keep_reading(wet_run, read(entry=ENTRY), people[Role.TECHNICIAN])
    assert (first.again, second.again) == (False, True)
    assert first.reading == second.reading
    assert Reading.objects.count() == 1


@pytest.mark.parametrize("change", [{"typed": "11.4"}, {"place": "catch.readings.24"}])
def test_an_entry_that_stands_for_another_reading_is_refused(
    wet_run: WetRun, people: dict[Role, User], change: dict[str, str]
) -> None:
    keep_reading(wet_run, read(entry=ENTRY), people[Role.TECHNICIAN])
    with pytest.raises(EntryTaken) as refused:
        keep_reading(wet_run, read(entry=ENTRY, **change), people[Role.TECHNICIAN])
    assert refused.value.kept.typed == "11.3"
    assert Reading.objects.get().typed == "11.3"


def test_an_entry_of_another_wet_run_is_refused(wet_run: WetRun, machine: Machine, people: dict[Role, User]) -> None:
    keep_reading(wet_run, read(entry=ENTRY), people[Role.TECHNICIAN])
    with pytest.raises(EntryTaken):
        keep_reading(make_wet_run(machine), read(entry=ENTRY), people[Role.TECHNICIAN])


def test_a_proven_run_takes_no_reading_but_still_knows_the_one_it_kept(
    wet_run: WetRun, people: dict[Role, User]
) -> None:
    keep_reading(wet_run, read(entry=ENTRY), people[Role.TECHNICIAN])
    WetRun.objects.filter(pk=wet_run.pk).update(proven_at=timezone.now())
    assert keep_reading(wet_run, read(entry=ENTRY), people[Role.TECHNICIAN]).again
    with pytest.raises(RunProven):
        keep_reading(wet_run, read(), people[Role.TECHNICIAN])
    assert Reading.objects.count() == 1


def test_a_device_is_told_the_number_and_whether_it_sent_it_before(technician: Client, wet_run: WetRun) -> None:
    first = sent(technician, wet_run, at="2027-03-12T07:40:05-06:00")
    again = sent(technician, wet_run, at="2027-03-12T07:40:05-06:00")
    assert (first.status_code, again.status_code) == (201, 200)
    told: Any = [answer.json() for answer in (first, again)]  # type: ignore[attr-defined]
    assert [one["again"] for one in told] == [False, True]
    assert {one["number"] for one in told} == {1}
    assert {one["entry"] for one in told} == {str(ENTRY)}
    assert {one["format_version"] for one in told} == {1}
    assert Reading.objects.get().at == datetime(2027, 3, 12, 13, 40, 5, tzinfo=UTC)


def test_without_javascript_a_reading_is_typed_on_a_page(technician: Client, wet_run: WetRun) -> None:
    page = technician.get(f"/wet-runs/{wet_run.pk}/readings/").content.decode()
    assert 'name="entry"' in page
    answer = sent(technician, wet_run, accept="text/html")
    assert answer["Location"] == f"/wet-runs/{wet_run.pk}/readings/"
    assert "<td>11.3</td>" in technician.get(answer["Location"]).content.decode()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("entry", "nothing like one"),
        ("place", ""),
        ("place", "x" * 121),
        ("typed", "9" * 201),
        ("typed", "11\x003"),
        ("at", "2027-03-12T07:40:05"),
        ("at", "2027-02-30T07:40:05Z"),
        ("at", "this morning"),
    ],
)
def test_bad_input_is_refused_by_its_field_and_nothing_is_kept(
    technician: Client, wet_run: WetRun, field: str, value: str
) -> None:
    answer: Any = sent(technician, wet_run, **{field: value})
    assert answer.status_code == 400
    assert list(answer.json()["problems"]) == [field]
    assert not Reading.objects.exists()


def test_what_was_typed_is_still_on_the_page_when_it_was_refused(technician: Client, wet_run: WetRun) -> None:
    WetRun.objects.filter(pk=wet_run.pk).update(proven_at=timezone.now())
    answer = sent(technician, wet_run, accept="text/html")
    page = answer.content.decode()
    assert answer.status_code == 409
    assert 'value="11.3"' in page
    assert "takes no more readings" in page


def test_the_page_of_a_proven_run_says_so_and_has_no_form(technician: Client, wet_run: WetRun) -> None:
    WetRun.objects.filter(pk=wet_run.pk).update(proven_at=timezone.now())
    page = technician.get(f"/wet-runs/{wet_run.pk}/readings/").content.decode()
    assert "takes no more readings" in page
    assert 'name="entry"' not in page


def test_a_clash_of_entries_is_a_conflict_in_words(technician: Client, wet_run: WetRun) -> None:
    sent(technician, wet_run)
    answer: Any = sent(technician, wet_run, typed="12.0")
    assert answer.status_code == 409
    assert "“11.3” was kept" in answer.json()["problems"]["__all__"][0]


def test_a_viewer_may_not_enter_and_a_stranger_finds_nothing(viewer: Client, stranger: Client, wet_run: WetRun) -> None:
    assert sent(viewer, wet_run).status_code == 403
    assert viewer.get(f"/wet-runs/{wet_run.pk}/readings/").status_code == 403
    assert sent(stranger, wet_run).status_code == 404
    assert not Reading.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_technicians_at_once_get_two_numbers_and_one_entry_of_two_runs_is_kept_once(
    branch: Branch, machine: Machine, people: dict[Role, User]
) -> None:
    from concurrent.futures import ThreadPoolExecutor

    from django.db import connection, connections

    wet_run, other = make_wet_run(machine), make_wet_run(machine)
    if connection.vendor == "sqlite":
        pytest.skip("SQLite's tests share one connection in memory; the kill tests and the load run threads on files")

    def keep(job: tuple[WetRun, TypedReading]) -> str:
        try:
            keep_reading(*job, people[Role.TECHNICIAN])
        except EntryTaken:
            return "taken"
        finally:
            connections.close_all()
        return "kept"

    jobs = [(wet_run, read(typed=str(n))) for n in range(40)]
    clashing = [(run, read(entry=ENTRY)) for run in (wet_run, other)]
    with ThreadPoolExecutor(8) as pool:
        told = list(pool.map(keep, [*jobs, *clashing]))
    assert told.count("kept") == 41
    assert told.count("taken") == 1
    for run in (wet_run, other):
        numbers = [reading.number for reading in run.readings.all()]
        assert numbers == list(range(1, len(numbers) + 1))
