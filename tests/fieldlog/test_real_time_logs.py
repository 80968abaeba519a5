"""Real ISO 11783-10 logs of several machines and versions, held against figures measured independently of this reader.

Counts are of all records, joined or not: ``dup_t`` and gaps are of steps between records in file order. ``win`` takes
windows of at least 1 s from every record with a position to the first one that much later, none over 5 s and 5 usual
steps; ``win_moving`` keeps those of 1 km/h and more, ``stop_frac`` counts those under 0.5 km/h. ``log`` is number 397
on every record, held until written again. Speeds are printed to 0.1 km/h: half of that is allowed beside the 2 %.
"""

import csv
import gzip
import io
import json
from datetime import datetime, timedelta

import numpy as np
import pytest
from tests.log_reading import bundle_in

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.record_facts import BETWEEN_RECORDS, window_speeds
from wetrun.fieldlog.readers.timelog_columns import TimeLogTable, positions_of, speeds_of
from wetrun.fieldlog.readers.timelog_facts import facts_of
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_records import records_in

BALER = "isoxml-baler-2012-13"
SETS = {
    "isoxml-harvester-v41": ("isoxml-harvester-v41", [f"TLG0000{n}" for n in range(1, 10)]),
    "isoxml-harvester-road-v41": ("isoxml-harvester-road-v41", ["TLG00001", "TLG00002"]),
    f"{BALER} (w/o TLG0007)": (BALER, ["TLG0001", "TLG0002", "TLG0004", "TLG0005", "TLG0012", "TLG0014"]),
    "isoxml-sprayers-v30 sprayer-a-2016": ("isoxml-sprayers-v30/sprayer-a-2016", ["TLG00004", "TLG00005", "TLG00006"]),
    "isoxml-bench-2022 v33": ("isoxml-bench-2022/v33", ["TLG00001"]),
    "isoxml-tractor-2021": ("isoxml-tractor-2021", ["TLG00001"]),
}
LOGS = [(key, folder, name) for key, (folder, names) in SETS.items() for name in names]
# The reference leaves out the last record of these; the count measured independently has it.
WITHOUT_ITS_LAST = {"TLG0002", "TLG0014"}
LEVELS = (1, 5, 25, 50, 75, 95, 99)
# One figure of 43 seconds of a simulated drive is not met under any window tried: 3.76 km/h here, 3.6 there.
NOT_MET = {("TLG00005", "win", 95), ("TLG00005", "win_moving", 95)}
SPRAYER = "isoxml-sprayers-v30 sprayer-a-2016"


@pytest.fixture(scope="module")
def logs(real_log_path):
    return real_log_path.parents[1]


@pytest.fixture(scope="module")
def expected(logs):
    return json.loads((logs / "expected.json").read_text(encoding="utf-8"))


def table_of(logs, folder, name):
    bundle = bundle_in(logs / folder)
    header = header_in(bundle.content(f"{name}.xml"), file=name)
    return TimeLogTable(header, records_in(bundle.content(f"{name}.bin"), header, file=name))


def window_kmh_of(table):
    positions = positions_of(table)
    assert positions is not None
    return window_speeds(table.time_ms, positions) * 3.6


@pytest.mark.parametrize(("key", "folder", "name"), LOGS)
def test_counts_are_exact(logs, expected, key, folder, name):
    want, facts = expected[key][name], facts_of(table_of(logs, folder, name))
    assert (facts.records, facts.no_fix) == (want["n"], want["badpos"])
    assert (facts.backward_steps, facts.same_time, facts.gaps) == (want["back"], want["dup_t"], want["gaps"])
    assert facts.gap_total_s / 60 == pytest.approx(want["gap_tot_min"], abs=0.0501)
    assert facts.span_s / 60 == pytest.approx(want["span_min"], abs=0.0501)
    assert facts.usual_step_s == pytest.approx(want["dt_med"], abs=0.000501)
    assert facts.step_p95_s == pytest.approx(want["dt_p95"], abs=0.000501)
    assert facts.longest_step_s == pytest.approx(want["dt_max"], abs=0.0501)
    assert facts.same_place_frac == pytest.approx(want["same_pos_frac"], abs=0.000501)
    assert facts.jumps == want["jumps_gt60kmh"]


@pytest.mark.parametrize(("key", "folder", "name"), LOGS)
def test_speed_percentiles_are_met(logs, expected, key, folder, name):
    want, table = expected[key][name], table_of(logs, folder, name)
    window_kmh = window_kmh_of(table)
    inst = {one.source: one for one in facts_of(table).speeds}[BETWEEN_RECORDS]
    assert inst.percentiles_mps * 3.6 == pytest.approx(want["inst"], rel=0.02, abs=0.0501)
    speeds = {"win": window_kmh, "win_moving": window_kmh[window_kmh >= 1]}
    for source in speeds_of(table):
        known_kmh = source.speed_mps[np.isfinite(source.speed_mps)] * 3.6
        speeds |= {"log": known_kmh, "log_moving": known_kmh[known_kmh >= 1]}
        assert source.speed_mps.size - known_kmh.size == want["log_nan"]
        assert known_kmh.max() == pytest.approx(want["log_max"], abs=0.0501)
        assert (known_kmh == 0).sum() / source.speed_mps.size == pytest.approx(want["log_zero"], abs=0.000501)
    assert ("log" in want) == ("log" in speeds)
    for figure, values in speeds.items():
        for level, kmh in zip(LEVELS, want[figure], strict=True):
            if key != SPRAYER or (name, figure, level) not in NOT_MET:
                assert np.percentile(values, level) == pytest.approx(kmh, rel=0.02, abs=0.0501), (figure, level)
    assert (window_kmh < 0.5).mean() == pytest.approx(want["stop_frac"], abs=0.000501)


