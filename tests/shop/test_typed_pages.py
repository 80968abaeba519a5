"""A sheet as a page: a label for every box, words tied to what they tell of, problems linked from the top."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any

import pytest
from pydantic import BaseModel
from tests.shop.test_typed_round_trip import DOCUMENTS
from tests.shop.typed_cases import MACHINE, PASS, page_of, typed_in
from tests.shop_cases import demo

from wetrun.documents.load_entry import FilledMachineEntry
from wetrun.documents.machine_entry import MachineEntry
from wetrun.documents.pass_entry import PassEntry
from wetrun.documents.season_entry import SeasonEntry
from wetrun.documents.wetrun_yard_entry import GatesEntry, StepEntry
from wetrun.errors import Problem
from wetrun.quantity import System
from wetrun.shop.typed.layouts import LAYOUT
from wetrun.shop.typed.sheet import Sheet

CONTROLS = {"input", "select", "textarea"}


class _Seen(HTMLParser):
    """Collects what ties a page together."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {key: value or "" for key, value in attrs}))


def tags_of(page: str) -> list[tuple[str, dict[str, str]]]:
    seen = _Seen()
    seen.feed(page)
    return seen.tags


def whole_page(path: Any, key: str, entry: type[BaseModel]) -> str:
    raw = demo(path.name)[key] if key else demo(path.name)
    return page_of(Sheet(entry, raw=raw))


DEMOS = [case for case in DOCUMENTS if case[0].parent.name == "demo"]


@pytest.mark.parametrize(("path", "key", "entry"), DEMOS, ids=lambda value: getattr(value, "name", str(value)))
def test_every_box_has_its_label_and_every_mark_its_end(path: Any, key: str, entry: type[BaseModel]) -> None:
    tags = tags_of(whole_page(path, key, entry))
    ids = {given["id"] for _, given in tags if "id" in given}
    labels = {given["for"] for tag, given in tags if tag == "label"}
    boxes = [given for tag, given in tags if tag in CONTROLS and given.get("type") != "hidden"]
    assert len(boxes) > 25
    assert {box["id"] for box in boxes} == labels
    for _, given in tags:
        ends = f"{given.get('aria-describedby', '')} {given.get('aria-labelledby', '')} {given.get('list', '')}".split()
        assert set(ends) <= ids


@pytest.mark.parametrize(("path", "key", "entry"), DEMOS, ids=lambda value: getattr(value, "name", str(value)))
def test_a_page_has_no_style_or_script_of_its_own(path: Any, key: str, entry: type[BaseModel]) -> None:
    tags = tags_of(whole_page(path, key, entry))
    assert {"style", "script"}.isdisjoint(tag for tag, _ in tags)
    assert not any(name == "style" or name.startswith("on") for _, given in tags for name in given)


def test_a_set_of_fields_has_a_legend_or_the_words_it_is_folded_under() -> None:
    page = page_of(Sheet(SeasonEntry, raw=demo("season.toml")))
    for opened in re.finditer(r"<fieldset([^>]*)>\s*(<legend>)?", page):
        assert opened[2] or "aria-labelledby" in opened[1]
    assert "<legend>Product 2: Longhold residual</legend>" in page


def test_the_first_button_of_a_sheet_keeps_it_so_that_the_enter_key_takes_no_row_away() -> None:
    buttons = [given for tag, given in tags_of(page_of(Sheet(PassEntry, raw=PASS))) if tag == "button"]
    assert "name" not in buttons[0]
    assert {button["name"] for button in buttons[1:]} == {"__do"}


def test_what_is_needed_is_marked_and_a_number_pad_comes_where_no_unit_can_be_needed() -> None:
    tags = {given["id"]: given for tag, given in tags_of(page_of(Sheet(StepEntry, raw={}))) if "id" in given}
    assert tags["sheet-sections_on"]["inputmode"] == "numeric"
    assert tags["sheet-name"]["aria-required"] == "true"
    assert "aria-required" not in tags["sheet-tips_on"]
    assert "inputmode" not in tags["sheet-speed"]  # people type 12 mph


def test_problems_stand_at_their_fields_and_are_linked_from_the_top() -> None:
    sheet = typed_in(MachineEntry, MACHINE, {"tank": "12 mph", "boom.sections": "8, 900", "control.loop": ""})
    assert not sheet.is_ok()
    page = page_of(sheet)
    assert "3 things are not right yet. Nothing you typed is lost." in page
    tags = tags_of(page)
    by_id = {given["id"]: given for _, given in tags if "id" in given}
    for one in sheet.wrong:
        assert f'<a href="#{one.at}">{one.where}</a>' in page
        assert by_id[one.at]["aria-invalid"] == "true"
        assert f"{one.at}-wrong" in by_id[one.at]["aria-describedby"]
    tank, *others = (one.words for one in sheet.wrong)
    assert tank.startswith("This is length per time; a volume belongs here; accepted here: gal, L")
    assert tank.endswith("Type it like 1200 gal.")
    assert others == [
        "Value 2: A section has 1 to 200 tips, not 900. Count its tips.",
        "This is needed. Fill it in.",
    ]


