"""A sheet of readings kept at once: two who write on one sheet never overwrite each other."""

from __future__ import annotations

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries
from tests.shop_cases import make_user, make_wet_run

from wetrun.shop.accounts.models import Branch, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Machine, Reading, WetRun
from wetrun.shop.records.reading_sheet import SheetRead, keep_sheet, last_number, standing_readings
from wetrun.shop.records.readings import RunProven

PLACE = "catch.readings."
BASE = {f"{PLACE}1": "39.2", f"{PLACE}2": "39.5", f"{PLACE}3": ""}


@pytest.fixture
def wet_run(machine: Machine) -> WetRun:
    return make_wet_run(machine)


@pytest.fixture
def reed(branch: Branch) -> User:
    return make_user(branch, Role.TECHNICIAN, "reed", name="A. Reed")


@pytest.fixture
def ash(branch: Branch) -> User:
    return make_user(branch, Role.TECHNICIAN, "ash", name="B. Ash")


def read(wet_run: WetRun) -> SheetRead:
    return SheetRead(base=BASE, number=last_number(wet_run))


def sheet(**typed: str) -> dict[str, str]:
    return BASE | {f"{PLACE}{key[1:]}": text for key, text in typed.items()}


def stands(wet_run: WetRun) -> dict[str, str]:
    return {place.removeprefix(PLACE): one.typed for place, one in standing_readings(wet_run, PLACE).items()}


def test_only_what_was_changed_is_written(wet_run: WetRun, reed: User) -> None:
    kept = keep_sheet(wet_run, sheet(p2="40.1", p3="38.8"), read(wet_run), reed)
    assert kept.places == (f"{PLACE}2", f"{PLACE}3")
    assert stands(wet_run) == {"2": "40.1", "3": "38.8"}
    assert [one.number for one in wet_run.readings.all()] == [1, 2]


def test_a_sheet_that_is_sent_twice_is_kept_once(wet_run: WetRun, reed: User) -> None:
    first = read(wet_run)
    keep_sheet(wet_run, sheet(p3="38.8"), first, reed)
    again = keep_sheet(wet_run, sheet(p3="38.8"), first, reed)
    assert (again.places, again.clashes) == ((), {})
    assert wet_run.readings.count() == 1


def test_two_who_fill_in_different_tips_of_one_sheet_keep_both(wet_run: WetRun, reed: User, ash: User) -> None:
    both = read(wet_run)
    keep_sheet(wet_run, sheet(p2="40.1"), both, reed)
    keep_sheet(wet_run, sheet(p3="38.8"), both, ash)
    assert stands(wet_run) == {"2": "40.1", "3": "38.8"}


def test_what_two_typed_differently_at_one_tip_is_told_to_the_second_and_not_written(
    wet_run: WetRun, reed: User, ash: User
) -> None:
    both = read(wet_run)
    keep_sheet(wet_run, sheet(p3="38.8"), both, reed)
    late = keep_sheet(wet_run, sheet(p3="39.8", p1="39.3"), both, ash)
    assert late.places == (f"{PLACE}1",)
    assert {place: (one.typed, one.by) for place, one in late.clashes.items()} == {f"{PLACE}3": ("38.8", reed)}
    assert stands(wet_run) == {"1": "39.3", "3": "38.8"}
    # Having seen it, the second puts hers in its place; the first one's is still in the record.
    keep_sheet(wet_run, sheet(p3="39.8", p1="39.3"), read(wet_run), ash)
    assert stands(wet_run)["3"] == "39.8"
    assert list(wet_run.readings.filter(place=f"{PLACE}3").values_list("typed", flat=True)) == ["38.8", "39.8"]


def test_a_reading_taken_away_again_is_a_blank_of_its_own(wet_run: WetRun, reed: User) -> None:
    keep_sheet(wet_run, sheet(p1=""), read(wet_run), reed)
    assert stands(wet_run) == {"1": ""}


def test_a_proven_run_takes_none(wet_run: WetRun, reed: User) -> None:
    WetRun.objects.filter(pk=wet_run.pk).update(proven_at=timezone.now())
    with pytest.raises(RunProven):
        keep_sheet(wet_run, sheet(p3="38.8"), read(wet_run), reed)
    assert not Reading.objects.exists()


@pytest.mark.parametrize("tips", [3, 120])
def test_a_long_boom_is_kept_with_as_many_questions_as_a_short_one(
    wet_run: WetRun, reed: User, tips: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    typed = {f"{PLACE}{n}": "39.1" for n in range(1, tips + 1)}
    with django_assert_num_queries(6):
        keep_sheet(wet_run, typed, SheetRead(base={}, number=0), reed)
    assert wet_run.readings.count() == tips
