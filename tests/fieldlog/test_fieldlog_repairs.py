"""Each trouble a log may carry is put right, counted and told, on logs written here.

One metre northward is 8.99322e-6 degrees of latitude on the mean sphere.
"""

from __future__ import annotations

import gzip

import numpy as np
import pytest
from tests.log_reading import only_trace, recognised_as

from wetrun.errors import LogRefused
from wetrun.fieldlog.inspect import inspection, speed_percentiles
from wetrun.fieldlog.logged import check_rates
from wetrun.fieldlog.readers.mapping import mapping_from


def counted(trace):
    return {repair.kind: repair.count for repair in trace.facts.repairs}


def without_units(rows):
    return [{name.split(" (")[0]: cell for name, cell in row.items()} for row in rows]


def with_time_unit(rows):
    return [{"time (s)": row["time"], **{k: v for k, v in row.items() if k != "time"}} for row in rows]


def test_a_clean_log_needs_no_repair_and_gives_the_drive_back(write_rows, plain_rows):
    trace = only_trace(write_rows(plain_rows()))
    assert trace.facts.repairs == ()
    assert trace.facts.doubts == ()
    assert np.isnan(trace.speed_mps[0])
    assert trace.speed_mps[1:] == pytest.approx(np.full(59, 5.0))
    assert trace.area_m2.sum() == pytest.approx(60 * 24.0)
    assert trace.target_m3pm2 == pytest.approx(np.full(60, 1e-5))  # 100 L/ha: 0.1 m3 on 10 000 m2
    assert [use.unit for use in trace.facts.columns if use.meaning == "target_rate"] == ["L/ha"]


def test_rows_of_one_instant_are_joined_and_a_missing_row_is_a_section_off(write_rows, section_rows):
    rows = section_rows()
    del rows[3 * 10 + 1]  # the 12 m section is off at the instant with index 10
    trace = only_trace(write_rows(rows))
    assert (trace.facts.rows, trace.facts.instants) == (179, 60)
    assert trace.width_m[10] == pytest.approx(12.0)
    assert trace.sections_on.tolist() == [0b111] * 10 + [0b101] + [0b111] * 49
    assert trace.full_width_m == pytest.approx(24.0)
    assert trace.speed_mps[1:] == pytest.approx(np.full(59, 5.0), rel=1e-6)


def test_sections_that_never_work_together_are_two_groups(write_rows, section_rows):
    first, second = section_rows(30), section_rows(60, names=("7", "8", "9"))[3 * 30 :]
    trace = only_trace(write_rows(first + second))
    assert trace.facts.section_groups == (("1", "2", "3"), ("7", "8", "9"))


def test_a_file_merged_the_wrong_way_round_is_put_in_order_and_the_step_counted(write_rows, plain_rows):
    rows = plain_rows()
    trace = only_trace(write_rows(rows[30:] + rows[:30]))
    assert trace.facts.backward_steps == 1
    assert counted(trace) == {"clock backward": 1}
    assert trace.speed_mps[1:] == pytest.approx(np.full(59, 5.0))


def test_a_clock_set_back_keeps_two_recordings_apart(write_rows, plain_rows):
    rows = plain_rows()
    for i, row in enumerate(rows[40:]):
        row["time (s)"] = f"{4.1 + 0.2 * i:.1f}"
    trace = only_trace(write_rows(rows))
    assert (trace.facts.backward_steps, trace.facts.recordings) == (1, 2)
    assert np.nanmax(trace.speed_mps) == pytest.approx(5.0)
    assert np.isnan(trace.speed_mps).sum() == 2


def test_a_gap_is_cut_and_never_driven_across(write_rows, plain_rows):
    rows = plain_rows()
    for row in rows[30:]:
        row["time (s)"] = f"{float(row['time (s)']) + 600:.1f}"
    trace = only_trace(write_rows(rows))
    assert trace.facts.gaps == 1
    assert trace.facts.gap_total_s == pytest.approx(600.2)
    assert np.isnan(trace.interval_s[30])
    assert np.nanmin(trace.speed_mps) == pytest.approx(5.0)
    assert [left.count for left in trace.facts.left_out] == [2]


