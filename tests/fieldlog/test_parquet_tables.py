"""Other people's Parquet: units from the fields, clocks of every kind, places as columns or geometry, no names."""

from __future__ import annotations

import json
import struct

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from pyproj import CRS, Transformer

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers import parquet_columns
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.readers.wkb_points import points_of

ROWS = np.arange(60)
LON, LAT = np.full(60, 10.0), 50 + ROWS * 8.99322e-6
UNITS = {"clock time": "s", "Swath width": "ft", "Speed": "km/h", "Target": "gal/ac"}


def steady(**other):
    """5 m/s northward, 0.2 s apart, a 30 ft boom."""
    return {
        "clock time": ROWS * 0.2,
        "Swath width": np.full(60, 30.0),
        "Speed": np.full(60, 18.0),
        "Target": np.full(60, 10.0),
        "lon": LON,
        "lat": LAT,
    } | other


def write(path, columns, units=UNITS, geo=None, **options):
    arrays = {name: pa.array(values) for name, values in columns.items() if values is not None}
    fields = [
        pa.field(name, of.type, metadata={"unit": units[name]} if name in units else None)
        for name, of in arrays.items()
    ]
    schema = pa.schema(fields, metadata={"geo": json.dumps(geo)} if geo else None)
    pq.write_table(pa.table(list(arrays.values()), schema=schema), path, **options)
    return path


def geo(name="shape", **column):
    return {
        "version": "1.1.0",
        "primary_column": name,
        "columns": {name: {"encoding": "WKB", "geometry_types": ["Point"]} | column},
    }


def wkb(x, y):
    return [struct.pack("<BIdd", 1, 1, *place) for place in zip(x.tolist(), y.tolist(), strict=True)]


def degrees_of(trace):
    assert trace.origin is not None
    return np.degrees(trace.origin.longitude_rad), np.degrees(trace.origin.latitude_rad)


def test_units_are_taken_from_the_fields(tmp_path):
    (trace,) = traces_in(write(tmp_path / "log.parquet", steady()))
    assert np.nanmedian(trace.speed_mps) == pytest.approx(5.0)
    assert trace.width_m[0] == pytest.approx(30 * 0.3048)
    assert trace.target_m3pm2[0] == pytest.approx(10 * 231 * 0.0254**3 / (43_560 * 0.3048**2))
    uses = {use.meaning: (use.unit, use.stated) for use in trace.facts.columns}
    assert uses["width"] == ("ft", True)
    assert uses["speed"] == ("km/h", True)


def test_a_rate_without_a_unit_is_not_guessed(tmp_path):
    units = {name: unit for name, unit in UNITS.items() if name != "Target"}
    (trace,) = traces_in(write(tmp_path / "log.parquet", steady(), units))
    assert np.isnan(trace.target_m3pm2).all()
    assert trace.facts.raw_columns[0].meaning == "target_rate"


@pytest.mark.parametrize(
    "kind",
    [
        pa.timestamp("ms", "UTC"),
        pa.timestamp("ns"),
        pa.timestamp("us", "Europe/Berlin"),
        pa.time32("ms"),
        pa.time64("us"),
        pa.duration("ms"),
    ],
)
def test_every_kind_of_clock_is_seconds(tmp_path, kind):
    ticks = {"ms": 1000, "us": 10**6, "ns": 10**9}[kind.unit]
    clock = pa.array(np.rint(ROWS * 0.2 * ticks).astype(np.int32 if kind == pa.time32("ms") else np.int64)).cast(kind)
    (trace,) = traces_in(write(tmp_path / "log.parquet", steady(**{"clock time": clock})))
    assert np.nanmedian(trace.interval_s) == pytest.approx(0.2)
    assert np.nanmedian(trace.speed_mps) == pytest.approx(5.0)


def test_clocks_as_texts_and_empty_places_are_read(tmp_path):
    clock = [f"2031-05-01T10:00:{0.2 * nth:06.3f}Z" for nth in ROWS.tolist()]
    speed = pa.array(np.full(60, 18.0), mask=ROWS == 7)
    columns = steady(**{"clock time": clock, "Speed": speed, "Swath width": pa.array([30] * 60, pa.int16())})
    (trace,) = traces_in(write(tmp_path / "log.parquet", columns, {**UNITS, "clock time": ""}))
    assert np.isnan(trace.speed_mps[7])
    assert np.nanmedian(trace.speed_mps) == pytest.approx(5.0)


def test_places_as_geometry_are_longitude_and_latitude(tmp_path):
    columns = steady(lon=None, lat=None, shape=wkb(LON, LAT))
    (found,) = logs_in(write(tmp_path / "log.parquet", columns, geo=geo()))
    trace = found.logs[0].trace
    assert trace is not None
    assert found.format == parquet_columns.GEO_FORMAT
    assert np.ptp(trace.north_m) == pytest.approx(59.0, rel=1e-4)
    assert degrees_of(trace) == pytest.approx((10.0, 50.0))


def test_places_as_pairs_of_numbers_are_read(tmp_path):
    shape = pa.StructArray.from_arrays([pa.array(LON), pa.array(LAT)], ["x", "y"])
    columns = steady(lon=None, lat=None, shape=shape)
    (trace,) = traces_in(write(tmp_path / "log.parquet", columns, geo=geo(encoding="point")))
    assert np.ptp(trace.north_m) == pytest.approx(59.0, rel=1e-4)


