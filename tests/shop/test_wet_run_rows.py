"""Tests typed row by row: one more catch, pair or step as it is read, whoever else is at it."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from tests.shop.test_wet_run_entry import Form, address, ash, machine, reed, wet_run
from tests.shop.test_wet_run_pages import words_of

from wetrun.shop.answers.one_more import ROWS
from wetrun.shop.answers.wet_run_tests import TESTS
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.records.models import WetRun

__all__ = ["ash", "machine", "reed", "wet_run"]

ONE_OF: dict[str, dict[str, str]] = {
    "meter": {
        "one.flow": "slow",
        "one.time": "136.9",
        "one.pulses": "34231",
        "one.gross": "592.7",
        "one.tare": "212.4",
    },
    "swaps": {"one.odd": "3", "one.with": "4", "one.readings": "3 = 25.4\n4 = 7.2"},
    "pressure": {"one.section": "1", "one.flow": "41.0", "one.cab": "38.6", "one.tip": "35"},
    "steady": {"one.meter": "45.6", "one.cab": "44", "one.gauge": "40"},
    "ramp": {"one.name": "slow", "one.speed": "11", "one.sections_on": "2", "one.rate": "15.1, 15.1, 14.9"},
    "sections": {
        "one.opened": "1",
        "one.tips": "5",
        "one.typed_tips": "5",
        "one.width": "100 in",
        "one.typed_width": "100 in",
    },
}
KEPT: dict[str, Any] = {
    "meter": {"flow": "slow", "time": "136.9 s", "pulses": 34231, "gross": "592.7 lb", "tare": "212.4 lb"},
    "swaps": {"odd": 3, "with": 4, "readings": {"3": 25.4, "4": 7.2}},
    "pressure": {"section": 1, "flow": "41.0 gal/min", "cab": "38.6 psi", "tip": "35 psi"},
    "steady": {"meter": "45.6 gal/min", "cab": "44 psi", "gauge": "40 psi"},
    "ramp": {
        "name": "slow",
        "speed": "11 mph",
        "sections_on": 2,
        "rate": ["15.1 gal/ac", "15.1 gal/ac", "14.9 gal/ac"],
    },
    "sections": {"opened": [1], "tips": 5, "typed_tips": 5, "width": "100 in", "typed_width": "100 in"},
}


def rows(run: WetRun, test: str) -> list[Any]:
    document = document_of(WetRun.objects.get(pk=run.pk))
    place = {
        "meter": ("meter", "catch"),
        "swaps": ("catch", "swap"),
        "pressure": ("pressure", "gauge"),
        "ramp": ("ramp", "step"),
    }
    found: Any = document
    for key in place.get(test, ({"sections": "section"}.get(test, test),)):
        found = found.get(key, {})
    return list(found or [])


def test_every_test_with_rows_has_a_case_here() -> None:
    assert set(ONE_OF) == set(ROWS) - {"course"}
    assert set(ROWS) <= {test.key for test in TESTS}


@pytest.mark.parametrize("test", list(ONE_OF))
def test_one_more_row_is_kept_as_it_was_typed_and_stands_in_the_table(reed: Client, wet_run: WetRun, test: str) -> None:
    answer = Form(reed, address(wet_run, test)).send(**ONE_OF[test])
    assert answer.status_code == 302, words_of(answer.content)
    assert rows(wet_run, test) == [KEPT[test]]
    said = words_of(reed.get(address(wet_run, test)).content)
    shown = next((text for text in KEPT[test].values() if isinstance(text, str)), "3: 25.4, 4: 7.2")
    assert said.index(shown) < said.index("One more")


@pytest.mark.parametrize("test", ["meter", "steady"])
def test_a_row_sent_twice_is_kept_once_and_another_s_row_is_kept_too(
    reed: Client, ash: Client, wet_run: WetRun, test: str
) -> None:
    mine, hers = (Form(client, address(wet_run, test)) for client in (reed, ash))
    mine.send(**ONE_OF[test])
    mine.send(**ONE_OF[test])
    other = ONE_OF[test] | {"meter": {"one.gross": "595.4"}, "steady": {"one.cab": "66"}}[test]
    hers.send(**other)
    assert len(rows(wet_run, test)) == 2


def test_the_same_row_typed_again_later_is_a_row_of_its_own(reed: Client, wet_run: WetRun) -> None:
    for _ in range(2):
        Form(reed, address(wet_run, "steady")).send(**ONE_OF["steady"])
    assert rows(wet_run, "steady") == [KEPT["steady"], KEPT["steady"]]


def test_a_bad_row_stays_in_its_boxes_and_the_rows_before_it_stay_too(reed: Client, wet_run: WetRun) -> None:
    Form(reed, address(wet_run, "meter")).send(**ONE_OF["meter"])
    page = Form(reed, address(wet_run, "meter")).send(**ONE_OF["meter"] | {"one.time": "soon"}).content.decode()
    assert 'value="soon"' in page
    assert 'id="one-time-wrong"' in page
    assert len(rows(wet_run, "meter")) == 1


def test_what_seldom_changes_is_there_already_and_alone_is_no_row(reed: Client, wet_run: WetRun) -> None:
    Form(reed, address(wet_run, "meter")).send(**ONE_OF["meter"])
    form = Form(reed, address(wet_run, "meter"))
    assert (form.sent["one.flow"], form.sent["one.tare"], form.sent["one.gross"]) == ("slow", "212.4 lb", "")
    assert form.send().status_code == 302
    assert len(rows(wet_run, "meter")) == 1