def test_a_pause_whose_distance_is_the_last_step_only_is_cut(write_rows, plain_rows):
    rows = plain_rows()
    del rows[20:30]
    trace = only_trace(write_rows(rows))
    assert counted(trace) == {"pause": 1}
    assert np.nanmin(trace.speed_mps) == pytest.approx(5.0)


def test_a_row_written_twice_counts_once(write_rows, plain_rows):
    rows = plain_rows()
    trace = only_trace(write_rows([*rows[:20], rows[19], *rows[20:]]))
    assert counted(trace) == {"duplicate row": 1}
    assert trace.facts.instants == 60


def test_rows_that_share_a_clock_of_whole_seconds_are_joined_by_adding_their_distances(write_rows, plain_rows):
    rows = plain_rows(50)
    for i, row in enumerate(rows):
        row["time (s)"] = i // 5
    trace = only_trace(write_rows(rows))
    assert counted(trace) == {"shared reading": 50}
    assert trace.facts.instants == 10
    assert trace.speed_mps[1:] == pytest.approx(np.full(9, 5.0))
    assert trace.width_m == pytest.approx(np.full(10, 24.0))


@pytest.mark.parametrize(
    ("column", "cell", "kind"),
    [
        ("distance (m)", "NaN", "no distance"),
        ("distance (m)", "oops", "unreadable cell"),
        ("distance (m)", -1, "negative distance"),
        ("distance (m)", 400, "impossible speed"),
        ("swath width (m)", 0, "no width"),
        ("target rate (L/ha)", 0, "no target"),
        ("applied rate (L/ha)", -4, "negative rate"),
        ("time (s)", "", "no time"),
        ("lat", 91, "no position"),
        ("distance (m)", 1e12, "unbelievable value"),
        ("swath width (m)", 1e12, "unbelievable value"),
        ("applied rate (L/ha)", 1e12, "unbelievable value"),
        ("time (s)", 1e15, "unbelievable value"),
    ],
)
def test_a_faulty_cell_is_left_out_and_counted(write_rows, plain_rows, column, cell, kind):
    rows = plain_rows()
    rows[20][column] = cell
    trace = only_trace(write_rows(rows))
    assert counted(trace)[kind] == 1
    assert np.nanmax(trace.speed_mps) == pytest.approx(5.0)


def test_positions_of_nought_are_dropped(write_rows, plain_rows):
    rows = plain_rows()
    for row in rows[:5]:
        row["lon"] = row["lat"] = 0
    trace = only_trace(write_rows(rows))
    assert counted(trace) == {"no position": 5}
    assert np.isnan(trace.east_m[:5]).all()
    assert np.nanmax(trace.north_m) < 60


def test_a_jump_no_sprayer_drives_is_cut(write_rows, plain_rows):
    rows = plain_rows()
    for row in rows[30:]:
        row["lon"] = 10.5
    trace = only_trace(write_rows(rows))
    assert counted(trace) == {"jump": 1}
    assert np.isnan(trace.speed_mps[30])


def test_positions_that_jump_all_the_time_cut_nothing_and_are_doubted(write_rows, plain_rows):
    rows = plain_rows()
    for i, row in enumerate(rows):
        row["lon"] = 10 + i * 7 % 23
    trace = only_trace(write_rows(rows))
    assert trace.facts.repairs == ()
    assert [doubt.words for doubt in trace.facts.doubts] == ["Positions jump at 59 of 60 instants: not used"]
    assert trace.speed_mps[1:] == pytest.approx(np.full(59, 5.0))


@pytest.mark.parametrize(("shift", "where"), [(1, "row below"), (-1, "row above"), (0, "")])
def test_a_distance_column_one_row_out_of_step_is_doubted(write_rows, plain_rows, shift, where):
    rows = plain_rows(400)
    steps = 1 + 0.5 * np.random.default_rng(7).random(402)
    at = np.cumsum(steps)
    for i, row in enumerate(rows):
        row["lat"] = f"{50 + at[i + 1] * 8.99322e-6:.9f}"
        row["distance (m)"] = f"{steps[i + 1 + shift]:.4f}"
    told = [doubt.words for doubt in only_trace(write_rows(rows)).facts.doubts]
    assert len(told) == abs(shift)
    assert all("one row out of step" in words and where in words for words in told)


