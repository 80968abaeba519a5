"""The speed lane says in letters, hatching and a table what it says in colour."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from tests.paper_reading import pass_named

from wetrun.papers.lane import WIDTH, lane_svg
from wetrun.papers.lane_data import ZoneKind, lane_rows
from wetrun.papers.lane_making import tally_bars
from wetrun.papers.marks import SIZE_COLOURS, TINTS, cut, swatch
from wetrun.papers.plan_data import lanes_of
from wetrun.papers.reader import Reader
from wetrun.papers.segments import Segment
from wetrun.papers.strip import share_svg, strip_svg
from wetrun.planning.judging import Share
from wetrun.planning.speed_point import point_at
from wetrun.quantity import Kind, System
from wetrun.spray.droplets import DropletClass

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(params=list(System), ids=str)
def reader(request):
    return Reader(request.param)


@pytest.fixture(params=["Post herbicide", "UAN top-dress"])
def planned(request, report):
    return pass_named(report, request.param)


@pytest.fixture
def picture(report, planned, reader):
    return lanes_of(report.plan, planned, reader)


def parsed(svg):
    return ET.fromstring(svg)  # noqa: S314 - our own bytes of a line ago


def texts(svg):
    return [found.text or "" for found in parsed(svg).iter(f"{SVG}text")]


def test_a_picture_is_well_formed_and_tells_a_reader_who_does_not_see_it(picture):
    root = parsed(lane_svg(picture))
    title, told = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.get("role") == "img"
    assert root.get("aria-labelledby").split() == [title.get("id"), told.get("id")]
    assert title.text == picture.title
    assert all(caption in told.text for lane in picture.lanes for caption in lane.captions)


def test_every_segment_prints_its_letters_and_every_size_its_number(picture):
    printed = texts(lane_svg(picture))
    for lane in picture.lanes:
        assert lane.segments
        assert all(segment.letters in printed for segment in lane.segments)
        assert lane.size in printed
    drawn = sum(printed.count(letters) for letters in {s.letters for lane in picture.lanes for s in lane.segments})
    assert drawn == sum(len(lane.segments) for lane in picture.lanes)


def test_hatches_are_defined_once_and_every_one_used_is_defined(picture):
    svg = lane_svg(picture)
    defined = re.findall(r'<pattern id="([^"]+)"', svg)
    used = set(re.findall(r"url\(#([^)]+)\)", svg))
    assert len(defined) == len(set(defined))
    assert used <= set(defined)
    assert {name.rpartition("-")[2] for name in used} >= {"slow", "fast"}


def test_two_pictures_on_one_page_share_no_id(report, reader):
    ids = [
        set(re.findall(r'id="([^"]+)"', lane_svg(lanes_of(report.plan, pass_named(report, ident), reader))))
        for ident in ("Post herbicide", "UAN top-dress")
    ]
    assert not ids[0] & ids[1]


def test_the_window_drawn_is_the_window_of_the_plan(planned, picture, reader):
    chosen = picture.lanes[0]
    assert chosen.chosen
    assert not any(lane.chosen for lane in picture.lanes[1:])
    ends = (chosen.segments[0].start, chosen.segments[-1].end)
    window = planned.window
    assert ends == pytest.approx([reader.number(v, Kind.SPEED) for v in (window.low_mps, window.high_mps)])
    assert all(a.end == b.start for a, b in zip(chosen.segments, chosen.segments[1:], strict=False))


def test_the_letters_are_those_the_tip_has_at_the_middle_of_each_segment(planned, picture, reader):
    for segment in picture.lanes[0].segments:
        middle = reader.inside((segment.start + segment.end) / 2, Kind.SPEED)
        found = point_at(planned.trial, speed_mps=middle, rate_m3pm2=planned.rate_m3pm2).droplets
        assert found is not None
        assert (found.finest, found.coarsest) == (segment.finest, segment.coarsest)


def test_marks_stand_at_the_hold_and_at_the_labels_maximum(report, reader):
    planned = pass_named(report, "Post herbicide")
    marks = {mark.sign: mark.at for mark in lanes_of(report.plan, planned, reader).lanes[0].marks}
    window = planned.window
    assert marks["H"] == pytest.approx(reader.number(window.floor_mps, Kind.SPEED))
    assert marks["L"] == pytest.approx(reader.number(window.over_label_mps, Kind.SPEED))
    # The label leaves 36 fl oz for a planned 32: the hold may put on 36/32 of the target before the maximum is passed.
    assert marks["H"] / marks["L"] == pytest.approx(36 / 32)


def test_the_table_says_what_the_picture_shows(picture):
    rows = lane_rows(picture)
    for lane in picture.lanes:
        mine = [row for row in rows if row[0] == lane.name]
        assert len(mine) == len(lane.segments) + len(lane.zones) + len(lane.marks)
        held = [row for row in mine if row[3].startswith("held")]
        assert [row[3] for row in held] == [f"held, droplets {segment.letters}" for segment in lane.segments]


def test_the_tally_holds_all_of_the_area(planned, reader):
    assert sum(bar.share for bar in tally_bars(planned, reader, 40.0)) == pytest.approx(1.0, abs=1e-9)


def test_undecided_speeds_are_drawn_beside_the_window_with_their_own_sign(report, reader):
    plan = report.plan
    everywhere = [lanes_of(plan, one, reader) for one in plan.proposed.passes if one.trial is not None]
    undecided = [
        (lane, zone) for picture in everywhere for lane in picture.lanes for zone in lane.zones
        if zone.kind is ZoneKind.UNDECIDED
    ]  # fmt: skip
    assert undecided
    for lane, zone in undecided:
        held = (lane.segments[0].start, lane.segments[-1].end)
        assert zone.end <= held[0] + 1e-6 or zone.start >= held[1] - 1e-6
    drawn = [lane_svg(picture) for picture in everywhere]
    assert any("?" in texts(svg) for svg in drawn)


@pytest.mark.parametrize("page_mm", [215.9, 210.0], ids=["letter", "A4"])
def test_captions_are_large_enough_to_read_on_the_page(page_mm):
    # A point is 25.4/72 mm, by definition; the plan's margins are 14 mm and the lane takes the full width between them.
    scale = (page_mm - 2 * 14.0) * 72 / 25.4 / WIDTH
    assert 9 * scale >= 7.0


def test_captions_are_set_as_large_as_that_or_larger(picture):
    sizes = {
        float(found.get("font-size")) for found in parsed(lane_svg(picture)).iter(f"{SVG}text")
        if found.text in {caption for lane in picture.lanes for caption in lane.captions}
    }  # fmt: skip
    assert sizes
    assert min(sizes) >= 9


def test_a_text_lies_on_a_ground_of_its_own(picture):
    caption = picture.lanes[0].captions[0]
    svg = lane_svg(picture)
    before = svg[: svg.index(f">{caption.replace('&', '&amp;')}<")]
    assert before.rindex('fill="#ffffff"') > before.rindex("</text>")


def test_user_text_in_a_picture_stays_text(picture):
    nasty = '<script>alert("x")</script> & ]]> \x00\ud800 "quoted"'
    lane = replace(picture.lanes[0], name=nasty)
    root = parsed(lane_svg(replace(picture, title=nasty, ident=nasty, lanes=(lane,))))
    assert root.find(f".//{SVG}script") is None
    assert root.find(f"{SVG}title").text.startswith('<script>alert("x")</script> & ]]>')


def test_a_segment_of_streams_says_so_instead_of_a_class():
    assert Segment(1.0, 2.0, None, None).letters == "streams"
    assert Segment(1.0, 2.0, DropletClass.C, DropletClass.XC).classes == (
        DropletClass.C, DropletClass.VC, DropletClass.XC,
    )  # fmt: skip


def test_every_class_has_a_tint_and_no_two_share_one():
    assert set(TINTS) == set(DropletClass)
    assert len(set(TINTS.values())) == len(DropletClass)


@pytest.mark.parametrize("size", [*SIZE_COLOURS, "own size"])
def test_a_size_swatch_never_goes_without_its_number(size):
    drawn, wide = swatch(size, 0.0, 0.0)
    assert f">{size[:7]}" in drawn
    assert ("<rect" in drawn) is (size in SIZE_COLOURS)
    assert wide > 0


def test_text_that_does_not_fit_is_cut_and_says_so():
    assert cut("x" * 500, 100.0, 9.0).endswith("…")
    assert cut("short", 100.0, 9.0) == "short"


def test_the_share_bar_parts_held_undecided_and_not_held():
    root = parsed(share_svg("Post herbicide", Share(0.5, 0.6)))
    parts = [box for box in root.findall(f"{SVG}rect") if box.get("stroke") is None]
    assert [float(box.get("width")) for box in parts] == pytest.approx([75.0, 15.0, 60.0])
    assert [box.get("fill").rstrip(")").rpartition("-")[2] for box in parts[1:]] == ["undecided", "slow"]


def test_the_opening_strip_marks_the_stretch_that_is_held(picture):
    root = parsed(strip_svg(picture, picture.top))
    held = picture.lanes[0].segments[0].start
    assert f"held from {held:.1f}" in root.find(f"{SVG}desc").text
    unheld = parsed(strip_svg(replace(picture, lanes=()), picture.top))
    assert "no speed is held" in unheld.find(f"{SVG}desc").text
