"""Wet runs from records: readings laid over the document, judged as the command line does, and proven for good."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.shop_cases import demo, make_catalogue, make_season, make_user, make_wet_run
from tests.shop_files import SMALL_RUN, make_small_run, make_small_season

from wetrun.documents.wetrun_entry import WetRunEntry
from wetrun.errors import InputProblems, NotDefined
from wetrun.quantity import System
from wetrun.shop.accounts.desk import Desk, desk_of
from wetrun.shop.accounts.models import Branch
from wetrun.shop.answers import proving
from wetrun.shop.answers.papers import paper_of
from wetrun.shop.answers.places import is_place, laid_over
from wetrun.shop.answers.proving import follow_up, prove
from wetrun.shop.answers.wet_runs import Judged, changes_between, document_of, is_judged, judge, judged, minutes_plan
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, MonitorSettings, Reading, Season, Trail, WetRun
from wetrun.shop.records.models.base import Frozen

WHOLE = {key: value for key, value in demo("wetrun.toml").items() if key != "season"}


@pytest.fixture
def desk(branch: Branch) -> Desk:
    return desk_of(make_user(branch), branch.pk)


@pytest.fixture
def run(machine: Machine) -> WetRun:
    make_catalogue(machine.branch)
    return make_wet_run(machine, make_season(machine))


def read(run: WetRun, place: str, typed: str) -> None:
    Reading.objects.create(wet_run=run, place=place, typed=typed, number=run.readings.count() + 1)


def over(*typed: tuple[str, str], document: dict[str, Any] | None = None) -> dict[str, Any]:
    laid, strange = laid_over(WHOLE if document is None else document, typed, WetRunEntry)
    assert not strange
    return laid


@pytest.mark.parametrize(
    ("place", "typed", "way", "value"),
    [
        ("catch.readings.23", "39.2", ("catch", "readings", 22), "39.2"),
        ("catch.readings.23", "", ("catch", "readings", 22), ""),
        ("catch.readings.23", "no flow", ("catch", "readings", 22), "no flow"),
        ("course.run.2.time", "15,7 s", ("course", "run", 1, "time"), "15,7 s"),
        ("course.run.2.time", "", ("course", "run", 1, "time"), ""),
        ("course.run.2.shown.GPS", "13.1 mph", ("course", "run", 1, "shown", "GPS"), "13.1 mph"),
        ("course.run.2.pulses.wheel", "323", ("course", "run", 1, "pulses", "wheel"), 323),
        ("course.run.2.pulses.No. 1", "323.5", ("course", "run", 1, "pulses", "No. 1"), 323.5),
        ("meter.catch.1.pulses", "34000", ("meter", "catch", 0, "pulses"), 34000),
        ("meter.catch.1.tank_marks", "yes", ("meter", "catch", 0, "tank_marks"), True),
        ("section.9.tips", "7", ("section", 8, "tips"), 7),
        ("section.9.tips", "seven", ("section", 8, "tips"), "seven"),
        ("ramp.step.1.rate.5", "15.2 gal/ac", ("ramp", "step", 0, "rate", 4), "15.2 gal/ac"),
        ("gates.overhead_lines", "true", ("gates", "overhead_lines"), True),
        ("gates.backflow", "hose out of the water", ("gates", "backflow"), "hose out of the water"),
        ("monitor.as_left.meter_number", "748", ("monitor", "as_left", "meter_number"), "748"),
        ("catch.swap.1.readings.58", "39.1", ("catch", "swap", 0, "readings", "58"), "39.1"),
        ("catch.new_tips", "1-2,71-72", ("catch", "new_tips"), "1-2,71-72"),
        ("steady.2.cab", "66 psi", ("steady", 1, "cab"), "66 psi"),
    ],
)
def test_what_is_typed_at_a_place_stands_there_as_its_file_would_have_it(
    place: str, typed: str, way: tuple[Any, ...], value: object
) -> None:
    found: Any = over((place, typed))
    for step in way:
        found = found[step]
    assert found == value
    assert type(found) is type(value)


def test_only_the_place_is_another_and_what_was_given_is_left_alone() -> None:
    before = deepcopy(WHOLE)
    laid = over(("catch.readings.23", "39.2"))
    assert before == WHOLE
    laid["catch"]["readings"][22] = 11.3
    assert laid == WHOLE


def test_a_later_reading_at_a_place_stands() -> None:
    laid = over(("catch.pressure", "41 psi"), ("catch.pressure", "42 psi"))
    assert laid["catch"]["pressure"] == "42 psi"


def test_what_is_taken_back_is_left_out_where_nothing_may_be_blank() -> None:
    assert "pressure" not in over(("catch.pressure", ""))["catch"]
    assert over(("ramp.step.1.rate.2", ""))["ramp"]["step"][0]["rate"] == [
        "15.1 gal/ac",
        "15.1 gal/ac",
        "14.9 gal/ac",
        "15.1 gal/ac",
    ]


def test_readings_build_a_sheet_from_nothing() -> None:
    laid = over(
        ("catch.unit", "fl oz"),
        ("catch.readings.2", "51.0"),
        ("catch.pressure", "40 psi"),
        ("course.run.1.way", "out"),
        ("course.run.1.time", "15.7 s"),
        ("tips.fitted", "iso-11004-ai"),
        document={},
    )
    assert laid == {
        "catch": {"unit": "fl oz", "readings": {"2": "51.0"}, "pressure": "40 psi"},
        "course": {"run": [{"way": "out", "time": "15.7 s"}]},
        "tips": {"fitted": "iso-11004-ai"},
    }


def test_a_bare_value_that_stood_for_a_table_keeps_its_meaning() -> None:
    laid = over(("gates.backflow.remark", "looked again"))
    assert laid["gates"]["backflow"] == {"remark": "looked again"}
    assert WHOLE["gates"]["backflow"] == "air gap at the fill"


@pytest.mark.parametrize(
    "place",
    [
        "",
        "nothing",
        "catch.nothing",
        "catch.readings",
        "catch.readings.0",
        "catch.readings.x",
        "course.run",
        "course",
        "course.run.99999.time",
        "catch.readings.2.3",
        "title.more",
        "course.run.1.shown",
    ],
)
def test_a_place_no_wet_run_has_is_told(place: str) -> None:
    assert not is_place(place, WetRunEntry)
    assert laid_over(WHOLE, [(place, "1")], WetRunEntry) == (WHOLE, (place,))


@settings(max_examples=200)
@given(
    place=st.lists(st.sampled_from([*WHOLE, "readings", "run", "time", "1", "0", "-1", "shown", "x", ""]), max_size=5)
)
def test_no_place_breaks_anything(place: list[str]) -> None:
    laid, strange = laid_over(WHOLE, [(".".join(place), "1")], WetRunEntry)
    assert laid == WHOLE or not strange


@pytest.mark.django_db
def test_a_run_is_judged_from_its_readings_as_they_are_now(run: WetRun) -> None:
    judge(run)
    assert run.verdict == "fail"
    assert "tip 23 gives 71 % less than its boom" in run.sentence
    assert run.sentence == run.in_us["sentence"]
    assert run.agrees is False
    assert is_judged(run)
    read(run, "catch.readings.23", "39.2")
    assert not is_judged(run)
    judge(run)
    assert "tip 23" not in run.sentence
    assert run.in_us["boom"]["picture_svg"].startswith("<svg")
    assert run.in_si["verdict"] == run.verdict


@pytest.mark.django_db
def test_what_cannot_be_judged_says_why_and_shows_no_old_answer(run: WetRun) -> None:
    judge(run)
    read(run, "catch.pressure", "40 foo")
    read(run, "course.run.2.way", "")
    judge(run)
    assert [row["key"] for row in run.problems] == ["course.run[2].way", "catch.pressure"]
    assert all(row["words"].startswith("wetrun.toml: ") for row in run.problems)
    assert (run.verdict, run.sentence, run.digest, run.in_us, run.agrees) == ("", "", "", None, None)


@pytest.mark.django_db
def test_a_reading_at_a_place_that_is_none_is_told_and_not_lost(run: WetRun) -> None:
    read(run, "catch.nothing", "1")
    judge(run)
    (row,) = run.problems
    assert row["key"] == "catch.nothing"
    assert run.readings.count() == 1


@pytest.mark.django_db
def test_a_run_without_a_season_stands_on_its_machine_alone(run: WetRun) -> None:
    run.machine.document["fill"] = {"usable": "1180 gal"}
    run.season = None
    del run.document["pass"]
    run.document["tips"]["catalogue"] = "tips.csv"
    run.document["ramp"]["rate"] = "15 gal/ac"
    judge(run)
    assert run.problems == []
    assert run.in_us["customer"] == ""


@pytest.fixture
def small(branch: Branch) -> WetRun:
    return make_small_run(make_small_season(branch))


@pytest.mark.django_db
def test_a_proven_run_stays_as_it_was_whatever_comes_after(small: WetRun, desk: Desk) -> None:
    read(small, "catch.readings.16", "790")
    prove(small, desk)
    before = WetRun.objects.get(pk=small.pk)
    assert before.document["catch"]["readings"][15] == "790"
    assert set(before.files_then) == {"wetrun.toml", "season.toml"}
    assert before.machine_then == small.machine.document
    paper = paper_of(before, "wet run", system=System.US, size="letter", shop="A")
    small.machine.document["boom"]["sections"] = [24]
    small.machine.save()
    Season.objects.update(document={"title": "Another"})
    again = WetRun.objects.get(pk=small.pk)
    judge(again)
    assert (again.in_us, again.in_si, again.digest) == (before.in_us, before.in_si, before.digest)
    assert paper_of(again, "wet run", system=System.US, size="letter", shop="A") == paper


@pytest.mark.django_db
def test_nothing_writes_over_a_proven_run(small: WetRun, desk: Desk) -> None:
    prove(small, desk)
    small.title = "Another"
    with pytest.raises(Frozen):
        kept(small, desk, "changed")
    with pytest.raises(Frozen):
        prove(small, desk)
    with pytest.raises(Frozen):
        WetRun.objects.get(pk=small.pk).save(update_fields=["title"])
    assert WetRun.objects.get(pk=small.pk).title == "Small wet run"


@pytest.mark.django_db
def test_proving_leaves_a_trail_and_the_monitor_s_numbers(small: WetRun, desk: Desk) -> None:
    prove(small, desk)
    numbers = MonitorSettings.objects.get()
    assert numbers.document == tomllib.loads(SMALL_RUN)["monitor"]
    assert (numbers.by, numbers.on, numbers.wet_run) == ("A. Reed", small.on, small)
    line = Trail.objects.get(kind="WetRun")
    assert (line.what, line.by) == ("proven: fail", desk.user)
    assert small.proven_by == desk.user
    assert [row["part"] for row in small.in_us["untested"]]  # what stays unproven is kept with it


@pytest.mark.django_db
def test_what_cannot_be_judged_cannot_be_proven(small: WetRun, desk: Desk) -> None:
    read(small, "catch.pressure", "3 foo")
    with pytest.raises(InputProblems):
        prove(small, desk)
    assert WetRun.objects.get(pk=small.pk).is_open


@pytest.mark.django_db
def test_a_reading_that_comes_in_while_a_run_is_judged_is_never_left_out(
    small: WetRun, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def judged_slowly(run: WetRun) -> Judged:
        found = judged(run)
        read(run, "catch.readings.16", "790")
        return found

    monkeypatch.setattr(proving, "judged", judged_slowly)
    with pytest.raises(NotDefined, match="a reading was kept while it was being judged"):
        prove(small, desk)
    assert WetRun.objects.get(pk=small.pk).is_open


@pytest.mark.django_db
def test_a_corrected_run_takes_the_place_of_a_proven_one(small: WetRun, desk: Desk) -> None:
    prove(small, desk)
    following = follow_up(small, desk)
    read(following, "catch.readings.16", "790")
    prove(following, desk, supersedes=small)
    small.refresh_from_db()
    assert small.superseded_by == following
    third = follow_up(small, desk)
    with pytest.raises(NotDefined, match="another run supersedes it already"):
        prove(third, desk, supersedes=small)
    with pytest.raises(NotDefined, match="it is not proven"):
        prove(WetRun.objects.get(pk=third.pk), desk, supersedes=follow_up(small, desk))
    assert WetRun.objects.get(pk=third.pk).is_open


@pytest.mark.django_db
def test_what_changed_between_two_runs_is_told_in_the_reader_s_units(small: WetRun, desk: Desk) -> None:
    prove(small, desk)
    following = follow_up(small, desk)
    read(following, "catch.readings.16", "790")
    for system in System:
        told = changes_between(small, following, system)
        assert told["since"] == "2027-03-12"
        assert any("16" in row["thing"] for row in told["changed"])


@pytest.mark.django_db
def test_a_day_is_planned_for_a_machine_of_which_nothing_is_known_yet(branch: Branch) -> None:
    season = make_small_season(branch)
    run = WetRun(branch=branch, machine=season.machine, season=season, title="New", document={})
    short, long = (minutes_plan(run, minutes, 8, System.SI) for minutes in (20, 300))
    assert "the first set on hand" in short["guessed"]
    assert len(short["tests"]) < len(long["tests"])
    assert document_of(run) == {}
    assert sum(row["chosen"] for row in long["ways"]) == 1
