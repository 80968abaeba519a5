"""The papers as PDF: the same bytes twice, user text literal, one page per cab card, all or nothing on the disk."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader
from tests.paper_reading import text_of

from wetrun.errors import CannotWrite
from wetrun.papers.card_data import card_data
from wetrun.papers.extras import Extras
from wetrun.papers.papers import Paper, card_pdf, pass_names, plan_pdf, write_papers
from wetrun.papers.plan_data import plan_data
from wetrun.papers.reader import Reader
from wetrun.papers.typst_paper import BREAK, printable, render
from wetrun.quantity import System

POINTS = {Paper.LETTER: (612, 792), Paper.A4: (595, 842)}
NASTY = (
    '#panic("x")',
    "*bold* _under_ `code`",
    "$ x^2 $ \\ \\u{1F4A9} @label",
    "\"quotes\" 'and' <b>tags</b>",
    "= Heading // comment /* more */",
    "#let a = [ #a ] ]]]",
)


def cards_of(report, reader, extras=None):
    made = [card_data(one, report, reader, extras or Extras()) for one in report.plan.proposed.passes]
    return [card for card in made if card is not None]


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("system", System)
def test_papers_come_out_in_both_unit_systems_on_both_sizes(report, system, paper):
    reader = Reader(system)
    for pdf in (plan_pdf(report, reader, paper, Extras()), card_pdf(cards_of(report, reader)[0], paper)):
        box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
        assert (round(float(box.width)), round(float(box.height))) == POINTS[paper]
        said = text_of(pdf)
        assert ("km/h" in said) is (system is System.SI)
        assert ("mph" in said) is (system is System.US)


def test_the_same_plan_gives_the_same_bytes(report):
    reader = Reader(System.US)
    once, twice = (plan_pdf(report, reader, Paper.LETTER, Extras()) for _ in range(2))
    assert once == twice
    assert b"CreationDate" not in once


def test_the_plan_opens_with_the_answer_and_the_shares_before_any_tip(report):
    said = text_of(plan_pdf(report, Reader(System.US), Paper.LETTER, Extras()))
    answer = said.index("tip sets hold 64 % of your 3,600 ac")
    assert answer < said.index("share held") < said.index("generic 110-")
    assert "Post herbicide" in said
    assert "What one more set brings" in said
    assert "The label is the law" in said
    assert f"method {report.plan.method_number}" in said


def test_a_pass_without_a_set_is_explained_product_by_product(report):
    said = text_of(plan_pdf(report, Reader(System.US), Paper.LETTER, Extras()))
    assert "No tip set can be put on for this pass" in said
    for words in ("Canopy Guard: at least 20.0 gal/ac", "the customer's own wish: 15.0 gal/ac", "Canopy Guard: F"):
        assert words in said
    assert not any(card["name"] == "Late cover" for card in cards_of(report, Reader(System.US)))


def test_the_plan_speaks_of_density_wear_turns_and_the_labels_maximum(report):
    said = text_of(plan_pdf(report, Reader(System.US), Paper.LETTER, Extras()))
    for words in (
        "Density in the wrong place",
        "as for UAN top-dress",
        "more Fieldclear 4 goes on",
        "sprayed in turns",
    ):
        assert words in said
    assert "Density was applied in the pressure the tip needs and in the losses" in said


def test_a_cab_card_is_one_page_with_the_numbers_of_the_monitor(report):
    extras = Extras(typed={"machine.control.hold.pressure": "25 psi, typed"})
    for card in cards_of(report, Reader(System.US), extras):
        pdf = card_pdf(card, Paper.LETTER)
        assert len(PdfReader(io.BytesIO(pdf)).pages) == 1
        said = text_of(pdf)
        for words in ("25 psi, typed", "20.0 in", "120 ft", "9 sections of 8 tips", card["window"], "leave at water"):
            assert words in said
        assert 3 <= len(card["ladder"]) <= 7


def test_a_crowded_cab_card_still_is_one_page_and_loses_nothing(report):
    card = cards_of(report, Reader(System.US))[0]
    rows = [{"product": f"Product {n}", "thing": "wind", "limit": f"at most {n} mph"} for n in range(60)]
    pdf = card_pdf(card | {"label": rows}, Paper.A4)
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1
    said = text_of(pdf)
    assert all(f"Product {n}" in said for n in range(60))
    assert card["cautions"][-1] in said


def test_a_pass_longer_than_a_page_is_broken_and_loses_nothing(report):
    data = plan_data(report, Reader(System.US), Extras())
    data["passes"][0]["label-lines"] = [{"product": f"Product {n}", "limits": "wind " * 20} for n in range(90)]
    pdf = render("tip_plan", data | {"paper": "a4"})
    said = text_of(pdf)
    assert all(f"Product {n}" in said for n in range(90))
    assert "Made by season tip plan" in said


def test_a_pass_that_fits_a_page_stands_on_one(report):
    pages = PdfReader(io.BytesIO(plan_pdf(report, Reader(System.US), Paper.LETTER, Extras()))).pages
    texts = [page.extract_text().replace(BREAK, "") for page in pages]
    for ident in ("Post herbicide", "UAN top-dress"):
        # The opening table names every pass too; the block of a pass also says what its shares rest on.
        (own,) = (
            text
            for text in texts
            if ident in text
            and "share held" in text
            and "the label" in text
            and text.index(ident) < text.index("the label")
            and "What one more set" not in text
        )
        assert "Speeds as stated" in own


def renamed(season, make_pass, nasty):
    one = make_pass(nasty, crop=nasty)
    product = replace(one.products[0], name=nasty)
    sprayer = replace(season.sprayer, name=nasty)
    planned = replace(one, products=(product,))
    return replace(season, title=nasty, customer=nasty, sprayer=sprayer, passes=(planned,))


@pytest.mark.parametrize("nasty", NASTY)
def test_user_text_is_printed_as_it_stands(season, make_pass, make_report, nasty):
    report = make_report(renamed(season, make_pass, nasty))
    reader = Reader(System.US)
    extras = Extras(shop=nasty, log_notes={nasty: (nasty,)}, typed={"machine.control.hold.pressure": nasty})
    plan = text_of(plan_pdf(report, reader, Paper.LETTER, extras))
    (card,) = cards_of(report, reader, extras)
    shown = " ".join(nasty.split())
    assert plan.count(shown) >= 5
    assert text_of(card_pdf(card, Paper.LETTER)).count(shown) >= 3


@pytest.mark.parametrize(
    "odd", ["W" * 200, "Nightingale \U0001f600 field", "a\x00b\x1b[31m", "שדה 农场", "\u202etxt.exe"]
)
def test_odd_text_never_stops_a_paper_or_runs_off_it(season, make_pass, make_report, odd):
    report = make_report(renamed(season, make_pass, odd))
    reader = Reader(System.SI)
    assert plan_pdf(report, reader, Paper.A4, Extras(shop=odd)).startswith(b"%PDF")
    assert card_pdf(cards_of(report, reader)[0], Paper.A4).startswith(b"%PDF")


def test_long_runs_of_letters_may_be_broken_and_pictures_are_left_alone():
    data = printable({"name": "W" * 60, "lane_svg": "W" * 60, "rows": [["W" * 60]]})
    assert data["name"].replace(BREAK, "") == "W" * 60
    assert max(map(len, data["name"].split(BREAK))) <= 24
    assert data["lane_svg"] == "W" * 60
    assert BREAK in data["rows"][0][0]


def test_the_data_of_a_plan_is_plain(report):
    def check(part):
        if isinstance(part, dict):
            assert all(isinstance(key, str) for key in part)
            return [check(value) for value in part.values()]
        if isinstance(part, list):
            return [check(value) for value in part]
        assert part is None or isinstance(part, str | bool | int | float), part
        return part

    assert check(plan_data(report, Reader(System.US), Extras()))


def test_every_paper_is_written_and_nothing_else(report, tmp_path):
    written = write_papers(report, tmp_path / "new" / "folder", system=System.US, paper="letter")
    names = {path.name for path in written}
    assert names == {path.name for path in (tmp_path / "new" / "folder").iterdir()}
    assert {"tip-plan.pdf", "cab-card-post-herbicide.pdf", "cab-card-uan-top-dress.pdf"} <= names
    assert {f"lanes-post-herbicide-{system}.svg" for system in System} <= names
    assert "km/h" in (tmp_path / "new" / "folder" / "lanes-post-herbicide-si.svg").read_text(encoding="utf-8")


def test_a_folder_that_cannot_be_written_is_a_sentence_and_leaves_nothing(report, tmp_path):
    in_the_way = tmp_path / "plan"
    in_the_way.write_text("a file, not a folder", encoding="utf-8")
    with pytest.raises(CannotWrite, match=r"cannot be written: .*Choose another folder"):
        write_papers(report, in_the_way, system=System.US, paper="letter")
    assert in_the_way.read_text(encoding="utf-8") == "a file, not a folder"


def test_passes_of_one_name_get_files_of_their_own():
    names = pass_names(["Pass 1", "pass-1", "../../etc", "", "x" * 300])
    assert len(set(names)) == 5
    assert not any("/" in name or "." in name or len(name) > 64 for name in names)
