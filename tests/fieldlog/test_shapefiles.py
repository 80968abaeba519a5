"""Shapefiles as customers send them: parts missing, cut, wrong or doubled; nothing is read that is not there."""

import shutil
import struct
import zipfile

import numpy as np
import pytest
import shapefile
from tests.fieldlog.map_samples import DEGREES, FIELDS, UTM_12_NORTH, drive, square, write_shapefile

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers.formats import logs_in, read_logs, traces_in
from wetrun.fieldlog.readers.found import FoundLogs, PassedOver
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest

COUNT = 60


@pytest.fixture
def log(tmp_path):
    """A drive of 60 records as a point shapefile."""
    folder = tmp_path / "sent"
    folder.mkdir()
    write_shapefile(folder / "Field 1", *drive(COUNT))
    return folder / "Field 1.shp"


def only(path):
    (found,) = logs_in(path)
    (log,) = found.logs
    return log


def words_of(log):
    return " | ".join(doubt.words for doubt in log.doubts)


def repairs_of(log):
    return {repair.kind: repair.count for repair in log.repairs}


def patched(path, at, data):
    content = bytearray(path.read_bytes())
    content[at : at + len(data)] = data
    path.write_bytes(content)


def test_a_whole_set_is_driven_again_without_a_doubt(log):
    found = only(log)
    assert found.trace.speed_mps[1:] == pytest.approx(5.0)
    assert found.trace.full_width_m == 24.0
    assert np.degrees(found.trace.origin.latitude_rad) == pytest.approx(50.0)
    uses = {use.meaning: (use.column, use.unit, use.stated) for use in found.columns}
    assert uses["longitude"] == ("shape x", "deg", True)
    assert uses["distance"] == ("DISTANC_m", "m", True)
    assert found.repairs == ()


def test_the_parts_of_a_set_are_claimed_whatever_their_case(log):
    for part in list(log.parent.iterdir()):
        part.rename(part.with_suffix(part.suffix.upper()))
    assert [type(one) for one in read_logs(log.parent)] == [FoundLogs]
    assert only(log.parent).trace is not None


def test_a_zip_with_junk_spaces_and_several_sets_is_read_set_by_set(log, tmp_path):
    write_shapefile(log.parent / "Other", *drive(30))
    path = tmp_path / "mail.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for part in log.parent.iterdir():
            archive.write(part, f"My farm/{part.name}")
            archive.writestr(f"__MACOSX/My farm/._{part.name}", b"\0\5\x16\7")
    found = logs_in(path)
    assert sorted(one.logs[0].facts.records for one in found) == [30, COUNT]
    assert {one.name for one in found} == {"mail.zip/My farm/Field 1.shp", "mail.zip/My farm/Other.shp"}


def test_without_its_table_only_places_are_known(log):
    log.with_suffix(".dbf").unlink()
    found = only(log)
    assert found.facts.records == COUNT
    assert "table of values (.dbf)" in words_of(found)
    assert "no column tells the time" in found.missing


def test_without_its_index_all_is_read_and_said(log):
    log.with_suffix(".shx").unlink()
    assert only(log).trace is not None
    assert "index (.shx) of Field 1.shp is missing" in words_of(only(log))


def test_an_index_of_another_count_is_said(log):
    index = log.with_suffix(".shx")
    index.write_bytes(index.read_bytes()[:-16])
    assert f"lists {COUNT - 2} shapes, there are {COUNT}" in words_of(only(log))


def test_without_a_projection_degrees_are_taken_where_they_can_be(log):
    log.with_suffix(".prj").unlink()
    assert only(log).trace.origin is not None
    assert "No projection is stated" in words_of(only(log))


