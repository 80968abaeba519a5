"""Tables of numbers without a header line: read by what the columns hold, as far as that is safe, and by a mapping."""

from __future__ import annotations

import gzip
import zipfile

import numpy as np
import pytest

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.readers.formats import logs_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest

DEGREES_PER_M = 8.99322e-6
MAPPED = """
format_version = 1
[columns]
time = { column = "3", unit = "s" }
longitude = { column = "column 1" }
latitude = { column = "2" }
distance = { column = "4", unit = "in" }
width = { column = "5", unit = "in" }
"""


def cells(count=300, *, lon=-93.0, lat=39.0, start=50_000, pause_s=7):
    """A winding drive at 2 to 3 m/s, a row a second: lon, lat, seconds, inches, inches wide, something."""
    chance = np.random.default_rng(1)
    step_m, heading_rad = 2.5 + 0.5 * np.sin(np.arange(count) / 9), np.arange(count) / 40
    north = lat + np.cumsum(step_m * np.cos(heading_rad)) * DEGREES_PER_M
    east = lon + np.cumsum(step_m * np.sin(heading_rad)) * DEGREES_PER_M / np.cos(np.radians(lat))
    for i in range(count):
        flow, second = f"{chance.uniform(3, 9):.2f}", start + i + (pause_s if i > count // 2 else 0)
        yield [f"{east[i]:.7f}", f"{north[i]:.7f}", str(second), f"{step_m[i] / 0.0254:.0f}", "360", flow, '"F1"']


def write(tmp_path, rows, *, delimiter=",", name="log.txt", comma=False, end="\n"):
    lines = [delimiter.join(cell.replace(".", ",") if comma else cell for cell in row) for row in rows]
    content = (end.join(lines) + end).encode()
    path = tmp_path / name
    path.write_bytes(gzip.compress(content) if name.endswith(".gz") else content)
    return path


def only(path, mapping=None):
    request = ReadRequest(mapping_from(mapping, file="map.toml")) if mapping else PLAIN_REQUEST
    (found,) = logs_in(path, request)
    (log,) = found.logs
    return log


@pytest.mark.parametrize(
    "shape",
    [
        {},
        {"delimiter": ";"},
        {"delimiter": "\t", "end": "\r\n"},
        {"delimiter": " "},
        {"delimiter": ";", "comma": True},
        {"delimiter": "\t", "comma": True},
        {"name": "log.txt.gz"},
    ],
)
def test_places_and_clock_are_told_from_what_the_columns_hold(tmp_path, shape):
    log = only(write(tmp_path, cells(), **shape))
    assert log.proposed == (
        'longitude = { column = "column 1", unit = "deg" }',
        'latitude = { column = "column 2", unit = "deg" }',
        'time = { column = "column 3", unit = "s" }',
        'distance = { column = "column 4", unit = "in" }',
    )
    assert (log.facts.records, log.facts.usual_step_s, log.facts.no_fix) == (300, 1.0, 0)
    middle = {one.source: one.percentiles_mps[3] for one in log.facts.speeds}
    assert middle["positions"] == pytest.approx(2.5, rel=0.02)
    assert "distance / time" not in middle
    assert not any(use.meaning in ("distance", "width", "target_rate", "applied_rate") for use in log.columns)


def test_a_mapping_by_place_makes_it_a_log_to_drive_again(tmp_path):
    log = only(write(tmp_path, cells()), MAPPED)
    assert not log.proposed
    assert log.trace is not None
    assert log.trace.full_width_m == pytest.approx(360 * 0.0254)
    assert np.nanmedian(log.trace.speed_mps) == pytest.approx(2.5, rel=0.02)


def test_rows_of_fifteen_or_sixteen_cells_are_kept_and_counted(tmp_path):
    rows = [row if i % 3 else [*row, "5"] for i, row in enumerate(cells())]
    rows[7] = rows[7][:6]
    log = only(write(tmp_path, rows), MAPPED)
    assert log.facts.records == 300
    assert log.facts.untimed == 0
    assert {repair.kind: repair.count for repair in log.repairs}["uneven row"] == 101


def test_which_is_east_is_told_by_a_distance_where_both_could_be_either(tmp_path):
    log = only(write(tmp_path, cells(lon=10.0, lat=50.0)))
    assert log.proposed[0] == 'longitude = { column = "column 1", unit = "deg" }'
    swapped = [[row[1], row[0], *row[2:]] for row in cells(lon=10.0, lat=50.0)]
    assert only(write(tmp_path, swapped)).proposed[0] == 'longitude = { column = "column 2", unit = "deg" }'


def test_places_that_could_be_either_way_round_are_shown_and_not_used(tmp_path):
    rows = [row[:3] for row in cells(lon=10.0, lat=50.0)]
    with pytest.raises(LogRefused, match=r"cannot be told .* longitude = . column = .column 1"):
        only(write(tmp_path, rows))


def test_a_count_of_rows_is_proposed_and_not_used_as_a_clock(tmp_path):
    log = only(write(tmp_path, cells(start=1, pause_s=0)))
    assert log.facts.untimed == 300
    assert 'time = { column = "column 3", unit = "s" }' in log.proposed
    assert any("may only count rows" in doubt.words for doubt in log.doubts)


def test_a_place_the_table_does_not_have_is_told(tmp_path):
    with pytest.raises(InputProblems, match="place from the left"):
        only(write(tmp_path, cells()), MAPPED.replace('"4"', '"14"'))


def test_a_gzip_inside_a_zip_is_unpacked_twice(tmp_path):
    packed = write(tmp_path, cells(), name="log.txt.gz")
    with zipfile.ZipFile(tmp_path / "sent.zip", "w") as archive:
        archive.write(packed, "field/log.txt.gz")
    assert only(tmp_path / "sent.zip").facts.records == 300


@pytest.mark.parametrize("beyond", [("1e300",), ("1e308", "-1e308"), ("1.7e308", "3", "-1.7e308")])
def test_numbers_beyond_all_measure_agree_with_nothing(tmp_path, beyond):
    """Squares and sums of such numbers are too large to be written; damaged files hold them."""
    rows = [[*row[:5], f"{beyond[i % len(beyond)]}" if i % 3 else row[5], row[6]] for i, row in enumerate(cells())]
    log = only(write(tmp_path, rows))
    assert 'distance = { column = "column 4", unit = "in" }' in log.proposed
    assert not any("column 6" in line for line in log.proposed)