@pytest.mark.parametrize(("unit", "mps"), [("mph", 0.44704), ("km/h", 1 / 3.6), ("ft/s", 0.3048), ("m/s", 1.0)])
def test_the_unit_of_speed_is_inferred_from_positions_and_shown_as_such(write_rows, plain_rows, unit, mps):
    rows = [{"speed": f"{5 / mps:.3f}", **row} for row in plain_rows(120)]
    for row in rows:
        del row["distance (m)"]
    trace = only_trace(write_rows(rows))
    assert np.nanmedian(trace.shown_speed_mps) == pytest.approx(5, rel=1e-3)
    assert [(use.unit, use.stated) for use in trace.facts.columns if use.meaning == "speed"] == [(unit, False)]
    assert any(f'unit = "{unit}"' in doubt.remedy for doubt in trace.facts.doubts)


@pytest.mark.parametrize(("unit", "metres"), [("m", 1.0), ("ft", 0.3048), ("in", 0.0254)])
def test_the_unit_of_distance_is_inferred_from_positions_and_shown_as_such(write_rows, plain_rows, unit, metres):
    rows = with_time_unit(without_units(plain_rows(80)))
    for row in rows:
        row["distance"] = 1 / metres
        row["swath width"] = 24 / metres
    trace = only_trace(write_rows(rows))
    assert trace.distance_m == pytest.approx(np.ones(80))
    assert trace.width_m == pytest.approx(np.full(80, 24.0))
    uses = {use.meaning: use for use in trace.facts.columns}
    assert (uses["distance"].unit, uses["distance"].stated) == (unit, False)
    assert "positions moved" in uses["distance"].evidence
    assert sum("was inferred" in doubt.words for doubt in trace.facts.doubts) == 2


def test_the_unit_of_a_rate_is_never_inferred(write_rows, plain_rows):
    trace = only_trace(write_rows(with_time_unit(without_units(plain_rows(80)))))
    assert np.isnan(trace.target_m3pm2).all()
    raw = {column.column: column.p50 for column in trace.facts.raw_columns}
    assert raw == {"target rate": 100.0, "applied rate": 101.0}
    with pytest.raises(LogRefused) as refused:
        check_rates(trace)
    assert "never guessed" in str(refused.value)
    assert "target_rate = {" in refused.value.remedy


def test_a_mapping_states_what_the_header_does_not(write_rows, plain_rows):
    mapping = mapping_from(
        """
        format_version = 1
        [columns]
        target_rate = { column = "target rate", unit = "gal/ac" }
        applied_rate = { column = "applied rate", unit = "L/ha" }
        """,
        file="mine.toml",
    )
    trace = only_trace(write_rows(with_time_unit(without_units(plain_rows(80)))), mapping)
    # 100 gal/ac by the exact definitions: 231 in3 on 43 560 ft2
    assert trace.target_m3pm2[0] == pytest.approx(100 * 231 * 0.0254**3 / (43_560 * 0.3048**2))
    assert trace.facts.raw_columns == ()


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_decimal_commas_and_a_byte_order_mark_are_read(write_rows, plain_rows, delimiter):
    rows = [{name: str(cell).replace(".", ",") for name, cell in row.items()} for row in plain_rows()]
    trace = only_trace(write_rows(rows, delimiter=delimiter, encoding="utf-8-sig"))
    assert trace.speed_mps[1:] == pytest.approx(np.full(59, 5.0))
    assert trace.facts.repairs == ()


def test_a_gzip_reads_as_the_file_in_it(write_rows, section_rows, tmp_path):
    path = write_rows(section_rows())
    packed = tmp_path / "packed.csv.gz"
    packed.write_bytes(gzip.compress(path.read_bytes()))
    assert only_trace(packed).area_m2.tobytes() == only_trace(path).area_m2.tobytes()
    assert recognised_as(packed)