@pytest.mark.parametrize(
    "prj", ["", "rubbish", "PROJCS[" * 4000, 'PROJCS["x",EXTENSION["PROJ4","+nadgrids=/etc/passwd"]]']
)
def test_a_grid_that_is_not_known_is_read_as_metres_from_the_first_fix(tmp_path, prj):
    points, rows = drive(COUNT)
    points = [(500_000.0, 5_300_000.0 + nth) for nth in range(COUNT)]
    write_shapefile(tmp_path / "log", points, rows, prj=prj)
    found = only(tmp_path / "log.shp")
    assert found.trace.origin is None
    assert found.trace.north_m == pytest.approx(np.arange(COUNT))
    assert "metres of an unknown grid" in words_of(found)
    assert ("cannot be read" in words_of(found)) == bool(prj)


def test_a_grid_in_metres_is_taken_back_to_degrees(tmp_path):
    _, rows = drive(COUNT)
    write_shapefile(tmp_path / "log", [(500_000.0, 5_300_000.0 + nth) for nth in range(COUNT)], rows, prj=UTM_12_NORTH)
    trace = only(tmp_path / "log.shp").trace
    assert np.degrees(trace.origin.longitude_rad) == pytest.approx(-111.0, abs=1e-9)
    # Arc of the meridian by the series of Helmert over 0.9996: 5 300 000 m is 47.8535 degrees north.
    assert np.degrees(trace.origin.latitude_rad) == pytest.approx(meridian_latitude(5_300_000 / 0.9996), abs=1e-6)


def meridian_latitude(arc_m):
    """Return the latitude at an arc of the meridian, by halving, the arc being a sum over small steps."""
    flattening, equator_m = 1 / 298.257223563, 6_378_137.0
    squared = flattening * (2 - flattening)
    north = np.radians(np.linspace(0, 90, 900_001))
    radius_m = equator_m * (1 - squared) / (1 - squared * np.sin(north) ** 2) ** 1.5
    arcs_m = np.concatenate([[0], np.cumsum((radius_m[1:] + radius_m[:-1]) / 2 * np.diff(north))])
    return np.degrees(np.interp(arc_m, arcs_m, north))


def test_feet_of_a_grid_are_feet(tmp_path):
    in_feet = UTM_12_NORTH.replace('UNIT["Meter",1]', 'UNIT["Foot",0.3048]').replace("500000", "1640419.947506562")
    _, rows = drive(COUNT)
    points = [(1_640_419.9475, (5_300_000.0 + nth) / 0.3048) for nth in range(COUNT)]
    write_shapefile(tmp_path / "log", points, rows, prj=in_feet)
    trace = only(tmp_path / "log.shp").trace
    assert np.degrees(trace.origin.longitude_rad) == pytest.approx(-111.0, abs=1e-6)
    assert np.diff(trace.north_m) == pytest.approx(1.0, abs=0.01)


def test_a_projection_of_degrees_over_metres_is_doubted(tmp_path):
    _, rows = drive(COUNT)
    write_shapefile(tmp_path / "log", [(500_000.0, 5_300_000.0 + nth) for nth in range(COUNT)], rows, prj=DEGREES)
    assert "is degrees, which its numbers cannot be" in words_of(only(tmp_path / "log.shp"))


def test_places_on_an_old_datum_are_doubted(tmp_path):
    write_shapefile(tmp_path / "log", *drive(COUNT), prj=DEGREES.replace("D_WGS_1984", "D_North_American_1927"))
    assert "100 m off" in words_of(only(tmp_path / "log.shp"))


def test_no_grid_is_ever_fetched(log):
    only(log)
    from pyproj.network import is_network_enabled  # type: ignore[attr-defined]

    assert not is_network_enabled()


def test_a_table_that_is_cut_gives_what_is_there(log):
    table = log.with_suffix(".dbf")
    table.write_bytes(table.read_bytes()[:-200])
    found = only(log)
    assert found.facts.records < COUNT
    assert "says 60 rows, there are" in words_of(found)
    assert "the first" in words_of(found)


