"""The map of a replay: its cells add up, and its files keep to RFC 7946 and to GeoParquet 1.1."""

from __future__ import annotations

import json
import math
import struct
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.replay_cases import four_sections, made_setup, made_trace

from wetrun.errors import NotDefined, OutOfRange
from wetrun.fieldlog.boom_sections import boom_sections
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.map_cells import map_cells
from wetrun.fieldlog.replay import ReplayMode
from wetrun.fieldlog.section_tally import section_tally
from wetrun.fieldlog.trace import Origin
from wetrun.papers.field_map import geojson, geoparquet, write_map
from wetrun.spray.response import Response

EDGES_M = np.linspace(-12.0, 12.0, 5)
FACTS = {"log": "made.csv", "tip": "04"}


def driven(heading_rad=0.7, count=200):
    """A straight drive at changing speed, its middle section's place known at every instant."""
    speed = 3.0 + 2.0 * np.sin(np.arange(count) / 15)
    way = np.concatenate([[0.0], np.cumsum(speed[1:] * 0.2)])
    middle = 3.0  # the third of four sections stands for the boom's place
    trace = made_trace(
        speed,
        np.full(count, 0.2),
        sections_on=np.full(count, 15),
        sections=four_sections(),
        heading_rad=np.full(count, heading_rad),
        curvature_radpm=np.zeros(count),
        east_m=way * math.sin(heading_rad) + middle * math.cos(heading_rad),
        north_m=way * math.cos(heading_rad) - middle * math.sin(heading_rad),
    )
    setup = made_setup(floor=5e-5, response=Response(lag_s=0.8))
    return exact_replay(trace, setup, ReplayMode.SAME_SPEED), boom_sections(trace, EDGES_M), setup


def mapped(cell_m=5.0, **options):
    result, boom, setup = driven(**options)
    return map_cells(result, boom, setup.response, bands=setup.bands, cell_m=cell_m), result, boom, setup


@given(st.floats(0.0, 6.28), st.sampled_from([1.0, 5.0, 24.0]))
def test_no_ground_time_or_rate_is_lost_on_the_map(heading, cell):
    cells, result, boom, setup = mapped(cell, heading_rad=heading)
    tally = section_tally(result, boom, setup.response, tolerance_frac=0.05)
    assert int(cells.area_cm2.sum()) + cells.left_out_cm2 == tally.total_cm2 == result.total_cm2
    assert cells.time_s.sum() == pytest.approx(199 * 0.2, abs=1e-3)
    mean = float((cells.rate_ratio * cells.area_cm2).sum() / cells.area_cm2.sum())
    assert mean == pytest.approx(np.nansum(result.ratio * result.instant_cm2) / result.total_cm2, rel=1e-5)


def test_cells_lie_where_a_plain_loop_puts_them():
    cells, result, boom, _ = mapped(heading_rad=0.7)
    found = dict(zip(zip(cells.column.tolist(), cells.row.tolist(), strict=True), cells.area_cm2.tolist(), strict=True))
    expected: dict[tuple[int, int], float] = {}
    trace, turned = result.driven, 0.7
    for i in range(1, trace.time_s.size):
        for place in range(4):
            across, back = (place - 2) * 6.0, trace.distance_m[i] / 2
            east = trace.east_m[i] + across * math.cos(turned) - back * math.sin(turned)
            north = trace.north_m[i] - across * math.sin(turned) - back * math.cos(turned)
            key = math.floor(east / 5), math.floor(north / 5)
            expected[key] = expected.get(key, 0.0) + 6.0 * trace.distance_m[i] * 1e4
    assert found.keys() == expected.keys()
    assert [found[key] for key in expected] == pytest.approx(list(expected.values()), abs=200)
    assert boom.middle_m.tolist() == [-9, -3, 3, 9]


def test_short_holes_in_the_track_are_filled_and_long_ones_told():
    result, boom, setup = driven()
    trace = result.driven
    for hole, lost in ((slice(50, 60), False), (slice(50, 120), True)):
        east = trace.east_m.copy()
        east[hole] = np.nan
        holed = replace(result, driven=replace(trace, east_m=east))
        cells = map_cells(holed, boom, setup.response, bands=setup.bands, cell_m=5.0)
        whole = map_cells(result, boom, setup.response, bands=setup.bands, cell_m=5.0)
        assert (cells.left_out_cm2 > 0) is lost
        if not lost:  # speed changes a little across the hole, so a few sections fall into the next cell
            assert set(zip(cells.column, cells.row, strict=True)) == set(zip(whole.column, whole.row, strict=True))


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("first_fix", [0, 30])
@pytest.mark.parametrize("standing", [False, True])
def test_a_late_first_fix_and_a_section_that_stands_are_mapped_without_a_warning(first_fix, standing):
    """By hand: 30 of 200 instants without a place; the first has no interval, so 29 of them cover ground."""
    result, _, setup = driven()
    trace, known = result.driven, np.arange(result.driven.time_s.size) >= first_fix
    east, north = (np.where(known, place, np.nan) for place in (trace.east_m, trace.north_m))
    pivot = 1 / 9.0 if standing else 0.0  # turning right about the middle of the outer right section
    turning = replace(trace, east_m=east, north_m=north, curvature_radpm=np.full(trace.time_s.size, pivot))
    ratio = np.where(np.arange(trace.time_s.size) == 100, 0.0, result.ratio)
    turned = replace(result, driven=turning, ratio=ratio)
    boom = boom_sections(turning, EDGES_M)
    cells = map_cells(turned, boom, setup.response, bands=setup.bands, cell_m=5.0)
    assert np.isfinite(cells.rate_ratio).all()
    assert cells.left_out_cm2 == int(result.instant_cm2[:first_fix].sum())
    assert (cells.left_out_cm2 > 0) is (first_fix > 0)


