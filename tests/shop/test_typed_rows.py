"""Rows of a sheet: added, taken away, put in order by buttons, and blank ones left out."""

from __future__ import annotations

from typing import Any

import pytest
from tests.shop.typed_cases import MACHINE, PASS, again, page_of, typed_in

from wetrun.documents.machine_entry import MachineEntry
from wetrun.documents.pass_entry import PassEntry, ProductEntry
from wetrun.documents.plumbing_entry import PlumbingEntry
from wetrun.documents.season_entry import SeasonEntry
from wetrun.documents.wetrun_tests_entry import RunEntry
from wetrun.shop.typed.sheet import Sheet


def names(sheet: Sheet) -> list[Any]:
    return [one["name"] for one in sheet.document["product"]]


def test_a_row_is_added_and_filled_in() -> None:
    more = typed_in(PassEntry, PASS, {"name": "Early", "__do": "add:sheet.product"})
    assert more.wants_more
    assert not more.is_ok()
    assert "Product 3" in page_of(more)
    sheet = Sheet(PassEntry, raw=PASS, posted=again(more, {"product.n0.name": "Grassline"}))
    assert not sheet.wants_more
    assert names(sheet) == ["Clearground", "Clingwell", "Grassline"]
    assert sheet.document["name"] == "Early"


@pytest.mark.parametrize(
    ("action", "left"),
    [
        ("drop:sheet.product.0", ["Clingwell"]),
        ("up:sheet.product.1", ["Clingwell", "Clearground"]),
        ("down:sheet.product.0", ["Clingwell", "Clearground"]),
        ("up:sheet.product.0", ["Clearground", "Clingwell"]),
        ("down:sheet.product.1", ["Clearground", "Clingwell"]),
        ("drop:sheet.product.7", ["Clearground", "Clingwell"]),
    ],
)
def test_a_button_moves_a_row_or_takes_it_away(action: str, left: list[str]) -> None:
    moved = typed_in(PassEntry, PASS, {"__do": action})
    sheet = Sheet(PassEntry, raw=PASS, posted=again(moved, {}))
    assert names(sheet) == left
    products = {one["name"]: one for one in PASS["product"]}
    assert sheet.document["product"] == [products[name] for name in left]


def test_a_row_takes_what_its_sheet_does_not_show_along() -> None:
    raw = {**PASS, "product": [{**PASS["product"][0], "colour": 1}, {**PASS["product"][1], "colour": 2}]}
    moved = typed_in(PassEntry, raw, {"__do": "up:sheet.product.1"})
    found = Sheet(PassEntry, raw=raw, posted=again(moved, {})).document["product"]
    assert [(one["name"], one["colour"]) for one in found] == [("Clingwell", 2), ("Clearground", 1)]


def test_rows_inside_rows_have_buttons_of_their_own() -> None:
    more = typed_in(PassEntry, PASS, {"__do": "add:sheet.product.1.tips"})
    sheet = Sheet(PassEntry, raw=PASS, posted=again(more, {"product.1.tips.n0.tip": "iso-11004-ff"}))
    assert sheet.document["product"][1]["tips"] == ["iso-11004-ff"]  # a bare value, as most labels need no more
    assert sheet.document["product"][0] == PASS["product"][0]


def test_blank_rows_are_left_out_wherever_they_stand() -> None:
    more = typed_in(PassEntry, PASS, {"__do": "add:sheet.product"})
    more = Sheet(PassEntry, raw=PASS, posted=again(more, {"__do": "up:sheet.product.n0"}))
    sheet = Sheet(PassEntry, raw=PASS, posted=again(more, {"product.0.name": "", "product.0.rate": "", "__do": None}))
    assert names(sheet) == ["Clingwell"]


def test_what_is_wrong_behind_a_blank_row_stands_at_its_own_row() -> None:
    more = typed_in(PassEntry, PASS, {"__do": "add:sheet.product"})
    more = Sheet(PassEntry, raw=PASS, posted=again(more, {"__do": "up:sheet.product.n0"}))
    sheet = Sheet(PassEntry, raw=PASS, posted=again(more, {"product.1.in_spray": "2 psi"}))
    assert not sheet.is_ok()
    assert [one.at for one in sheet.wrong] == ["sheet-product-1-in_spray"]
    assert sheet.wrong[0].where == "Products – Product 3: Clingwell – Or per volume of mix"


