"""GeoJSON as programs write it: collections and lines, points and patches, cut, damaged, or far too large."""

import gzip
import json

import numpy as np
import pytest
from tests.fieldlog.map_samples import drive, feature, square
from tests.log_reading import recognised_as, sent

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers import geojson_log, json_stream
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest

COUNT = 60


@pytest.fixture
def features():
    return [feature(place, row) for place, row in zip(*drive(COUNT), strict=True)]


@pytest.fixture
def write(tmp_path):
    def write(features, *, name="log.geojson", **beside):
        path = tmp_path / name
        data = json.dumps({"type": "FeatureCollection", "features": features, **beside}).encode()
        path.write_bytes(gzip.compress(data) if name.endswith(".gz") else data)
        return path

    return write


def only(path):
    (found,) = logs_in(path)
    (log,) = found.logs
    return log


def words_of(log):
    return " | ".join(doubt.words for doubt in log.doubts)


@pytest.mark.parametrize("name", ["log.geojson", "log.json", "LOG.GEOJSON.gz"])
def test_a_collection_is_driven_again(write, features, name):
    path = write(features, name=name)
    assert recognised_as(path)[0] == geojson_log.FORMAT
    found = only(path)
    assert found.trace.speed_mps[1:] == pytest.approx(5.0)
    assert found.trace.target_m3pm2[0] * 1e7 == pytest.approx(100.0)
    assert np.degrees(found.trace.origin.longitude_rad) == pytest.approx(10.0)
    assert (found.doubts, found.repairs) == ((), ())


@pytest.mark.parametrize("between", ["\n", "\r\n", "\x1e", "\n\n"])
def test_features_on_lines_of_their_own_are_read(tmp_path, features, between):
    path = tmp_path / "log.geojsonl"
    path.write_text(between + between.join(json.dumps(one) for one in features), encoding="utf-8")
    assert only(path).trace.speed_mps[1:] == pytest.approx(5.0)


def test_a_line_with_a_time_for_each_point_is_a_track(tmp_path):
    points, rows = drive(COUNT)
    line = {"type": "LineString", "coordinates": [list(point) for point in points]}
    properties = {"coordTimes": [row[0] for row in rows], "width_m": 24.0}
    path = tmp_path / "line.geojson"
    path.write_text(json.dumps({"type": "Feature", "geometry": line, "properties": properties}), encoding="utf-8")
    found = only(path)
    assert found.facts.records == COUNT
    assert found.trace.speed_mps[1:] == pytest.approx(5.0, rel=1e-4)


def test_a_line_without_times_has_no_place_in_time(write):
    line = {"type": "Feature", "geometry": {"type": "LineString", "coordinates": [[1, 2], [3, 4]]}, "properties": {}}
    found = only(write([line]))
    assert found.facts.no_fix == 1
    assert any("neither points" in repair.words for repair in found.repairs)


def test_several_points_are_told_by_their_middle(write, features):
    features[3]["geometry"] = {"type": "MultiPoint", "coordinates": [[9.0, 50.0], [11.0, 50.0]]}
    assert any(repair.kind == "several points" and repair.count == 1 for repair in only(write(features)).repairs)


def test_polygons_are_a_map_and_never_a_track(write, features):
    for nth, one in enumerate(features):
        one["geometry"] = {"type": "Polygon", "coordinates": square(10 + 1e-3 * nth, 50.0, 1e-3)}
        one["properties"]["applied rate (L/ha)"] = 101
    found = only(write(features))
    assert found.patches.count == COUNT
    assert found.patches.area_m2 == pytest.approx(COUNT * 111.2294 * 71.6949, rel=2e-5)
    assert found.patches.put_down_m3 == pytest.approx(found.patches.area_m2 * 101e-7)
    with pytest.raises(LogRefused, match="no speed can be had"):
        traces_in(write(features))


def test_patches_among_points_are_left_out_and_counted(write, features):
    features[0]["geometry"] = {"type": "MultiPolygon", "coordinates": [square(10.0, 50.0, 1e-3)]}
    found = only(write(features))
    assert found.facts.records == COUNT - 1
    assert {repair.kind: repair.count for repair in found.repairs} == {"patches and points": 1}


@pytest.mark.parametrize("geometry", [None, {}, {"type": "Point"}, {"type": "Point", "coordinates": ["a", 1]}, 7, []])
def test_a_feature_without_a_place_has_no_position(write, features, geometry):
    features[5]["geometry"] = geometry
    found = only(write(features))
    assert (found.facts.records, found.facts.no_fix) == (COUNT, 1)