def test_a_map_grid_is_turned_into_longitude_and_latitude(tmp_path):
    grid = CRS.from_epsg(32632)
    x, y = Transformer.from_crs(4326, grid, always_xy=True).transform(LON, LAT)
    stated = geo(crs=grid.to_json_dict())
    (trace,) = traces_in(write(tmp_path / "log.parquet", steady(lon=None, lat=None, shape=wkb(x, y)), geo=stated))
    assert degrees_of(trace)[1] == pytest.approx(50.0, abs=1e-9)
    assert np.ptp(trace.north_m) == pytest.approx(59.0, rel=1e-4)


def test_an_unknown_grid_and_what_is_no_point_are_told(tmp_path):
    stated = geo(crs={"type": "ProjectedCRS", "name": "made up"})
    columns = steady(lon=None, lat=None, shape=[*wkb(LON, LAT)[:-1], b"\x01\x03\0\0\0" + b"\0" * 40])
    (found,) = logs_in(write(tmp_path / "log.parquet", columns, geo=stated))
    assert any("map grid" in doubt.words for doubt in found.logs[0].doubts)
    assert [(one.kind, one.count) for one in found.logs[0].repairs if one.kind == "no point"] == [("no point", 1)]


@pytest.mark.parametrize("metadata", [b"{", b"[]", b'{"primary_column": 3, "columns": {}}', b"[" * 5000])
def test_damaged_geo_metadata_leave_the_columns(tmp_path, metadata):
    path = write(tmp_path / "log.parquet", steady())
    table = pq.read_table(path)
    pq.write_table(table.replace_schema_metadata({"geo": metadata}), path)
    (trace,) = traces_in(path)
    assert np.ptp(trace.north_m) == pytest.approx(59.0, rel=1e-4)


def test_points_of_every_writing_are_read():
    big = struct.pack(">BIdd", 0, 1, 3.0, 4.0)
    high = struct.pack("<BIddd", 1, 1001, 5.0, 6.0, 7.0)
    flagged = struct.pack("<BIIddd", 1, 0x80000001 | 0x20000000, 4326, 8.0, 9.0, 1.0)
    x, y, other = points_of([big, high, flagged, None, b"", struct.pack("<BIdd", 1, 2, 0, 0)])
    assert x[:3].tolist() == [3.0, 5.0, 8.0]
    assert y[:3].tolist() == [4.0, 6.0, 9.0]
    assert np.isnan(x[3:]).all()
    assert other == 2


def test_columns_nobody_asked_for_are_never_decoded(tmp_path, monkeypatch):
    asked: list[str] = []
    old = parquet_columns._read

    def noted(parquet, names):
        asked.extend(names)
        return old(parquet, names)

    monkeypatch.setattr(parquet_columns, "_read", noted)
    columns = steady(operator=["A. Name"] * 60, serial=ROWS, nested=[{"a": 1}] * 60)
    (found,) = logs_in(write(tmp_path / "log.parquet", columns))
    assert set(asked) == set(steady())
    assert "A. Name" not in repr(found)


def test_a_mapping_names_columns(tmp_path):
    columns = steady(Speed=None, v=np.full(60, 5.0))
    path = write(tmp_path / "log.parquet", columns)
    mapping = mapping_from('format_version = 1\n[columns]\nspeed = { column = "v", unit = "m/s" }', file="m.toml")
    (trace,) = traces_in(path, ReadRequest(mapping))
    assert np.nanmedian(trace.shown_speed_mps) == pytest.approx(5.0)
    wrong = mapping_from('format_version = 1\n[columns]\nspeed = { column = "w", unit = "m/s" }', file="m.toml")
    with pytest.raises(InputProblems):
        traces_in(path, ReadRequest(wrong))


def test_too_many_rows_and_no_known_column_are_refused(tmp_path):
    path = write(tmp_path / "log.parquet", steady())
    with pytest.raises(LogRefused, match="at most 50 are read"):
        traces_in(path, ReadRequest(limits=Limits(most_records=50)))
    with pytest.raises(LogRefused, match="no column is recognised"):
        traces_in(write(tmp_path / "odd.parquet", {"a": ROWS, "b": ROWS}))
    with pytest.raises(LogRefused, match="no rows"):
        traces_in(write(tmp_path / "none.parquet", {"time": np.empty(0)}))


def test_a_footer_that_lies_is_refused_before_anything_is_decoded(tmp_path):
    path = write(tmp_path / "log.parquet", steady())
    content = path.read_bytes()
    for wrong in (content[:-8] + (2**31).to_bytes(4, "little") + b"PAR1", content[:-4], content[:40], b"PAR1PAR1"):
        path.write_bytes(wrong)
        with pytest.raises(LogRefused):
            traces_in(path)


def test_one_long_text_in_every_row_takes_its_room_once(tmp_path):
    rows, path = 3000, tmp_path / "log.parquet"
    once = np.zeros(rows, dtype=np.int32)
    columns = {
        "time (s)": pa.array(np.arange(rows) * 0.2),
        "section": pa.DictionaryArray.from_arrays(once, ["x" * 1_000_000]),
        "shape": pa.DictionaryArray.from_arrays(once, [b"y" * 1_000_000]),
    }
    schema = pa.schema([(name, of.type) for name, of in columns.items()], metadata={"geo": json.dumps(geo())})
    pq.write_table(pa.table(list(columns.values()), schema=schema), path, store_schema=False)
    before = pa.default_memory_pool().max_memory()
    (found,) = logs_in(path)
    assert found.logs[0].facts.records == rows
    assert pa.default_memory_pool().max_memory() < max(before, 200 << 20)