def test_speed_comes_from_the_shown_speed_where_there_is_no_distance(write_rows, plain_rows):
    rows = [{"speed (km/h)" if k == "distance (m)" else k: v for k, v in row.items()} for row in plain_rows()]
    for row in rows:
        row["speed (km/h)"] = 18
    trace = only_trace(write_rows(rows))
    assert trace.speed_mps[1:] == pytest.approx(np.full(59, 5.0))
    assert any("shown speed" in doubt.words for doubt in trace.facts.doubts)


def test_speed_comes_from_positions_alone_with_a_doubt(write_rows, plain_rows):
    rows = [{k: v for k, v in row.items() if k != "distance (m)"} for row in plain_rows()]
    trace = only_trace(write_rows(rows))
    assert trace.speed_mps[1:] == pytest.approx(np.full(59, 5.0), rel=1e-3)
    assert any("positions" in doubt.words for doubt in trace.facts.doubts)


def test_sources_of_speed_stand_side_by_side_and_a_disagreement_is_named(write_rows, plain_rows):
    rows = [{**row, "speed (km/h)": 21} for row in plain_rows()]
    found = inspection(only_trace(write_rows(rows)))
    middle = {speed.source: speed.percentiles_mps[3] for speed in found.speeds}
    assert middle["distance / time"] == pytest.approx(5.0)
    assert middle["positions"] == pytest.approx(5.0, rel=1e-3)
    assert middle["shown"] == pytest.approx(21 / 3.6)
    assert found.disagreement is not None
    assert "17 %" in found.disagreement


def test_a_turn_shows_as_curvature_to_the_right(write_rows, plain_rows):
    rows = plain_rows()
    for i, row in enumerate(rows):
        row["heading (deg)"] = (340 + np.degrees(i / 20)) % 360  # 1 m a row on a circle of 20 m
    trace = only_trace(write_rows(rows))
    inside = trace.curvature_radpm[10:50]
    assert inside == pytest.approx(np.full(40, 1 / 20), rel=1e-3)
    assert speed_percentiles(trace)[0].instants == 59


def test_the_place_of_the_first_fix_is_kept_for_maps(write_rows, plain_rows):
    rows = plain_rows()
    rows[0]["lon"] = rows[0]["lat"] = 0
    trace = only_trace(write_rows(rows))
    assert trace.origin is not None
    assert np.degrees(trace.origin.longitude_rad) == pytest.approx(10.0)
    assert np.degrees(trace.origin.latitude_rad) == pytest.approx(50 + 8.99322e-6)
    for row in rows:
        del row["lon"], row["lat"]
    assert only_trace(write_rows(rows)).origin is None


@pytest.mark.parametrize(("lon", "lat"), [("10", "1e300"), ("-1e308", "50"), ("1.7e308", "-1.7e308"), ("400", "91")])
def test_a_place_that_is_none_is_not_drawn(write_rows, plain_rows, lon, lat):
    """Its distance from the first place would be beyond all measure."""
    rows = plain_rows()
    plain = only_trace(write_rows(rows))
    for row in rows[20:23]:
        row |= {"lon": lon, "lat": lat}
    trace = only_trace(write_rows(rows))
    assert counted(trace)["no position"] == 3
    assert np.flatnonzero(np.isnan(trace.north_m)).tolist() == [20, 21, 22]
    known = np.isfinite(trace.north_m)
    np.testing.assert_array_equal(trace.north_m[known], plain.north_m[known])
    np.testing.assert_array_equal(trace.east_m[known], plain.east_m[known])


@pytest.mark.parametrize("column", ["distance", "speed"])
def test_a_unit_is_told_although_some_numbers_are_beyond_all_measure(write_rows, plain_rows, column):
    rows = [{**row, column: 1.0 if column == "distance" else 5.0} for row in plain_rows(300)]
    if column == "distance":
        rows = [{name: cell for name, cell in row.items() if name != "distance (m)"} for row in rows]
    for row in rows[100:104]:
        row[column] = 1.5e308
    trace = only_trace(write_rows(rows))
    (use,) = (one for one in trace.facts.columns if one.meaning == column)
    assert (use.unit, use.stated) == ("m" if column == "distance" else "m/s", False)
