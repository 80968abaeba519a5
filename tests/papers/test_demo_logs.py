"""The demo's logs: the same bytes every time, readable with their map, and with the troubles a demo should show."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
from tests.log_reading import only_trace as read_log

from wetrun.fieldlog.readers.mapping import mapping_in
from wetrun.fieldlog.trace import usable
from wetrun.fieldlog.turns import turn_tally
from wetrun.quantity import Kind, System, read, to_display

DEMO = Path(__file__).resolve().parents[2] / "demo"


@pytest.fixture(scope="module")
def make_logs():
    spec = importlib.util.spec_from_file_location("make_logs", DEMO / "make_logs.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_logs"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def logs(make_logs, tmp_path_factory):
    return make_logs.write_logs(tmp_path_factory.mktemp("logs"))


@pytest.fixture(scope="module")
def traces(logs):
    mapping = mapping_in(DEMO / "log_map.toml")
    return {path.name: read_log(path, mapping) for path in logs}


def test_logs_are_the_same_bytes_on_every_run(make_logs, logs, tmp_path):
    again = make_logs.write_logs(tmp_path)
    assert [path.read_bytes() for path in again] == [path.read_bytes() for path in logs]


def test_every_log_is_read_without_a_guess(traces):
    assert len(traces) == 3
    for trace in traces.values():
        stated = {use.meaning: use.stated for use in trace.facts.columns if use.meaning != "time"}
        assert set(stated) >= {"distance", "width", "speed", "target_rate", "applied_rate", "heading"}
        assert all(stated.values())
        assert not trace.facts.doubts
        assert not trace.facts.raw_columns
        assert trace.full_width_m == pytest.approx(read("120 ft", Kind.WIDTH).si_value)


@pytest.mark.parametrize(
    ("name", "slow", "usual", "fast", "rate"),
    [
        ("post_2026.csv", 9.0, 13.4, 16.0, 15.0),
        ("uan_topdress_2026.csv", 8.0, 11.3, 14.0, 17.0),
        ("fungicide_2026.csv", 6.5, 9.5, 12.0, 20.0),
    ],
)
def test_speeds_and_rates_are_those_of_the_job(traces, name, slow, usual, fast, rate):
    trace = traces[name]
    counted = usable(trace)
    speeds = [to_display(float(v), Kind.SPEED, System.US) for v in np.percentile(trace.speed_mps[counted], [5, 50, 95])]
    assert slow < speeds[0] < speeds[1] < speeds[2] < fast
    assert speeds[1] == pytest.approx(usual, abs=0.5)
    target = float(np.median(trace.target_m3pm2[counted]))
    assert to_display(target, Kind.RATE, System.US) == pytest.approx(rate)


def test_logs_carry_headlands_waterways_refills_turns_and_a_lagging_controller(traces):
    for trace in traces.values():
        counted = usable(trace)
        narrow = (trace.width_m[counted] < 0.9 * trace.full_width_m).mean()
        assert 0.005 < narrow < 0.3, "sections close one by one at slanted ends and along waterways"
        assert trace.facts.gap_total_s > 20 * 60, "refills"
        edges = np.linspace(-trace.full_width_m / 2, trace.full_width_m / 2, 10)
        tally = turn_tally(trace, edges, 1.1)
        assert tally.over_label_cm2 > 0, "turns are sprayed on the headland"
        off = np.abs(trace.applied_m3pm2[counted] / trace.target_m3pm2[counted] - 1)
        assert 0.005 < (off > 0.05).mean() < 0.5, "the controller lags and holds"


def test_no_field_of_the_demo_is_anybodys(traces, make_logs):
    # 41° N, 40° W: the middle of the North Atlantic, a thousand miles from any field.
    assert all(40 < job.lat < 42 and -41 < job.lon < -39 for job in make_logs.JOBS)