def check_ring(ring):
    """RFC 7946, 3.1.6: closed, four positions or more, the outer ring counter-clockwise; 3.1.1: longitude first."""
    assert len(ring) >= 4
    assert ring[0] == ring[-1]
    assert all(-180 <= longitude <= 180 and -90 <= latitude <= 90 for longitude, latitude in ring)
    middle = ring[0]
    turned = sum(
        (a[0] - middle[0]) * (b[1] - middle[1]) - (b[0] - middle[0]) * (a[1] - middle[1]) for a, b in pairwise(ring)
    )
    assert turned > 0


@pytest.mark.parametrize("longitude_deg", [10.0, -101.9, 179.9995, -180.0])
@pytest.mark.parametrize("latitude_deg", [50.0, -33.0])
def test_geojson_keeps_to_its_standard(longitude_deg, latitude_deg):
    cells, *_ = mapped()
    origin = Origin(math.radians(longitude_deg), math.radians(latitude_deg))
    told = json.loads(geojson(cells, origin, FACTS))
    assert told["type"] == "FeatureCollection"
    assert "crs" not in told  # RFC 7946, 4
    west, south, east, north = told["bbox"]
    assert west <= east
    assert south <= north
    assert len(told["features"]) == cells.column.size
    for feature in told["features"]:
        assert set(feature) == {"type", "geometry", "properties"}
        assert (feature["type"], feature["geometry"]["type"]) == ("Feature", "Polygon")
        (ring,) = feature["geometry"]["coordinates"]
        check_ring(ring)
        assert feature["properties"]["finest_class"] in {None, "VF", "F", "M", "C", "VC", "XC", "UC"}
    assert told["about"] == {**FACTS, "cell_m": 5.0}
    assert told["format_version"] == 1
    assert sum(one["properties"]["area_m2"] for one in told["features"]) == pytest.approx(cells.area_cm2.sum() / 1e4)


def test_a_cell_is_as_wide_on_earth_as_it_says():
    cells, *_ = mapped()
    ring = json.loads(geojson(cells, Origin(0.0, math.radians(60.0)), FACTS))["features"][0]["geometry"]["coordinates"][
        0
    ]
    metre_deg = 360 / (2 * math.pi * 6_371_008.8)
    assert ring[2][1] - ring[0][1] == pytest.approx(5 * metre_deg, rel=1e-3)
    assert ring[2][0] - ring[0][0] == pytest.approx(10 * metre_deg, rel=1e-3)  # twice as many degrees at 60° north


def test_geoparquet_keeps_to_its_standard_and_is_read_back(tmp_path):
    """GeoParquet 1.1: file metadata “geo” with version, primary_column, columns; a column with encoding and types."""
    cells, result, *_ = mapped()
    path = write_map(tmp_path / "map.parquet", cells, result.driven.origin, FACTS)
    table = pq.read_table(path)
    geo = json.loads(table.schema.metadata[b"geo"])
    assert geo["version"] == "1.1.0"
    column = geo["columns"][geo["primary_column"]]
    assert column["encoding"] == "WKB"
    assert column["geometry_types"] == ["Polygon"]
    assert column["orientation"] == "counterclockwise"
    assert column["edges"] in {"planar", "spherical"}
    assert len(column["bbox"]) == 4
    assert "crs" not in column  # then it is OGC:CRS84
    assert str(table.schema.field(geo["primary_column"]).type) == "binary"
    plain = json.loads(geojson(cells, result.driven.origin, FACTS))
    for binary, feature in zip(table["geometry"].to_pylist(), plain["features"], strict=True):
        assert struct.unpack("<BIII", binary[:13]) == (1, 3, 1, 5)
        points = struct.unpack("<10d", binary[13:])
        ring = [list(pair) for pair in zip(points[::2], points[1::2], strict=True)]
        check_ring(ring)
        assert np.allclose(ring, feature["geometry"]["coordinates"][0], atol=1e-8, rtol=0)
    assert table.column_names == ["geometry", *plain["features"][0]["properties"]]
    about = json.loads(table.schema.metadata[b"wetrun"])
    assert about == {"format_version": plain["format_version"], **plain["about"]}
    assert geoparquet(cells, result.driven.origin, FACTS)[:4] == b"PAR1"


def test_a_map_needs_a_place_a_cell_and_a_known_ending(tmp_path):
    cells, result, boom, setup = mapped()
    with pytest.raises(NotDefined, match="ending"):
        write_map(tmp_path / "map.shp", cells, result.driven.origin, FACTS)
    with pytest.raises(NotDefined, match="where on Earth"):
        write_map(tmp_path / "map.geojson", cells, None, FACTS)
    with pytest.raises(OutOfRange, match="map cell"):
        map_cells(result, boom, setup.response, bands=setup.bands, cell_m=0.0)
    nowhere = exact_replay(made_trace(np.full(20, 4.0), np.full(20, 0.2)), made_setup(), ReplayMode.SAME_SPEED)
    with pytest.raises(NotDefined, match="no positions"):
        map_cells(nowhere, boom, setup.response, bands=(), cell_m=5.0)
    assert list(tmp_path.iterdir()) == []