@pytest.mark.parametrize(
    ("at", "data"),
    [(10, b"\xff\xff"), (10, b"\0\0"), (8, b"\0\0"), (8, b"\xff\xff"), (32 + 16, b"\xff"), (32 + 16, b"\0")],
)
def test_a_table_whose_header_cannot_be_is_left_alone_and_said(log, at, data):
    patched(log.with_suffix(".dbf"), at, data)
    found = only(log)
    assert found.trace is None
    assert "cannot be used" in words_of(found)


def test_a_stated_number_of_rows_sets_nothing_aside(log):
    patched(log.with_suffix(".dbf"), 4, struct.pack("<I", 0xFFFFFFFF))
    assert only(log).facts.records == COUNT
    assert "4,294,967,295 rows" in words_of(only(log))


def test_rows_marked_as_deleted_are_left_out(log):
    table = log.with_suffix(".dbf")
    begin, width = struct.unpack_from("<HH", table.read_bytes(), 8)
    patched(table, begin + 3 * width, b"*")
    assert only(log).facts.records == COUNT - 1
    assert repairs_of(only(log))["deleted row"] == 1


def test_a_table_of_deleted_rows_only_is_refused(log):
    table = log.with_suffix(".dbf")
    begin, width = struct.unpack_from("<HH", table.read_bytes(), 8)
    for nth in range(COUNT):
        patched(table, begin + nth * width, b"*")
    with pytest.raises(LogRefused, match="all its rows are marked as deleted"):
        logs_in(log)


def test_a_table_without_rows_is_left_alone_and_said(log):
    patched(log.with_suffix(".dbf"), 4, b"\0\0\0\0")
    assert "it has no rows" in words_of(only(log))


def test_a_grid_whose_unit_cannot_be_is_not_used(tmp_path):
    _, rows = drive(COUNT)
    points = [(500_000.0, 5_300_000.0 + nth) for nth in range(COUNT)]
    write_shapefile(tmp_path / "log", points, rows, prj=UTM_12_NORTH.replace('"Meter",1]', '"Meter",1e300]'))
    assert "cannot be read" in words_of(only(tmp_path / "log.shp"))


def test_numbers_of_asterisks_are_missing_and_counted(log):
    table = log.with_suffix(".dbf")
    begin, width = struct.unpack_from("<HH", table.read_bytes(), 8)
    patched(table, begin + 3 * width + 1 + 24, b"*" * 12)
    assert repairs_of(only(log))["no value"] == 1