@pytest.mark.parametrize(
    ("crs", "said"),
    [("urn:ogc:def:crs:OGC:1.3:CRS84", False), ("EPSG:4326", False), ("urn:ogc:def:crs:EPSG::32612", True)],
)
def test_an_old_crs_member_is_told_where_it_says_something_else(write, features, crs, said):
    found = only(write(features, crs={"type": "name", "properties": {"name": crs}}))
    assert ("another map system" in words_of(found)) == said
    assert (crs in words_of(found)) == said


def test_metres_under_an_old_crs_are_metres_of_an_unknown_grid(write, features):
    for nth, one in enumerate(features):
        one["geometry"]["coordinates"] = [500_000.0, 5_300_000.0 + nth]
    found = only(write(features, crs={"type": "name", "properties": {"name": "EPSG:32612"}}))
    assert found.trace.origin is None
    assert found.trace.north_m == pytest.approx(np.arange(COUNT))
    assert "metres of an unknown grid" in words_of(found)


def test_columns_that_mean_nothing_here_are_let_go(write, features):
    for one in features:
        one["properties"] |= {"operator": "A. Person", "serial": 4711, "nested": {"farm": "x"}}
    (found,) = logs_in(write(features))
    assert "A. Person" not in repr(found)
    assert not {"operator", "serial", "nested"} & {use.column for use in found.logs[0].columns}


def test_properties_that_come_late_are_told(write, features, monkeypatch):
    monkeypatch.setattr(geojson_log, "LEARNED", 20)
    features[40]["properties"]["speed_mps"] = 5.0
    found = only(write(features))
    assert found.facts.records == COUNT
    assert "come up only after the first 20 records were not read: speed_mps" in words_of(found)


def test_a_mapping_names_properties(write, features):
    lines = 'format_version = 1\n[columns]\napplied_rate = { column = "target rate (L/ha)", unit = "L/ha" }'
    (trace,) = traces_in(write(features), ReadRequest(mapping_from(lines, file="map.toml")))
    assert trace.applied_m3pm2[0] * 1e7 == pytest.approx(100.0)
    wrong = mapping_from(lines.replace("target rate (L/ha)", "rate"), file="map.toml")
    with pytest.raises(InputProblems, match="has no such column"):
        logs_in(write(features), ReadRequest(wrong))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('{"type": "FeatureCollection", "features": [', "cut off|breaks off"),
        ('{"type": "FeatureCollection", "features": [{"type": "Feature", "geome', "cut off"),
        ('{"type": "FeatureCollection", "features": [{} {}]}', "comma or the end of the features"),
        ('{"type": "FeatureCollection", "features": []}', "no feature in it"),
        ('{"type": "FeatureCollection" "features": []}', "comma or the end of the object"),
        ('{"type": "Feature", 7: 1}', "a name must come here"),
        ('{"type": "Feature", "deep": ' + "[" * 200_000, "nested too deep"),
        ('{"type": "Feature", "number": ' + "9" * 100 + "e", "comma"),
        ('{"type": "Feature", "properties": {"\ud800": 1}}', "not UTF-8"),
    ],
)
def test_what_is_no_geojson_is_refused_with_its_place(tmp_path, text, said):
    path = tmp_path / "log.geojson"
    path.write_bytes(text.encode("utf-8", errors="surrogatepass"))
    with pytest.raises(LogRefused, match=said):
        logs_in(path)


def test_a_value_without_end_is_refused_before_it_fills_memory(tmp_path, monkeypatch):
    monkeypatch.setattr(json_stream, "MOST_CHARACTERS", 1 << 20)
    path = tmp_path / "log.geojson"
    path.write_bytes(b'{"type": "Feature", "text": "' + b"a" * (8 << 20))
    with pytest.raises(LogRefused, match="longer than"):
        logs_in(path)


def test_too_many_records_or_properties_are_refused(write, features, monkeypatch):
    with pytest.raises(LogRefused, match="more than 50 records"):
        logs_in(write(features), ReadRequest(limits=Limits(most_records=50)))
    monkeypatch.setattr(geojson_log, "MOST_NAMES", 100)
    for nth, one in enumerate(features):
        one["properties"] |= {f"name {nth} {k}": 1 for k in range(3)}
    with pytest.raises(LogRefused, match="over 100 different properties"):
        logs_in(write(features))


def test_numbers_beyond_all_bounds_do_no_harm(write, features):
    path = write(features)
    path.write_text(path.read_text(encoding="utf-8").replace("[10.0, 50.0]", "[1e999, -1e308]"), encoding="utf-8")
    assert only(path).facts.no_fix == 1


def test_other_json_is_not_taken_for_it(tmp_path):
    path = tmp_path / "other.json"
    path.write_text('{"class": "TPV", "lat": 46.0, "type": "position"}\n', encoding="utf-8")
    assert not geojson_log.sniff(sent(path))
