"""Nothing a browser sends makes a sheet fail, and nothing of it costs what stands elsewhere on the sheet."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import QueryDict
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.shop.form_reading import sent_by
from tests.shop.typed_cases import MACHINE, PASS, page_of, typed_in
from tests.shop_cases import demo

from wetrun.documents.load_entry import FilledMachineEntry
from wetrun.documents.pass_entry import PassEntry
from wetrun.documents.season_entry import SeasonEntry
from wetrun.shop.document_field import document_of, document_text
from wetrun.shop.typed.sheet import Sheet

RAW: dict[str, Any] = demo("season.toml")["machine"]
SENT = sent_by(page_of(Sheet(FilledMachineEntry, raw=RAW)))
NAMES = sorted(set(SENT) - {"sheet.name"})
TEXTS = st.text(max_size=40) | st.sampled_from(
    [
        "\x00",
        "yes",
        "no",
        "0",
        "-1",
        "n0",
        "n99999",
        "00",
        "1e400",
        "9" * 400,
        "none",
        "<script>",
        "leave out",
        "; , ;",
        "٣",
    ]
)
MADE_UP = st.sampled_from(
    [f"{name}{tail}" for name in NAMES for tail in ("", ".0", ".n0", ".__is", ".n0.tip", ".", ".name")]
)
ACTIONS = st.builds("{}:{}".format, st.sampled_from(["add", "drop", "up", "down", "eat"]), MADE_UP | TEXTS)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.dictionaries(MADE_UP, st.lists(TEXTS, min_size=1, max_size=4), max_size=12),
    st.lists(st.sampled_from(NAMES), max_size=8),
    st.none() | ACTIONS | TEXTS,
)
def test_whatever_is_sent_gives_a_page_and_a_document_that_can_be_kept(
    typed: dict[str, list[str]], lost: list[str], action: str | None
) -> None:
    posted = SENT.copy()
    for name in lost:
        posted.pop(name, None)
    for name, texts in typed.items():
        posted.setlist(name, texts)
    if action is not None:
        posted["__do"] = action
    sheet = Sheet(FilledMachineEntry, raw=RAW, posted=posted)
    sheet.is_ok()
    assert 'value="Number 7, 120 ft"' in page_of(sheet)
    assert sheet.document["name"] == RAW["name"]
    assert document_of(document_text(sheet.document)) == sheet.document
    assert "\x00" not in document_text(sheet.document)


def test_pieces_that_did_not_come_stay_as_they_were() -> None:
    posted = QueryDict(mutable=True)
    posted["sheet.relief"] = "99 psi"
    assert Sheet(FilledMachineEntry, raw=RAW, posted=posted).document == {**RAW, "relief": "99 psi"}


def test_rows_with_keys_of_no_row_are_new_ones_and_twins_are_one() -> None:
    typed = {
        "product": ["", "1", "1", "7", "n3", "-1", "01", "x"],
        "product.7.name": "Seven",
        "product.n3.name": "Three",
    }
    sheet = typed_in(PassEntry, PASS, typed)
    assert [one["name"] for one in sheet.document["product"]] == ["Clingwell", "Seven", "Three"]


def test_a_flood_of_rows_in_rows_is_cut_off() -> None:
    posted = QueryDict(mutable=True)
    posted["sheet.title"] = "Season"
    for name in ("sheet.pass", *(f"sheet.pass.n{at}.product" for at in range(200))):
        posted.setlist(name, [f"n{at}" for at in range(80)])
    sheet = Sheet(SeasonEntry, raw={"format_version": 1}, posted=posted)
    assert not sheet.is_ok()
    assert sheet.document == {"format_version": 1, "title": "Season"}
    assert any("More rows were sent" in one.words for one in sheet.wrong)


def test_what_was_typed_is_shown_as_text_and_never_as_markup() -> None:
    evil = '"><script>alert(1)</script>'
    typed = {"name": evil, "control.loop": evil, "boom.odd": ["", "n0", evil], "boom.odd.n0.positions": evil}
    sheet = typed_in(FilledMachineEntry, MACHINE, typed)
    assert not sheet.is_ok()
    page = page_of(sheet)
    assert "<script" not in page
    assert page.count("&lt;script&gt;") >= 4


@pytest.mark.parametrize("text", ["a\x00b", "a\x1bb", "a\x7fb"])
def test_signs_nobody_can_see_are_not_kept(text: str) -> None:
    assert typed_in(FilledMachineEntry, MACHINE, {"name": text}).document["name"] == "ab"
