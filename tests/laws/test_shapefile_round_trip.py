"""What an independent writer puts into a shapefile, or the standard library into GeoJSON, comes back as it was."""

import io
import json
import math
from datetime import date
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import shapefile
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.fieldlog.map_samples import write_shapefile
from tests.log_reading import sent

from wetrun.fieldlog.readers.dbase_table import columns_of, table_head
from wetrun.fieldlog.readers.geojson_places import places_in
from wetrun.fieldlog.readers.json_stream import JsonStream, features_in
from wetrun.fieldlog.readers.shape_records import shapes_in

FIELDS = (("name", "C", 40, 0), ("number", "N", 20, 6), ("whole", "N", 9, 0), ("float", "F", 20, 6), ("day", "D", 8, 0))
places = st.tuples(st.floats(-1e7, 1e7), st.floats(-1e7, 1e7))
numbers = st.none() | st.floats(-1e6, 1e6).map(lambda value: round(value, 6))
# A table pads texts with blanks and ends them at a zero byte; neither can be told from what was typed.
texts = st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=10).map(str.strip)
rows = st.tuples(
    texts,
    numbers,
    st.none() | st.integers(-99_999_999, 999_999_999),
    numbers,
    st.dates(date(1900, 1, 1), date(2100, 1, 1)),
)
records = st.lists(st.tuples(st.none() | places, rows), min_size=1, max_size=40)
POINT_KINDS = (shapefile.POINT, shapefile.POINTZ, shapefile.POINTM)


def as_read(value):
    if value is None:
        return math.nan
    return value.isoformat() if isinstance(value, date) else value


@settings(max_examples=60, deadline=None)
@given(records=records, kind=st.sampled_from(POINT_KINDS))
def test_points_and_values_come_back(records, kind):
    with TemporaryDirectory() as folder:
        shapes, values = [place for place, _ in records], [row for _, row in records]
        files = write_shapefile(Path(folder, "log"), shapes, values, kind=kind, fields=FIELDS)
        found = shapes_in(sent(files[0]))
        table = table_head(sent(files[2]), encoding=None)
        decoded = columns_of(table, [name for name, *_ in FIELDS], rows=table.rows)
    assert found.area is None
    assert found.empty == shapes.count(None)
    assert (found.damaged, found.lost_bytes, decoded.undecodable) == (0, 0, 0)
    want = [(math.nan, math.nan) if place is None else place for place in shapes]
    assert np.array_equal(np.stack([found.x, found.y], axis=1), np.array(want), equal_nan=True)
    assert not decoded.deleted.any()
    for column, cells in zip(decoded.columns, zip(*values, strict=True), strict=True):
        told = [as_read(cell) for cell in cells]
        if isinstance(column.values, np.ndarray):
            assert column.values == pytest.approx(np.array(told), abs=5.1e-7, nan_ok=True)
        else:
            assert column.values == told


@settings(max_examples=60, deadline=None)
@given(
    corners=st.lists(st.lists(places, min_size=3, max_size=9), min_size=1, max_size=20),
    kind=st.sampled_from([shapefile.POLYGON, shapefile.POLYGONZ]),
)
def test_middle_and_area_of_patches_are_those_of_their_triangles(corners, kind):
    rings = [[*ring, ring[0]] for ring in corners]
    with TemporaryDirectory() as folder:
        files = write_shapefile(
            Path(folder, "map"),
            [[ring] for ring in rings],
            [("a",)] * len(rings),
            kind=kind,
            fields=(("n", "C", 4, 0),),
        )
        found = shapes_in(sent(files[0]))
    assert found.damaged == 0
    assert found.area is not None
    for nth, ring in enumerate(rings):
        area, east, north = fan_of(ring)
        scale = float(np.ptp(np.array(ring), axis=0).max())
        assert found.area[nth] == pytest.approx(abs(area), abs=1e-9 * scale**2)
        if abs(area) > 1e-3 * scale**2:
            assert (found.x[nth], found.y[nth]) == pytest.approx((east / area, north / area), abs=1e-6 * scale)


def fan_of(ring):
    """Return area, and area times middle, of the triangles from the first corner, one by one."""
    area = east = north = 0.0
    (x0, y0), *others = ring
    for (x1, y1), (x2, y2) in pairwise(others):
        part = ((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) / 2
        area, east, north = area + part, east + part * (x0 + x1 + x2) / 3, north + part * (y0 + y1 + y2) / 3
    return area, east, north


@settings(max_examples=60, deadline=None)
@given(points=st.lists(st.lists(places, min_size=1, max_size=5), min_size=1, max_size=20))
def test_several_points_are_told_by_their_middle(points):
    with TemporaryDirectory() as folder:
        files = write_shapefile(
            Path(folder, "log"), points, [("a",)] * len(points), kind=shapefile.MULTIPOINT, fields=(("n", "C", 4, 0),)
        )
        found = shapes_in(sent(files[0]))
    assert found.several == sum(len(one) > 1 for one in points)
    middles = np.array([np.mean(one, axis=0) for one in points])
    assert np.stack([found.x, found.y], axis=1) == pytest.approx(middles, abs=1e-6)


json_values = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=6,
)
features = st.lists(
    st.fixed_dictionaries(
        {"type": st.just("Feature"), "properties": st.dictionaries(st.text(max_size=5), json_values)}
    ),
    max_size=12,
)


class Dripping(io.BytesIO):
    """A stream that gives a few bytes at a time, so that values break off at every place."""

    def __init__(self, data, size):
        super().__init__(data)
        self.size = size

    def read(self, _count=-1):
        return super().read(self.size)


@settings(max_examples=100, deadline=None)
@given(
    features=features,
    size=st.integers(1, 40),
    lines=st.booleans(),
    indent=st.sampled_from([None, 1]),
    before=st.booleans(),
)
def test_features_come_back_one_by_one_wherever_the_bytes_break(features, size, lines, indent, before):
    if lines:
        text = "\n".join(json.dumps(one) for one in features)
    else:
        beside = {"name": "log", "bbox": [1, 2.5]}
        whole = {"type": "FeatureCollection", **(beside if before else {}), "features": features}
        text = json.dumps(whole | ({} if before else beside), indent=indent, ensure_ascii=size % 2 == 0)
    about: dict[str, object] = {}
    stream = JsonStream(Dripping(text.encode("utf-8"), size), file="log.geojson")
    assert list(features_in(stream, about)) == features
    assert lines or about == {"type": "FeatureCollection", "name": "log", "bbox": [1, 2.5]}


@given(place=places)
def test_a_patch_is_the_same_whichever_way_round_its_rings_are_written(place):
    east, north = place
    outer = [[east, north], [east, north + 9], [east + 9, north + 9], [east + 9, north], [east, north]]
    hole = [
        [east + 1, north + 1],
        [east + 1, north + 3],
        [east + 3, north + 3],
        [east + 3, north + 1],
        [east + 1, north + 1],
    ]
    found = {
        places_in({"type": "Polygon", "coordinates": [one, two]}, {}).area
        for one in (outer, outer[::-1])
        for two in (hole, hole[::-1])
    }
    assert all(area == pytest.approx(77, abs=1e-4) for area in found)
