"""The picture of a boom: every position with its letter and shape, limits where they belong, in both unit systems."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from wetrun.papers.boom_picture import BOTTOM, LEFT, RIGHT, TOP, boom_svg
from wetrun.papers.boom_view import BoomView, State, TipMark
from wetrun.papers.marks import INK
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import decimals, limits, measured
from wetrun.quantity import System
from wetrun.units import FRACTION, PASCAL, RATIO, SECOND

SVG = "{http://www.w3.org/2000/svg}"
LITRE_PER_MINUTE, US_GALLON = 1e-3 / 60, 3.785411784


def view(marks, **changes):
    usual = {
        "title": "Every tip of <b>7</b> & more",
        "section_tips": (len(marks) // 2, len(marks) - len(marks) // 2),
        "low_ratio": -0.05,
        "high_ratio": 0.05,
        "rule_words": "within 5 %",
        "base_words": "mean of the boom",
        "beside_ratio": -0.03,
        "beside_words": "new tip",
        "base_m3s": 1.6 * LITRE_PER_MINUTE,
    }
    return BoomView(marks=tuple(marks), **{**usual, **changes})


def marks(states, off=0.01):
    half = len(states) // 2
    return [
        TipMark(n, 1 if n <= half else 2, state, None, None if state is State.MISSING else off, 0.005)
        for n, state in enumerate(states, 1)
    ]


def drawn(picture, system=System.SI):
    return ET.fromstring(boom_svg(picture, Reader(system)))  # noqa: S314 - our own picture


def texts(root):
    return [
        (element.text or "", float(element.get("x")), float(element.get("y"))) for element in root.iter(f"{SVG}text")
    ]


@pytest.mark.parametrize("tips", [8, 72, 120])
def test_every_position_has_its_letter_under_it(tips):
    states = [list(State)[n % len(State)] for n in range(tips)]
    row = [(x, words) for words, x, y in texts(drawn(view(marks(states)))) if abs(y - (BOTTOM + 12)) < 0.1]
    letters = [words for x, words in sorted(row) if x >= LEFT]
    assert letters == [state.letter for state in states]
    xs = sorted(x for x, words in row if x >= LEFT)
    assert xs[0] > LEFT
    assert xs[-1] < RIGHT


def shapes_of(root):
    """Tags of the shapes inside the plot, a filled one with a star."""
    for element in root:
        place = element.get("cy") or element.get("y") or (element.get("d") or "M0 0").split("l")[0].split()[-1]
        if element.tag.removeprefix(SVG) in {"circle", "rect", "path"} and TOP < float(place) < BOTTOM:
            yield element.tag.removeprefix(SVG) + ("*" if element.get("fill") == INK else "")


def test_shapes_differ_without_any_colour():
    caught = (State.PASS, State.FAIL, State.UNDECIDED, State.ASKED)
    shapes = {state: set(shapes_of(drawn(view(marks([state] * 8))))) for state in caught}
    assert list(shapes.values()) == [{"circle*"}, {"rect*"}, {"path"}, {"rect"}]


def test_limits_lie_where_the_scale_puts_them():
    root = drawn(view(marks([State.PASS] * 8)))
    dashed = [float(e.get("y1")) for e in root.iter(f"{SVG}line") if e.get("stroke-dasharray") == "7 3"]
    ticks = {words: y - 3 for words, x, y in texts(root) if x < LEFT and re.fullmatch("[+−]?[0-9]+", words)}
    per_point = (ticks["0"] - ticks["+4"]) / 4
    assert sorted(dashed) == pytest.approx(sorted((ticks["0"] - 5 * per_point, ticks["0"] + 5 * per_point)), abs=0.2)
    assert all(TOP <= y <= BOTTOM for y in dashed)


def test_a_rule_without_a_lower_limit_draws_one_line():
    root = drawn(view(marks([State.PASS] * 8), low_ratio=None))
    assert len([e for e in root.iter(f"{SVG}line") if e.get("stroke-dasharray") == "7 3"]) == 1


def test_what_lies_far_off_stays_on_the_picture_with_its_number():
    states = marks([State.PASS] * 8)
    states[2] = TipMark(3, 1, State.FAIL, None, 9.0, 0.05)
    states[5] = TipMark(6, 2, State.FAIL, None, -0.71, 0.01)
    said = texts(drawn(view(states)))
    labels = {words: y for words, _, y in said if ":" in words}
    assert {"3: +900 %", "6: −71 %"} <= labels.keys()
    assert all(TOP < labels[words] < BOTTOM for words in ("3: +900 %", "6: −71 %"))


def test_the_flow_beside_it_is_in_the_readers_unit():
    flows = {}
    for system in System:
        right = [(y, words) for words, x, y in texts(drawn(view(marks([State.PASS] * 8)), system)) if x > RIGHT]
        flows[system] = [float(words) for _, words in sorted(right) if re.fullmatch("[0-9.]+", words)]
    assert flows[System.SI][3] / flows[System.US][3] == pytest.approx(US_GALLON, rel=0.01)


def test_user_text_is_escaped_and_the_picture_says_itself_in_words():
    root = drawn(view(marks([State.PASS] * 6 + [State.UNDECIDED, State.MISSING])))
    assert root.find(f"{SVG}title").text == "Every tip of <b>7</b> & more"
    assert root.find(f"{SVG}desc").text == "within 5 %: 6 pass, 1 undecided, 1 not caught"


def test_values_carry_the_digits_their_doubt_allows():
    us, si = Reader(System.US), Reader(System.SI)
    assert measured(0.05123, 0.0131, RATIO, si).text == "+5.1 ± 1.3 %"
    assert measured(-0.46604, 0.0042, RATIO, si).text == "−46.60 ± 0.42 %"
    assert measured(0.077, 0.03, FRACTION, si).text == "7.7 ± 3.0 %"
    # 1 bar is 14.5038 psi by the exact definitions of inch and pound.
    assert measured(1e5, 1e4, PASCAL, us).text == "14.5 ± 1.5 psi"
    assert measured(9.0, 0.57, SECOND, us).text == "9.00 ± 0.57 s"
    assert measured(3.0, None, None, us).text == "3"
    assert measured(-1e-9, 0.01, RATIO, us).text == "0.0 ± 1.0 %"
    assert measured(0.0312, 0.0, RATIO, us).text == "+3.12 ± 0 %"


def test_limits_in_words():
    si = Reader(System.SI)
    assert limits(-0.1, 0.1, RATIO, si) == "−10 to +10 %"
    assert limits(None, 5.0, SECOND, si) == "at most 5 s"
    assert limits(0.9, None, FRACTION, si) == "at least 90 %"
    assert limits(None, 0.0, None, si) == "none"
    assert limits(None, None, None, si) == ""


def test_decimals_show_two_digits_of_a_doubt():
    assert [decimals(doubt) for doubt in (12.0, 1.2, 0.12, 0.012)] == [0, 1, 2, 3]
