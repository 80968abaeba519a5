"""The map of a replay as a picture and as a table."""

from __future__ import annotations

import json
import math
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.fieldlog.map_cells import NO_CLASS, MapCells
from wetrun.fieldlog.trace import Origin
from wetrun.papers.field_map import geojson
from wetrun.papers.map_picture import Step, map_rows, map_svg, squares_of, step_of

SVG = "{http://www.w3.org/2000/svg}"


def cells(ratios: list[float], side: int = 10) -> MapCells:
    count = len(ratios)
    return MapCells(
        cell_m=5.0,
        column=np.arange(count) % side,
        row=np.arange(count) // side,
        rate_ratio=np.array(ratios),
        area_cm2=np.full(count, 250_000),
        time_s=np.ones(count),
        finest=np.full(count, NO_CLASS, dtype=np.int8),
        out_of_range=np.zeros(count, dtype=bool),
        left_out_cm2=0,
    )


def whole(ratios: list[float]) -> dict[str, object]:
    found: dict[str, object] = json.loads(geojson(cells(ratios), Origin(math.radians(-93.5), math.radians(42.0)), {}))
    return found


@pytest.mark.parametrize(
    ("ratio", "step"),
    [
        (0.0, Step.FAR_UNDER),
        (0.8999, Step.FAR_UNDER),
        (0.92, Step.UNDER),
        (0.95, Step.HELD),
        (1.05, Step.HELD),
        (1.07, Step.OVER),
        (1.1001, Step.FAR_OVER),
        (4.0, Step.FAR_OVER),
    ],
)
def test_a_rate_falls_into_its_step(ratio: float, step: Step) -> None:
    assert step_of(ratio) is step


def test_squares_lie_where_their_cells_lie_to_scale() -> None:
    squares = squares_of(whole([1.0] * 20))
    assert len(squares) == 20
    assert squares[13].east_m == pytest.approx(15.0, abs=0.1)
    assert squares[13].north_m == pytest.approx(5.0, abs=0.1)
    assert squares[0].wide_m == pytest.approx(5.0, rel=0.01)
    assert squares[0].high_m == pytest.approx(5.0, rel=0.01)


@given(ratios=st.lists(st.floats(0.0, 5.0), min_size=1, max_size=60))
def test_the_table_holds_all_of_the_ground_and_the_picture_each_square_once(ratios: list[float]) -> None:
    squares = squares_of(whole(ratios))
    rows = map_rows(squares)
    assert sum(row["area_m2"] for row in rows) == pytest.approx(25.0 * len(ratios))
    drawn = ET.fromstring(map_svg(squares, "Rate"))  # noqa: S314 - our own picture
    paths = [path.get("d") or "" for path in drawn.findall(f"{SVG}path")]
    assert sum(path.count("M") for path in paths) == len(ratios)


def test_the_picture_says_in_words_what_it_shows_and_escapes_its_title() -> None:
    drawn = ET.fromstring(map_svg(squares_of(whole([1.0, 0.5, 1.2])), "5 < 6 & so on"))  # noqa: S314
    assert drawn.find(f"{SVG}title").text == "5 < 6 & so on"  # type: ignore[union-attr]
    told = drawn.find(f"{SVG}desc").text or ""  # type: ignore[union-attr]
    assert "under by more than 10 %: 33.3 %" in told
    texts = [text.text or "" for text in drawn.findall(f"{SVG}text")]
    assert any(text.startswith("U  under by more") for text in texts)
    assert "north is up" in texts