@pytest.mark.parametrize(("name", "level"), [(name, level) for name, figure, level in NOT_MET if figure == "win"])
def test_the_figure_that_is_not_met_is_still_off(logs, expected, name, level):
    table = table_of(logs, SETS[SPRAYER][0], name)
    window_kmh = window_kmh_of(table)
    want = expected[SPRAYER][name]["win"][LEVELS.index(level)]
    assert np.percentile(window_kmh, level) != pytest.approx(want, rel=0.02, abs=0.0501)


def reference_rows(logs, name):
    text = gzip.decompress((logs / BALER / "reference-decode" / f"{name}.CSV.gz").read_bytes()).decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text), delimiter=";"))
    return rows[0], rows[1:]


def as_reference(table):
    """Yield each record as the reference writes it: second of the clock, degrees, status, and values by index."""
    fields, records = table.records.fields, table.records
    values: list[dict[int, int]] = [{} for _ in range(records.count)]
    for record, index, raw in zip(records.value_record, records.value_index, records.value_raw, strict=True):
        values[record][int(index)] = int(raw)
    for n in range(records.count):
        moment = datetime(1980, 1, 1) + timedelta(days=int(fields["day"][n]), seconds=int(fields["ms"][n]) // 1000)  # noqa: DTZ001
        yield moment, fields["north"][n] / 1e7, fields["east"][n] / 1e7, int(fields["status"][n]), values[n]


@pytest.mark.parametrize(
    "name", ["TLG0001", "TLG0002", "TLG0004", "TLG0005", "TLG0008", "TLG0009", "TLG0012", "TLG0014"]
)
def test_baler_logs_equal_the_reference_decode_record_for_record(logs, name):
    head, rows = reference_rows(logs, name)
    table = table_of(logs, BALER, name)
    assert [int(cell.strip("'").split("/")[0]) for cell in head[6:]] == [one.number for one in table.header.values]
    assert table.records.count == len(rows) + (name in WITHOUT_ITS_LAST)
    for (moment, north, east, status, values), row in zip(
        as_reference(table), rows, strict=name not in WITHOUT_ITS_LAST
    ):
        assert moment == datetime.strptime(f"{row[0]} {row[1]}", "%d.%m.%Y %H:%M:%S")  # noqa: DTZ007
        assert north == pytest.approx(float(row[2].replace(",", ".")), abs=1e-9)
        assert east == pytest.approx(float(row[3].replace(",", ".")), abs=1e-9)
        assert status == int(row[5])
        assert values == {index: int(cell) for index, cell in enumerate(row[6:]) if cell}


def test_the_damaged_log_is_resynchronised_and_all_of_it_recovered(logs):
    records = table_of(logs, BALER, "TLG0007").records
    assert records.count == 15_597
    assert (records.recounted, records.resynchronised, records.skipped_bytes) == (1, 1, 0)
    seconds = records.fields["day"].astype(np.int64) * 86_400 + records.fields["ms"] // 1000
    assert np.ptp(seconds) == 3642
    assert (np.diff(seconds) >= 0).all()


def test_a_header_that_is_cut_off_is_refused_with_its_line(logs):
    broken = (logs / "isoxml-harvester-v41" / "broken-header" / "TLG00003.xml").read_bytes()
    with pytest.raises(LogRefused, match=r"TLG00003\.xml, line \d+: the XML is cut off"):
        header_in(broken, file="TLG00003.xml")


def test_logs_listed_but_absent_and_one_record_logs_are_told(logs):
    (baler,) = (one for one in logs_in(logs / BALER) if one.machines)
    assert {refused.file[:7] for refused in baler.refused} == {"TLG0003", "TLG0006", "TLG0010", "TLG0011", "TLG0013"}
    assert "version number" in baler.doubts[0].words
    (empty,) = logs_in(logs / "isoxml-sprayers-v30" / "sprayers-empty-logs-2015")
    assert [log.facts.records for log in empty.logs] == [1] * 6
    assert not any(log.trace for log in empty.logs)
    assert all(log.missing for log in empty.logs)


def test_road_runs_are_left_out_and_simulated_positions_doubted(logs):
    (road,) = logs_in(logs / "isoxml-harvester-road-v41")
    assert road.logs[0].missing == "no section on at any time"
    (sprayer,) = logs_in(logs / SETS[SPRAYER][0])
    assert all(any("simulated" in doubt.words for doubt in log.doubts) for log in sprayer.logs)
    assert all(log.kind == "sprayer" for log in sprayer.logs)
    assert [trace.full_width_m for trace in traces_in(logs / SETS[SPRAYER][0])] == pytest.approx([15.0] * 3)
