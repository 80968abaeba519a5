"""The picture of the first acres: its numbers are the answer's, its lines are told apart without colour."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.changeover_answers import question

from wetrun.changeover.answer import changeover_answer
from wetrun.papers.carry_picture import BOTTOM, LEFT, RIGHT, SIZE, STROKES, TOP, carry_svg, told
from wetrun.papers.carry_table import carry_table, carry_title, carry_words
from wetrun.papers.carry_view import CarryLine, CarryView, carry_view, read_at_m2
from wetrun.papers.reader import Reader
from wetrun.papers.small_amounts import nice_above, one_in, share_text, small_area
from wetrun.quantity import Kind, System

SVG = "{http://www.w3.org/2000/svg}"
US = Reader(System.US)


@pytest.fixture(scope="module")
def answer():
    return changeover_answer(question())


def seen(answer, reader=US):
    """The view of an answer, which has to be there."""
    view = carry_view(answer, reader)
    assert view is not None
    return view


def view_of(*curves, level=0.02, areas=(0.0, 1e4, 1e5, 3e5)):
    lines = tuple(
        CarryLine(
            letter="ABCD"[n],
            name=f"way <{n}> & a name that has to be wrapped",
            areas_m2=np.array(areas),
            share_frac=np.array(curve),
            mean_frac=float(np.mean(curve)),
            above_m2=None if curve[-1] > level else 0.0,
        )
        for n, curve in enumerate(curves)
    )
    return CarryView(title="T <b>", lines=lines, level_frac=level, share_words="share of <it>")


def drawn(view, reader=US):
    return ET.fromstring(carry_svg(view, reader))  # noqa: S314 - our own picture


def paths(root):
    found = [path for path in root.iter(f"{SVG}path") if path.get("fill") == "none"]
    return [[tuple(map(float, pair.split())) for pair in re.split("[ML]", path.get("d")) if pair] for path in found]


def texts(root):
    return [
        (element.text or "", float(element.get("x")), float(element.get("y"))) for element in root.iter(f"{SVG}text")
    ]


@pytest.mark.parametrize("system", System)
def test_the_lines_lie_where_the_answer_says(answer, system):
    reader = Reader(system)
    view = seen(answer, reader)
    root = drawn(view, reader)
    # Two printed decades give the scale back; so a line's first point reads as its first drop.
    ticks = {words: y - 1 for words, x, y in texts(root) if words.endswith(" %") and x < LEFT}
    decades = sorted((np.log10(float(words.removesuffix(" %")) / 100), y) for words, y in ticks.items())
    (low, low_y), (high, high_y) = decades[0], decades[-1]
    for points, way in zip(paths(root), answer.three_ways, strict=True):
        x, y = points[0]
        read = 10 ** (low + (y - low_y) / (high_y - low_y) * (high - low))
        assert x == pytest.approx(LEFT)
        assert read == pytest.approx(way.first_drop_frac, rel=0.02)
        assert [px for px, _ in points] == sorted(px for px, _ in points)


def test_the_table_reads_as_the_record(answer):
    table = carry_table(answer, US)
    assert table["carry_heads"] == [
        "first drop",
        "after 1.0 ac",
        "after 5.0 ac",
        "after 20 ac",
        "end of load",
        "mean of load",
        "above the level",
    ]
    for row, way in zip(table["carry_rows"], answer.three_ways, strict=True):
        curve = way.acres.old_frac.max(axis=1)
        read = [float(np.interp(US.inside(acres, Kind.AREA), way.areas_m2, curve)) for acres in (1.0, 5.0, 20.0)]
        wanted = [way.first_drop_frac, *read, way.end_frac, way.mean_frac]
        assert row["cells"][:-1] == [share_text(share) for share in wanted]
        assert row["above"] == [share > way.level_frac for share in wanted]
        above = row["cells"][-1]
        assert above == "none" if way.above_m2 == 0.0 else float(above.split()[0]) > 0.0
    assert carry_title(answer) == "Same water, three ways"


def test_a_lower_first_drop_is_not_sold_as_better(answer):
    one, equal, forgotten = answer.three_ways
    assert forgotten.first_drop_frac < equal.first_drop_frac < one.first_drop_frac
    assert forgotten.end_frac > 2.0 * equal.end_frac
    said = carry_words(answer)
    assert said[0].startswith("One big rinse leaves")
    assert f"{share_text(forgotten.end_frac)} instead of {share_text(equal.end_frac)} at the end of the load" in said[1]
    assert "The first drop alone would praise the forgetful" in said[2]


def test_lines_differ_in_dash_and_carry_letter_and_name(answer):
    view = seen(answer)
    root = drawn(view)
    dashes = [p.get("stroke-dasharray") for p in root.iter(f"{SVG}path") if p.get("fill") == "none"]
    assert len(set(dashes)) == len(view.lines) == 3
    assert len({dash for _, dash in STROKES}) == len(STROKES)
    words = [said for said, _, _ in texts(root)]
    for one in view.lines:
        assert words.count(one.letter) == 2  # on the line, and beside its name
        assert one.name.split()[0] in " ".join(words)


def test_title_and_description_tell_it_to_who_cannot_see(answer):
    view = seen(answer)
    root = drawn(view)
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == view.title
    desc = root.find(f"{SVG}desc").text
    assert desc == told(view, US)
    for one in view.lines:
        assert f"{share_text(one.first_frac)} in the first drop" in desc


def test_an_uneven_plan_is_told_beside_equal_rinses(answer):
    uneven = replace(answer.plan.rinses[0], water_m3=2.0 * answer.plan.rinses[0].water_m3)
    plan = replace(answer.plan, rinses=(uneven, *answer.plan.rinses[1:]), left_frac=0.5 * answer.plan.left_frac)
    assert "The plan does not share" in carry_words(replace(answer, plan=plan))[-1]
    assert not any("The plan does not share" in words for words in carry_words(answer))


def test_where_a_line_comes_down_to_the_level_is_written(answer):
    view = seen(answer)
    words = [said for said, _, _ in texts(drawn(view))]
    above = [one for one in view.lines if one.above_m2]
    assert [one.letter for one in above] == ["A"]
    assert f"above it: A for {small_area(above[0].above_m2, US)}" in words


def test_typed_text_is_escaped_and_names_keep_apart():
    view = view_of((0.07, 0.01, 0.00131, 0.0013), (0.02, 0.01, 0.00131, 0.0013), (0.02, 0.002, 0.00125, 0.00125))
    root = drawn(view)
    beside = sorted(y for words, x, y in texts(root) if x > RIGHT and words in {"A", "B", "C"})
    assert min(np.diff(beside)) >= 40.0
    assert beside[-1] < BOTTOM
    assert "T <b>" in root.find(f"{SVG}title").text


@given(
    st.lists(st.floats(1e-7, 1.0), min_size=3, max_size=3),
    st.floats(1e-6, 0.5),
    st.floats(10.0, 1e6),
)
def test_whatever_the_shares_the_lines_stay_on_the_plot(firsts, level, area):
    areas = (0.0, 0.1 * area, 0.5 * area, area)
    view = view_of(*((first, 0.5 * first, 0.1 * first, 0.09 * first) for first in firsts), level=level, areas=areas)
    for system in System:
        root = drawn(view, Reader(system))
        for points in paths(root):
            assert all(LEFT - 0.1 <= x <= RIGHT + 0.1 and TOP - 0.1 <= y <= BOTTOM + 0.1 for x, y in points)
        assert all(0.0 <= x <= SIZE[0] and 0.0 < y < SIZE[1] for _, x, y in texts(root))


@given(st.floats(1e-6, 1e6))
def test_a_nice_number_is_at_or_above_and_less_than_twice(shown):
    assert shown * (1.0 - 1e-9) <= nice_above(shown) <= 2.0 * shown * (1.0 + 1e-9)


@given(st.floats(1.0, 1e7), st.sampled_from(System))
def test_areas_to_read_at_lie_within_the_load(load_m2, system):
    areas = read_at_m2(load_m2, Reader(system))
    assert areas
    assert all(0.0 < area < load_m2 for area in areas)


def test_one_in_so_many_has_two_digits():
    assert [one_in(share, US) for share in (0.5, 0.02, 1 / 4700, 5e-5)] == [
        "1 in 2",
        "1 in 50",
        "1 in 4,700",
        "1 in 20,000",
    ]