def test_limits_are_told_in_the_reader_s_units() -> None:
    for system, limit in ((System.US, "10000 gal"), (System.SI, "37854 L")):
        sheet = typed_in(MachineEntry, MACHINE, {"tank": "900000 L"}, system)
        assert not sheet.is_ok()
        assert limit in sheet.wrong[0].words


def test_a_problem_in_a_folded_part_opens_it() -> None:
    page = page_of(Sheet(FilledMachineEntry, raw=MACHINE))
    assert '<details class="sheet-folded">' in page
    sheet = typed_in(FilledMachineEntry, MACHINE, {"plumbing.hose": "1"})
    assert not sheet.is_ok()
    opened = page_of(sheet)
    start = opened.index("Plumbing of the boom</summary>")
    assert opened.rindex("<details", 0, start) == opened.rindex('<details class="sheet-folded" open>', 0, start)


def test_problems_of_the_whole_season_stand_on_the_sheet_of_its_machine() -> None:
    sheet = Sheet(FilledMachineEntry, raw=demo("season.toml")["machine"])
    problems = [
        Problem("season.toml", "machine.owned[1].tip", "x", "there is no such tip", "Correct it"),
        Problem("season.toml", "machine.boom", "x", "its boom is odd", "Look again"),
        Problem("season.toml", "pass[2].rate (“Post”)", "x", "it is too high", "Lower it"),
    ]
    sheet.lay(problems, at="machine")
    assert [(one.at, one.words) for one in sheet.wrong] == [
        ("", "It is too high. Lower it."),
        ("sheet-boom", "Its boom is odd. Look again."),
        ("sheet-owned-0-tip", "There is no such tip. Correct it."),
    ]


def test_what_a_loader_tells_again_is_told_once() -> None:
    sheet = typed_in(PassEntry, PASS, {"rate.target": "15 psi"})
    assert not sheet.is_ok()
    before = list(sheet.wrong)
    sheet.check()
    assert sheet.wrong == before
    assert before[0].at == "sheet-rate-target"  # the rate was written bare, and the box is that of its target


def test_keys_left_out_of_a_layout_are_not_on_the_sheet_and_stay() -> None:
    layout = LAYOUT.without(FilledMachineEntry, "fill", "pump", "boom")
    raw = demo("season.toml")["machine"]
    assert "Filling" not in page_of(Sheet(FilledMachineEntry, raw=raw, layout=layout))
    sheet = typed_in(FilledMachineEntry, raw, {"relief": "99 psi"}, layout=layout)
    assert sheet.document == {**raw, "relief": "99 psi"}
    assert sheet.is_ok()


def test_suggestions_a_page_hands_over_go_with_their_boxes() -> None:
    page = page_of(Sheet(MachineEntry, raw={**MACHINE, "owned": [{"tip": ""}]}, offers={"tips": ["saltlick-06-pre"]}))
    offers = re.search(r'name="sheet\.owned\.0\.tip"[^>]* list="([^"]+)"', page)
    assert offers is not None
    assert f'<datalist id="{offers[1]}"><option value="saltlick-06-pre">' in page


def test_a_row_that_was_added_in_a_folded_part_is_seen() -> None:
    page = page_of(typed_in(FilledMachineEntry, MACHINE, {"__do": "add:sheet.plumbing.valve"}))
    start = page.index("Plumbing of the boom</summary>")
    assert page.rindex("<details", 0, start) == page.rindex('<details class="sheet-folded" open>', 0, start)
    more = page.rindex("<details", 0, page.index('id="sheet-plumbing-valve-n0-drop"'))
    assert page[more:].startswith('<details class="sheet-more" open>')


def test_a_long_text_is_seen_as_a_whole_and_kept_on_one_line() -> None:
    long = "UAN 32 in June; rinsed three times, filters out and clean, boom ends opened"
    raw = {"by": "A. Reed", "last_product": long}
    assert f"{long}</textarea>" in page_of(Sheet(GatesEntry, raw=raw))
    typed = f"{long}\r\n and looked at"
    assert (
        typed_in(GatesEntry, raw, {"last_product.remark": typed}).document["last_product"] == f"{long}  and looked at"
    )