def test_the_last_row_taken_away_takes_the_list_out() -> None:
    raw = {**MACHINE, "owned": [{"tip": "iso-11004-ff"}]}
    gone = typed_in(MachineEntry, raw, {"__do": "drop:sheet.owned.0"})
    assert Sheet(MachineEntry, raw=raw, posted=again(gone, {})).document == MACHINE
    empty = {**MACHINE, "owned": []}
    assert typed_in(MachineEntry, empty, {"name": "Number 8"}).document == {**empty, "name": "Number 8"}


def test_a_list_that_has_to_hold_something_begins_with_a_blank_row() -> None:
    assert "Pass 1" in page_of(Sheet(SeasonEntry, raw={}))
    assert "Set 1" not in page_of(Sheet(MachineEntry, raw={}))


def test_a_single_table_stands_without_its_list_as_it_did_before() -> None:
    one: dict[str, Any] = {"line": "1 in", "valve": {"drop": "1 psi", "flow": "8 gal/min"}}
    sheet = typed_in(PlumbingEntry, one, {"valve.0.drop": "2"})
    assert sheet.document["valve"] == {"drop": "2 psi", "flow": "8 gal/min"}
    many = {"line": "1 in", "valve": [one["valve"]]}
    assert typed_in(PlumbingEntry, many, {"valve.0.drop": "2"}).document["valve"] == [sheet.document["valve"]]


def test_values_by_name_are_added_named_anew_and_taken_away() -> None:
    raw = {"way": "out", "shown": {"GPS": "12.9 mph"}, "pulses": {"wheel": 322}}
    more = typed_in(RunEntry, raw, {"__do": "add:sheet.shown"})
    typed = {"shown.n0.name": "radar", "shown.n0.value": "12,8", "pulses.0.value": "321.5"}
    sheet = Sheet(RunEntry, raw=raw, posted=again(more, typed))
    assert sheet.document == {
        "way": "out",
        "shown": {"GPS": "12.9 mph", "radar": "12,8 mph"},
        "pulses": {"wheel": 321.5},
    }
    assert typed_in(RunEntry, raw, {"shown.0.name": "satellite"}).document["shown"] == {"satellite": "12.9 mph"}
    gone = typed_in(RunEntry, raw, {"__do": "drop:sheet.shown.0"})
    assert "shown" not in Sheet(RunEntry, raw=raw, posted=again(gone, {})).document


def test_a_name_that_stands_there_twice_is_refused_and_both_values_stay_on_the_page() -> None:
    raw = {"way": "out", "shown": {"GPS": "12.9 mph", "radar": "12.8 mph"}}
    sheet = typed_in(RunEntry, raw, {"shown.1.name": "GPS"})
    assert not sheet.is_ok()
    assert [one.at for one in sheet.wrong] == ["sheet-shown-1-name"]
    assert 'value="12.8 mph"' in page_of(sheet)


def test_a_list_takes_no_more_rows_than_its_entry_allows() -> None:
    keys = ["", "0", *(f"n{at}" for at in range(10_000))]
    raw = {"name": "Broadstop", "tips": ["iso-11004-ff"]}
    sheet = typed_in(ProductEntry, raw, {"tips": keys, **{f"tips.n{at}.tip": f"tip {at}" for at in range(10_000)}})
    assert len(sheet.document["tips"]) == 501  # one more than allowed, so that the entry says no
    assert not sheet.is_ok()
    assert sheet.document["name"] == "Broadstop"
    assert any("More rows were sent" in one.words for one in sheet.wrong)


def test_a_value_without_its_name_is_asked_for_one() -> None:
    raw = {"way": "out", "shown": {"GPS": "12.9 mph"}}
    sheet = typed_in(RunEntry, raw, {"shown.0.name": ""})
    assert not sheet.is_ok()
    assert [one.at for one in sheet.wrong] == ["sheet-shown-0-name"]
    assert 'value="12.9 mph"' in page_of(sheet)


def test_the_page_begins_at_the_row_that_was_added() -> None:
    page = page_of(typed_in(PassEntry, PASS, {"__do": "add:sheet.product"}))
    assert page.count(" autofocus") == 1
    assert (
        page.index('id="sheet-product-n0-name"') < page.index(" autofocus") < page.index('id="sheet-product-n0-form"')
    )
    assert 'value="add:sheet.product" formaction="#sheet-product-n1"' in page
    assert " autofocus" not in page_of(typed_in(PassEntry, PASS, {"name": "Early"}))
