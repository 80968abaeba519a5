"""What was sent as a whole: logs a column map does not fit, time logs without their main file, nobody's names."""

import gzip

import numpy as np
import pytest
from bench.made_time_log import driven, header_text, log_bytes, write_task_data

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.inspect import STEP_BY_STEP, inspection
from wetrun.fieldlog.readers.formats import logs_in, read_logs, traces_in
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest

MAP = mapping_from('format_version = 1\n[columns]\ntarget_rate = { column = "target rate (L/ha)" }', file="map.toml")


def test_a_map_that_does_not_fit_one_log_of_several_refuses_that_one_only(tmp_path, write_rows, plain_rows):
    write_rows(plain_rows(), name="fits.csv")
    write_rows([{k: v for k, v in row.items() if "target" not in k} for row in plain_rows()], name="another.csv")
    refused, found = read_logs(tmp_path, ReadRequest(MAP))
    assert isinstance(refused, LogRefused)
    assert refused.reason == "the column map does not fit it: no 'target rate (L/ha)'"
    assert isinstance(found, FoundLogs)
    assert found.logs[0].trace is not None
    with pytest.raises(InputProblems):
        logs_in(tmp_path / "another.csv", ReadRequest(MAP))


def test_time_logs_without_their_main_file_are_known_as_such(tmp_path):
    folder = write_task_data(tmp_path / "TASKDATA", {"TLG00001": (header_text("ABD", []), log_bytes(driven(9), "ABD"))})
    (folder / "TASKDATA.XML").unlink()
    (refused,) = read_logs(tmp_path)
    assert isinstance(refused, LogRefused)
    assert refused.file.endswith("TASKDATA")
    assert "time logs (TLG00001) but not the TASKDATA.XML" in refused.reason


def test_a_limit_of_records_holds_for_short_time_logs_too(tmp_path):
    log = header_text("ABD", []), log_bytes(driven(200, values=0), "ABD")
    folder = write_task_data(tmp_path / "TASKDATA", {"TLG00001": log})
    (found,) = logs_in(folder, ReadRequest(limits=Limits(most_records=100)))
    assert "more than 100 records" in found.refused[0].reason


def test_a_column_taken_unasked_gives_tracks_numbers_and_no_words_of_its_own(tmp_path, plain_rows, write_rows):
    rows = [{**row, "Machine Name": name} for name in ("SN-4711 J. Doe", "SN-4712 A. Roe") for row in plain_rows(60)]
    path = write_rows(rows)
    logs = logs_in(path)[0].logs
    assert [log.name for log in logs] == ["log.csv, track 1", "log.csv, track 2"]
    assert not any(secret in repr(logs) for secret in ("Doe", "Roe", "SN-47"))
    mapping = mapping_from('format_version = 1\n[columns]\ntrack = { column = "Machine Name" }', file="map.toml")
    mapped = logs_in(path, ReadRequest(mapping))[0].logs
    assert [log.name for log in mapped] == ["log.csv, track SN-4711 J. Doe", "log.csv, track SN-4712 A. Roe"]


def test_speeds_that_both_come_from_positions_are_no_finding(tmp_path, write_rows, plain_rows):
    rng = np.random.default_rng(3)
    rows = [
        {k: v for k, v in row.items() if "distance" not in k} | {"lon": f"{10 + rng.normal(0, 1e-5):.8f}"}
        for row in plain_rows(200)
    ]
    (trace,) = traces_in(write_rows(rows))
    seen = inspection(trace)
    by_source = {one.source: one.percentiles_mps[3] for one in seen.speeds}
    assert by_source[STEP_BY_STEP] > 1.1 * by_source["positions"]
    assert seen.disagreement is None


def test_a_gzip_of_a_log_in_a_folder_is_read(tmp_path, write_rows, plain_rows):
    path = write_rows(plain_rows())
    (tmp_path / "sent").mkdir()
    (tmp_path / "sent" / "log.csv.gz").write_bytes(gzip.compress(path.read_bytes()))
    assert len(traces_in(tmp_path / "sent")) == 1


def test_a_speed_under_zero_tells_none(write_rows, plain_rows):
    rows = [row | {"speed (m/s)": -3.0 if nth % 2 else 5.0} for nth, row in enumerate(plain_rows())]
    (log,) = logs_in(write_rows(rows))[0].logs
    (logged,) = (one for one in log.facts.speeds if one.source == "logged")
    assert logged.instants == 30
    assert logged.percentiles_mps.tolist() == [5.0] * 7