@pytest.mark.parametrize("cut", [1, 20, 1000])
def test_shapes_that_break_off_are_read_as_far_as_they_go(log, cut):
    log.write_bytes(log.read_bytes()[:-cut])
    found = only(log)
    assert found.facts.records == COUNT - -(-cut // 28)
    assert "The shapes break off" in words_of(found)


@pytest.mark.parametrize("content", [b"\x7f\xff\xff\xff", b"\xff\xff\xff\xff", b"\0\0\0\0"])
def test_a_record_whose_length_cannot_be_ends_the_reading(log, content):
    patched(log, 100 + 5 * 28 + 4, content)
    assert only(log).facts.records == 5


def test_a_record_of_another_type_has_no_position(log):
    patched(log, 100 + 5 * 28 + 8, struct.pack("<i", 5))
    found = only(log)
    assert found.facts.records == COUNT
    assert found.facts.no_fix == repairs_of(found)["damaged shape"] == 1


@pytest.mark.parametrize(("kind", "said"), [(99, "type 99"), (3, "lines, not points"), (31, "type 31")])
def test_shapes_that_are_no_places_are_refused(log, kind, said):
    patched(log, 32, struct.pack("<i", kind))
    with pytest.raises(LogRefused, match=said):
        logs_in(log)


def test_a_file_without_shapes_is_refused(log):
    log.write_bytes(log.read_bytes()[:100])
    with pytest.raises(LogRefused, match="no shape in it"):
        logs_in(log)


def test_heights_that_are_no_numbers_do_no_harm(tmp_path):
    points, rows = drive(COUNT)
    places = [(*point, float("nan")) for point in points]
    write_shapefile(tmp_path / "log", places, rows, kind=shapefile.POINTZ)
    assert only(tmp_path / "log.shp").trace.speed_mps[1:] == pytest.approx(5.0)


def test_records_without_a_shape_have_no_position(tmp_path):
    points, rows = drive(COUNT)
    write_shapefile(tmp_path / "log", [None, *points[1:]], rows)
    found = only(tmp_path / "log.shp")
    assert (found.facts.no_fix, repairs_of(found)["empty shape"]) == (1, 1)


def test_the_same_columns_in_another_order_of_lengths_decode_alike(tmp_path):
    """Records with and without a shape by turns: no two of one length follow each other."""
    points, rows = drive(COUNT)
    places = [point if nth % 2 else None for nth, point in enumerate(points)]
    write_shapefile(tmp_path / "log", places, rows)
    found = only(tmp_path / "log.shp")
    assert (found.facts.records, found.facts.no_fix) == (COUNT, COUNT // 2)
    assert found.trace is not None


@pytest.mark.parametrize(("page", "said"), [("UTF-8", ""), ("65001", ""), ("1252", ""), ("KLINGON", "klingon")])
def test_texts_are_read_in_the_stated_code_page_or_it_is_said(tmp_path, page, said):
    _, rows = drive(COUNT)
    points, _ = drive(COUNT)
    fields = (("IsoTime", "C", 24, 0), ("section", "C", 10, 0), ("DIST_m", "N", 12, 3), ("width_m", "N", 10, 3))
    write_shapefile(tmp_path / "log", points, [(row[0], "é", row[1], row[2]) for row in rows], fields=fields)
    table = tmp_path / "log.dbf"
    if page == "1252":
        table.write_bytes(table.read_bytes().replace("é".encode(), "é ".encode("cp1252")))
    (tmp_path / "log.cpg").write_text(page, encoding="ascii")
    found = only(tmp_path / "log.shp")
    assert [section.name for section in found.trace.sections] == ["é"]
    assert (said in words_of(found)) if said else words_of(found) == ""


def test_texts_outside_the_stated_code_page_are_counted(tmp_path):
    points, rows = drive(COUNT)
    fields = (("IsoTime", "C", 24, 0), ("section", "C", 10, 0), ("DIST_m", "N", 12, 3), ("width_m", "N", 10, 3))
    write_shapefile(tmp_path / "log", points, [(row[0], "é", row[1], row[2]) for row in rows], fields=fields)
    table = tmp_path / "log.dbf"
    table.write_bytes(table.read_bytes().replace("é".encode(), b"\xe9 ", 1))
    (tmp_path / "log.cpg").write_text("UTF-8", encoding="ascii")
    assert repairs_of(only(tmp_path / "log.shp"))["unreadable text"] == 1


def test_a_zero_length_polygon_covers_nothing_and_is_told(tmp_path):
    _, rows = drive(3)
    shapes = [
        square(500_000.0, 5_300_000.0, 20.0),
        square(500_020.0, 5_300_000.0, 0.0),
        [[(500_000.0, 5_300_000.0)] * 4],
    ]
    write_shapefile(tmp_path / "map", shapes, rows, kind=shapefile.POLYGON, prj=UTM_12_NORTH)
    found = only(tmp_path / "map.shp")
    assert (found.patches.count, found.patches.without_area) == (3, 2)
    assert found.patches.area_m2 == pytest.approx(400.0)
    assert repairs_of(found)["no area"] == 2
    with pytest.raises(LogRefused, match="map of patches"):
        traces_in(tmp_path / "map.shp")


@pytest.mark.parametrize(
    ("at", "data"), [(44, b"\xff\xff\xff\x7f"), (48, b"\xff\xff\xff\x7f"), (52, b"\xff\xff\xff\x7f")]
)
def test_polygons_whose_counts_cannot_be_have_no_place(tmp_path, at, data):
    _, rows = drive(3)
    shapes = [square(500_000.0 + 20 * nth, 5_300_000.0, 20.0) for nth in range(3)]
    write_shapefile(tmp_path / "map", shapes, rows, kind=shapefile.POLYGON, prj=UTM_12_NORTH)
    patched(tmp_path / "map.shp", 100 + at, data)
    assert only(tmp_path / "map.shp").patches.area_m2 == pytest.approx(800.0)


def test_area_of_patches_in_degrees_is_that_on_the_ellipsoid(tmp_path):
    _, rows = drive(1)
    write_shapefile(tmp_path / "map", [square(10.0, 50.0, 1e-3)], rows[:1], kind=shapefile.POLYGON)
    # A degree at 50.0005° N is 111.2294 km northward and 71.6949 km eastward (arc and parallel of WGS 84).
    assert only(tmp_path / "map.shp").patches.area_m2 == pytest.approx(111.2294 * 71.6949, rel=2e-5)


def test_time_is_counted_from_durations_track_by_track_in_the_order_of_records(tmp_path):
    count = 4 * COUNT
    points, _ = drive(count)
    fields = (("dataset", "C", 20, 0), ("obj__id", "N", 9, 0), ("durtn_s", "N", 9, 3), ("dstnc_f", "N", 9, 4),
              ("time", "D", 8, 0), ("swth_w_", "N", 9, 3))  # fmt: skip
    rows = [(f"pass {nth % 2}", nth, 0.2, 3.2808, "20310501", 78.7402) for nth in range(count)]
    order = [*range(1, count), 0]
    write_shapefile(tmp_path / "log", [points[n // 2] for n in order], [rows[n] for n in order], fields=fields)
    (found,) = logs_in(tmp_path / "log.shp")
    assert [log.name.rpartition(", ")[2] for log in found.logs] == ["track 1", "track 2"]
    for log in found.logs:
        assert log.facts.records == count // 2
        assert log.facts.span_s == pytest.approx(0.2 * (count // 2 - 1))
        assert log.trace is not None
        assert log.trace.speed_mps[1:] == pytest.approx(5.0, rel=1e-4)
        assert "time was counted from the durations in durtn_s" in words_of(log)


def test_a_mapping_names_columns_of_the_table(log):
    lines = 'format_version = 1\n[columns]\ntarget_rate = { column = "TargtRt", unit = "L/ha" }'
    (trace,) = traces_in(log, ReadRequest(mapping_from(lines, file="map.toml")))
    assert trace.target_m3pm2[0] * 1e7 == pytest.approx(100.0)
    wrong = mapping_from(lines.replace("TargtRt", "Rate"), file="map.toml")
    with pytest.raises(InputProblems, match="it has IsoTime, DISTANC_m, SWATH_m, TargtRt"):
        logs_in(log, ReadRequest(wrong))


def test_columns_that_mean_nothing_here_are_not_even_decoded(tmp_path, monkeypatch):
    points, rows = drive(COUNT)
    fields = (*FIELDS, ("Operator", "C", 20, 0), ("Farm", "C", 20, 0), ("SerialNo", "N", 12, 0))
    write_shapefile(tmp_path / "log", points, [(*row, "A. Person", "Some farm", 4711) for row in rows], fields=fields)
    decoded: set[str] = set()
    from wetrun.fieldlog.readers import dbase_cells

    values = dbase_cells.values_in

    def noted(field, block, counts):
        decoded.add(field.name)
        return values(field, block, counts)

    monkeypatch.setattr("wetrun.fieldlog.readers.dbase_table.values_in", noted)
    assert only(tmp_path / "log.shp").trace is not None
    assert decoded == {name for name, *_ in FIELDS}


def test_a_copy_without_its_shapes_is_passed_over_by_name(log):
    other = log.parent / "alone"
    other.mkdir()
    shutil.copy(log.with_suffix(".dbf"), other)
    names = [one.name for one in read_logs(log.parent) if isinstance(one, PassedOver)]
    assert names == ["sent/alone/Field 1.dbf"]
