"""The load sheet: one page whatever is in it, both unit systems and sizes, amounts in order, the same bytes twice."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from tests.paper_reading import text_of

from wetrun.documents.season_example import example_season
from wetrun.documents.season_file import read_season
from wetrun.papers.load_sheet import load_sheet_pdf
from wetrun.papers.load_sheet_data import load_sheet_data
from wetrun.papers.measured_amount import MarkedMeasures, counted, marked_measures, shared_areas
from wetrun.papers.papers import Paper
from wetrun.papers.reader import Reader
from wetrun.planning.formulation import Form
from wetrun.planning.load_wish import Band, LoadWish, Split
from wetrun.planning.loads import load_plan
from wetrun.planning.mixing import LabelOrder, LabelPlace, Mixing
from wetrun.planning.passes import Pass, Product
from wetrun.quantity import Kind, System, read

PAGES = {Paper.LETTER: (612, 792), Paper.A4: (595, 842)}
NASTY = ('#panic("x")', "*bold* _under_ `code`", "$ x^2 $", "<tags> & 'quotes'", "= Heading // gone")


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    path = tmp_path_factory.mktemp("loads") / "season.toml"
    path.write_text(example_season(), encoding="utf-8")
    return read_season(path)


def sheet_of(season, system=System.US, **changes):
    planned: Pass = replace(season.season.passes[0], **changes)
    marked = marked_measures(season.typed, system)
    plan = load_plan(planned, season.season.sprayer, marked.measures, water=season.season.water_test)
    return load_sheet_data(plan, marked, Reader(system), machine=season.season.sprayer.name, title="Season")


def pages_of(pdf):
    return len(PdfReader(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("system", System)
def test_a_sheet_is_one_page_in_both_units_and_sizes(season, paper, system):
    pdf = load_sheet_pdf(sheet_of(season, system), paper)
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == PAGES[paper]
    text = text_of(pdf)
    assert pages_of(pdf) == 1
    units = {System.US: (" gal", " lb", " ac"), System.SI: (" L", " kg", " ha")}
    assert all(unit in text for unit in units[system])
    other = {System.US: r"\d (L|kg|ha)\b", System.SI: r"\d (gal|lb|ac|fl oz)\b"}[system]
    assert not re.search(other, text)


def test_everything_on_the_sheet_stands_in_the_mixing_order(season):
    text = text_of(load_sheet_pdf(sheet_of(season), Paper.LETTER))
    table = text[text.index("goes in, in this order") :]
    names = [
        "Foam knock-down",
        "Ammonium salt, dry",
        "Residual granules",
        "Contact herbicide A",
        "Spreader",
        "Fill up to",
    ]
    places = [table.index(name) for name in names]
    assert places == sorted(places)
    for words in (
        "Jar test before the first load",
        "Where each load runs out",
        "The label is the law",
        "bleach",
        "mixed by",
    ):
        assert words in text


def test_the_same_data_give_the_same_bytes(season):
    sheet = sheet_of(season)
    assert load_sheet_pdf(sheet, Paper.A4) == load_sheet_pdf(sheet, Paper.A4)


def test_names_are_never_read_as_markup_and_a_long_sheet_stays_one_page(season):
    products = tuple(
        Product(name=name, rate_m3pm2=(at + 1) * 1.37e-7, mixing=Mixing(form=form))
        for at, (name, form) in enumerate(zip((*NASTY, "w" * 150), (*Form,), strict=False))
    )
    wish = LoadWish(split=Split.FULL, alike=False, field_length_m=700.0)
    area_m2 = read("4000 ac", Kind.AREA).si_value
    sheet = sheet_of(season, products=products, load=wish, area_m2=area_m2)
    assert len(sheet["columns"]) > 5
    pdf = load_sheet_pdf(sheet, Paper.LETTER)
    text = text_of(pdf)
    assert pages_of(pdf) == 1
    squeezed = text.replace(" ", "")
    assert all(
        name.replace(" ", "").replace("'", "") in squeezed.replace("'", "").replace("’", "").replace("‘", "")
        for name in NASTY
    )


def test_labels_that_leave_no_order_stop_the_sheet(season):
    last = LabelOrder(place=LabelPlace.LAST)
    products = tuple(
        Product(name=name, rate_m3pm2=1e-7, mixing=Mixing(form=Form.EC, label=last)) for name in ("One", "Two")
    )
    sheet = sheet_of(season, products=products)
    assert "The labels leave no order: One before Two" in sheet["stops"][0] or "Two before One" in sheet["stops"][0]
    text = text_of(load_sheet_pdf(sheet, Paper.LETTER))
    assert "STOP. The labels leave no order" in text


def test_less_spray_than_a_label_asks_for_stops_the_sheet(season):
    hungry = Product(name="One", rate_m3pm2=1e-7, carrier_low_m3pm2=read("20 gal/ac", Kind.RATE).si_value)
    assert "20.0 gal/ac" in sheet_of(season, products=(hungry,))["stops"][0]
    assert sheet_of(season)["stops"] == []


def test_a_pass_of_carrier_alone_has_no_jar_and_no_order(season):
    sheet = sheet_of(season, products=())
    assert [row["carrier"] for row in sheet["rows"]] == [True]
    text = text_of(load_sheet_pdf(sheet, Paper.LETTER))
    assert "Jar test before" not in text
    assert "Order: labels" not in text


def test_the_jar_as_printed_adds_up(season):
    for system in System:
        jar = sheet_of(season, system)["jar"]
        amounts = [jar["first"], jar["rest"], *(part["amount"] for part in jar["parts"] if "mL" in part["amount"])]
        tenths = [round(10 * float(text.split(" ")[0].replace(",", ""))) for text in amounts]
        assert sum(tenths) == round(10 * float(jar["whole"].split(" ")[0].replace(",", "")))


def test_measures_are_those_typed_or_the_usual_ones_of_the_readers_units():
    typed = {"machine.fill.jug": "4 fl oz", "machine.fill.scale": "0,1 lb", "machine.fill.gauge": "20 L"}
    us, metric = (marked_measures(typed, system) for system in System)
    assert (us.gauge.text, us.jug.text, us.scale.text) == ("1 gal", "4 fl oz", "0.1 lb")
    assert (metric.gauge.text, metric.jug.text, metric.scale.text) == ("20 L", "10 mL", "10 g")
    assert counted(33, us.jug, Reader(System.US)) == "1 gal 4 fl oz"
    assert counted(1234, us.scale, Reader(System.US)) == "123.4 lb"
    assert counted(123_450, metric.jug, Reader(System.SI)) == "1\u00a0234.50 L"
    assert isinstance(us, MarkedMeasures)


def test_small_fields_get_a_second_decimal():
    total, parts, decimals = shared_areas(4e4, [1e4, 1e4, 2e4], Reader(System.SI))
    assert (total, parts, decimals) == (400, (100, 100, 200), 2)


def test_what_has_to_be_known_is_said_only_where_it_is_so(season):
    notes = " ".join(sheet_of(season)["notes"])
    assert "14 gal of this mix is aboard already" in notes
    assert "No weight limit was typed" not in notes
    assert "Bands of" not in notes
    coarse = replace(season, typed={**season.typed, "machine.fill.scale": "5 lb"})
    assert any("Measure finer" in note for note in sheet_of(coarse)["notes"])


def test_rounding_names_the_load_it_puts_off_and_both_ways_out(season):
    # 1 fl oz in 100 gal of carrier: 9.4 fl oz in a load of 960 gal, 94 in ten of them.
    alike, differing = sheet_of(season), sheet_of(season, load=replace(season.season.passes[0].load, alike=False))
    (said,) = [note for note in alike["notes"] if note.startswith("Foam knock-down: steps")]
    assert "give a load of 960 gal 4.4 % less than it should get" in said
    assert "Measure finer, or let loads differ by a step so that the total is right (alike = false)." in said
    (said,) = [note for note in differing["notes"] if note.startswith("Foam knock-down: steps")]
    assert "alike" not in said
    totals = [{row["name"]: row["total"] for row in sheet["rows"]} for sheet in (alike, differing)]
    assert [each["Foam knock-down"] for each in totals] == ["90 fl oz", "94 fl oz"]


def test_the_jar_speaks_the_readers_units(season):
    litre = replace(season.season.passes[0].load, jar_m3=1e-3)
    us, metric = (sheet_of(season, system, load=litre)["jar"] for system in System)
    assert us["whole"] == "1,000 mL"
    assert metric["whole"] == "1\u00a0000 mL", "a comma would be a decimal one"
    assert any("tsp" in part["amount"] for part in us["parts"])
    assert not any("tsp" in part["amount"] for part in metric["parts"])


def test_what_is_left_of_a_band_is_told_as_treated_area(season):
    band = Band(read("10 in", Kind.SPACING).si_value, read("30 in", Kind.SPACING).si_value)
    notes = sheet_of(season, load=replace(season.season.passes[0].load, band=band))["notes"]
    assert any("enough for 0.9 ac treated" in note for note in notes)


def test_water_first_is_never_none_in_a_load_of_one_step_of_the_gauge(season):
    # 9,600 + 14 - 500 gal in marks of 5 gal is 9,115: 470, nine of 960, and 5 gal, of whose carrier 60 % are 2.9 gal.
    sheet = sheet_of(
        season, load=replace(season.season.passes[0].load, carry_in_m3=read("500 gal", Kind.VOLUME).si_value)
    )
    assert sheet["columns"][-1]["fill"] == "5 gal"
    assert sheet["columns"][-1]["first"] == "2 gal 120 fl oz"
    assert sheet["columns"][-2]["first"] == "560 gal"
