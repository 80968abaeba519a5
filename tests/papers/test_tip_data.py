"""A tip over its pressure range: its maker's own pressures, flows by its law, classes on the word of who said so."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from wetrun.documents.carrier_words import carrier_named
from wetrun.documents.catalogue_file import read_catalogue
from wetrun.machine.catalogue import catalogue, tip_named
from wetrun.papers.marks import SIZE_COLOURS
from wetrun.papers.reader import Reader
from wetrun.papers.tip_data import tip_data, tip_line
from wetrun.papers.tip_picture import class_svg, size_chip_svg
from wetrun.papers.tip_points import class_stretches, tip_points
from wetrun.quantity import Kind, System
from wetrun.spray.droplets import droplet_finding
from wetrun.spray.orifice import ISO_SIZES, FlowRows

DEMO_TIPS = read_catalogue(Path(__file__).parents[2] / "demo" / "tips.csv")
EVERY_TIP = (*DEMO_TIPS, *catalogue())
WATER = carrier_named("water")


@pytest.fixture(params=list(System), ids=str)
def reader(request):
    return Reader(request.param)


def measured_pressures(tip):
    law = tip.law.pressures_pa if isinstance(tip.law, FlowRows) else ()
    classes = [row.pressure_pa for row in tip.pattern.rows] if tip.pattern is not None else []
    return {pressure for pressure in (*law, *classes) if tip.low_pa <= pressure <= tip.high_pa}


@pytest.mark.parametrize("tip", EVERY_TIP, ids=lambda tip: tip.ident)
def test_the_points_of_a_tip_rise_from_end_to_end_through_every_row_of_its_maker(tip, reader):
    found = [point.pressure_pa for point in tip_points(tip, WATER.density_kgpm3, reader)]
    assert found == sorted(found)
    assert (found[0], found[-1]) == (tip.low_pa, tip.high_pa)
    assert measured_pressures(tip) <= set(found)
    printed = [reader.exact(pressure, Kind.PRESSURE) for pressure in found]
    assert len(set(printed)) == len(printed)
    assert 5 <= len(found) <= 9 + 2 + len(measured_pressures(tip))


@pytest.mark.parametrize(
    ("system", "printed", "flow"), [(System.SI, "3 bar", "1.60 L/min"), (System.US, "40 psi", "0.405 gal/min")]
)
def test_a_generic_04_flows_what_its_size_says_at_3_bar(system, printed, flow):
    # 4 size units of 0.4 L/min; 40 psi is 2.758 bar, so 1.6 * sqrt(2.758 / 3) = 1.534 L/min = 0.405 gal/min.
    told = tip_data(tip_named(catalogue(), "iso-11004-ff"), WATER, Reader(system))
    assert {row["pressure"]: row["flow"] for row in told["rows"]}[printed] == flow
    assert (told["flow"], told["flow_at"]) == (flow, printed)


def test_a_heavier_liquid_flows_less_by_the_root_of_its_density(reader):
    tip, uan = tip_named(catalogue(), "iso-11004-ff"), carrier_named("UAN 28")
    water, heavy = (tip_points(tip, liquid.density_kgpm3, reader) for liquid in (WATER, uan))
    root = (WATER.density_kgpm3 / uan.density_kgpm3) ** 0.5
    assert [one.flow_m3s for one in heavy] == pytest.approx([one.flow_m3s * root for one in water])


def test_the_list_shows_a_flow_only_inside_the_pressure_range():
    low_tip = tip_named(catalogue(), "iso-04-stream")
    assert tip_line(low_tip, Reader(System.SI))["flow_at"] == "3 bar"
    narrow = next(tip for tip in DEMO_TIPS if tip.ident == "saltlick-04-ai")
    assert tip_line(narrow, Reader(System.SI))["flow_at"] == "3 bar"
    raised = replace(narrow, low_pa=4e5)
    assert tip_line(raised, Reader(System.SI))["flow_at"] == "4 bar"


def test_at_its_maker_s_rows_the_rows_speak_and_between_unlike_ones_nothing_is_told_apart(reader):
    tip = next(tip for tip in DEMO_TIPS if tip.ident == "saltlick-04-ai")
    told = tip_data(tip, WATER, reader)
    by_pressure = {row["pressure"]: row for row in told["rows"]}
    assert tip.pattern is not None
    for row in tip.pattern.rows:
        printed = by_pressure[reader.exact(row.pressure_pa, Kind.PRESSURE)]
        assert (printed["letters"], printed["sure"]) == (row.droplet_class.letters, "as the rows say")
    between = by_pressure["50 psi" if reader.system is System.US else "3.5 bar"]
    assert (between["letters"], between["sure"]) == ("VC–XC", "not told apart by the rows")
    assert [one["letters"] for one in told["classes"]] == ["UC", "XC", "VC", "VC", "C"]
    assert told["class_basis"] == "maker's class rows"


def test_an_estimate_says_the_chance_of_every_class(reader):
    told = tip_data(tip_named(catalogue(), "iso-11004-ff"), WATER, reader)
    lowest = told["rows"][0]
    assert lowest["letters"] == "C–VC"
    assert lowest["sure"] == "M 9 %, C 67 %, VC 23 %, XC 1 %"
    assert lowest["authority"] == "family default"
    assert told["class_ask"] == ""
    wide = tip_data(tip_named(catalogue(), "iso-11004-ai"), WATER, reader)
    assert wide["class_ask"] == "designs differ widely, ask for the maker's class rows"


def test_a_streamer_has_no_class_and_says_so(reader):
    told = tip_data(tip_named(catalogue(), "iso-04-stream"), WATER, reader)
    assert told["classes"] == []
    assert told["class_basis"] == "streams have no droplet class"
    assert {row["letters"] for row in told["rows"]} == {"streams"}
    assert told["angle"] == ""
    assert "height" in told["height_note"]


@pytest.mark.parametrize("tip", [tip for tip in EVERY_TIP if tip.pattern], ids=lambda tip: tip.ident)
def test_stretches_lie_end_to_end_and_agree_with_the_class_inside_them(tip):
    found = class_stretches(tip)
    assert (found[0].start, found[-1].end) == (tip.low_pa, tip.high_pa)
    assert all(before.end == after.start for before, after in pairwise(found))
    assert all((before.finest, before.coarsest) != (after.finest, after.coarsest) for before, after in pairwise(found))
    for stretch in found:
        inside = droplet_finding(tip.pattern, 0.5 * (stretch.start + stretch.end))
        assert (inside.finest, inside.coarsest) == (stretch.finest, stretch.coarsest)


@pytest.mark.parametrize("size", ISO_SIZES)
def test_every_size_of_the_standard_has_its_colour(size):
    assert SIZE_COLOURS[size] in size_chip_svg(size)


def test_a_size_of_no_standard_has_none():
    assert size_chip_svg("05") != size_chip_svg("06")
    assert size_chip_svg("07") == ""
    assert size_chip_svg("three-hole") == ""


@pytest.mark.parametrize("ident", ["saltlick-04-ai", "iso-11004-ff", "iso-04-stream"])
def test_the_picture_of_classes_writes_what_its_tints_show(ident, reader):
    tip = tip_named(EVERY_TIP, ident)
    root = ET.fromstring(class_svg(tip, reader))  # noqa: S314 - our own bytes
    written = {found.text for found in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {one.letters for one in class_stretches(tip)} <= written
    told = root.findtext("{http://www.w3.org/2000/svg}desc") or ""
    assert all(one["span"].split("–")[0] in told for one in tip_data(tip, WATER, reader)["stretches"])


def test_a_tip_named_in_markup_stays_a_name(reader):
    plain = tip_named(EVERY_TIP, "saltlick-04-ai")
    odd = replace(plain, words="<b>04</b> & more")
    assert "<b>" not in class_svg(odd, reader)


@pytest.mark.parametrize(
    ("pulse", "family", "words"),
    [
        (None, "ff", "Nobody said whether it may run on a pulse-width machine, so it may be."),
        (None, "ai", "Nobody said whether it may run on a pulse-width machine, so it is not: an air-induction tip"),
        (True, "ai", "On a pulse-width machine: may be pulsed, by its rows."),
        (False, "ff", "On a pulse-width machine: not to be pulsed, by its rows."),
    ],
)
def test_pulsing_is_said_by_the_rows_or_by_nobody(pulse, family, words, reader):
    plain = tip_named(catalogue(), f"iso-11004-{family}")
    tip = replace(plain, pulse=pulse)
    assert tip_data(tip, WATER, reader)["pulsed_words"].startswith(words)


def test_a_range_from_memory_is_said_to_be_and_a_maker_s_own_needs_no_other_source(reader):
    generic = tip_data(tip_named(catalogue(), "iso-04-stream"), WATER, reader)
    assert "(from memory)" in generic["range_source"]
    own = tip_data(tip_named(EVERY_TIP, "saltlick-04-ai"), WATER, reader)
    assert (own["range_source"], own["origin"]) == ("", "rows of tips.csv")
