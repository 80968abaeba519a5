"""`wetrun replay` with lag, valves and turns: typed, from the season file, fitted to the log; its map and its JSON."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest
from tests.cli.conftest import Run

SEASON = """\
format_version = 1
title = "A made field"
units = "si"

[customer]
name = "Nobody"

[machine]
name = "24 m, 4 sections"

[machine.boom]
spacing = "50 cm"
sections = [12, 12, 12, 12]

[machine.control]
loop = "flow meter"
hold = { pressure = "1.2 bar" }

[[pass]]
name = "made"
crop = "wheat"
area = "10 ha"
first = 2031-04-01
last = 2031-04-30
carrier = "water"
rate = "140 L/ha"
"""
RESPONSE = """
[machine.control.response]
lag = "1 s"
open = "0.5 s"
close = "0.5 s"

[[pass]]
"""
MAP = """\
format_version = 1
[columns]
distance = { column = "distance", unit = "m" }
width = { column = "width", unit = "m" }
target_rate = { column = "target", unit = "L/ha" }
applied_rate = { column = "applied", unit = "L/ha" }
[boom]
full_width = { value = 24, unit = "m" }
"""
WORDS = ("replay", "season.toml", "log.csv", "--map", "map.toml", "--tip", "iso-11004-ff")


def log_text(count: int = 1500) -> str:
    """Four sections over a straight field at changing speed, the second one off for a while; applied lags by 0.8 s."""
    rng = np.random.default_rng(2)
    speed = 4.0 + np.repeat(rng.uniform(-1.2, 1.2, count // 50), 50)
    rows = ["iso time,section,distance,width,heading,lon,lat,target,applied"]
    flow, way = speed[0], 0.0
    for i, now in enumerate(speed.tolist()):
        flow += (now - flow) * (1 - np.exp(-0.2 / 0.8))
        way += now * 0.2
        for section in range(4):
            if section == 1 and 700 <= i < 800:
                continue
            place = f"{10 + (section - 1.5) * 6 / 71_500:.8f},{50 + way / 111_195:.8f}"
            second = f"2031-05-01T10:{i // 300:02d}:{0.2 * (i % 300):06.3f}Z"
            rows.append(f"{second},{section + 1},{now * 0.2:.4f},6,0,{place},140,{140 * flow / now:.2f}")
    return "\n".join(rows) + "\n"


@pytest.fixture
def field(tmp_path: Path) -> Path:
    for name, text in {"season.toml": SEASON, "map.toml": MAP, "log.csv": log_text()}.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_nothing_is_told_of_lag_where_nobody_asks_or_knows(run: Run, field: Path) -> None:
    shown = run(*WORDS)
    assert shown.code == 0, shown.err
    assert "Exact" not in shown.out
    assert all("exact" not in one for one in json.loads(run(*WORDS, "--json").out)["replays"])


def test_a_typed_lag_is_replayed_and_told(run: Run, field: Path) -> None:
    shown = run(*WORDS, "--lag", "0.8 s", "--delay", "0.2 s", "--worst", "2")
    assert shown.code == 0, shown.err
    text = " ".join(shown.out.split())
    assert "Exact, lag 0.80 s and delay 0.20 s (as typed)" in text
    assert "Worst places first: 1." in text
    assert "the flow lagged behind a change" in text
    assert "3. 0:" not in text
    assert "km/h" in text
    plain = json.loads(run(*WORDS, "--lag", "0.8 s", "--json").out)["replays"][0]["exact"]
    assert (plain["lag_s"], plain["delay_s"], plain["lag_from"]) == (0.8, 0.0, "as typed")
    assert sum(plain["error_cm2"]) == plain["total_cm2"] == sum(plain["droplets_cm2"])
    assert plain["within_cm2"] / plain["total_cm2"] <= plain["settled_within_frac"]
    assert plain["worst"][0]["cause"] == "the flow lagged behind a change"


def test_without_lag_the_exact_replay_is_the_settled_one(run: Run, field: Path) -> None:
    for one in json.loads(run(*WORDS, "--exact", "--json").out)["replays"]:
        same, exact = one["readings"][0], one["exact"]
        assert exact["lagging_within_frac"] == same["within_frac"]
        assert (exact["total_cm2"], exact["left_out_cm2"]) == (same["total_cm2"], same["left_out_cm2"])


def test_the_season_file_s_response_is_taken_unasked(run: Run, field: Path) -> None:
    text = SEASON.replace("\n[[pass]]\n", RESPONSE, 1)
    (field / "season.toml").write_text(text, encoding="utf-8")
    shown = run(*WORDS)
    assert shown.code == 0, shown.err
    told = " ".join(shown.out.split())
    assert "Exact, lag 1.00 s and delay 0.00 s (from the season file)" in told
    assert "Sections that open late leave" in told
    exact = json.loads(run(*WORDS, "--json").out)["replays"][0]["exact"]
    assert exact["opened_late_cm2"] > 0
    assert exact["shut_late_cm2"] > 0


def test_a_fit_finds_the_log_s_lag_and_uses_it(run: Run, field: Path) -> None:
    shown = run(*WORDS, "--fit", "--json")
    assert (shown.code, shown.err) == (0, "")
    one = json.loads(shown.out)["replays"][0]
    assert one["fit"]["helps"] is True
    assert one["fit"]["lag_s"] + one["fit"]["delay_s"] == pytest.approx(0.8, abs=0.2)
    assert one["exact"]["lag_from"] == "fitted to this log"
    assert one["exact"]["lag_s"] == one["fit"]["lag_s"]
    told = " ".join(run(*WORDS, "--fit").out.split())
    assert "what it says about its own machine" in told
    assert "each half of the log by the fit of the other" in told


def test_the_map_is_written_in_either_format(run: Run, field: Path) -> None:
    for name in ("m.geojson", "m.parquet"):
        shown = run(*WORDS, "--lag", "0.8 s", "--map-out", name, "--cell", "12 m")
        assert shown.code == 0, shown.err
        assert f"Wrote {name}" in shown.out
    features = json.loads((field / "m.geojson").read_text(encoding="utf-8"))["features"]
    table = pq.read_table(field / "m.parquet")
    assert table.num_rows == len(features) > 50
    assert table["rate_ratio"].to_pylist() == [one["properties"]["rate_ratio"] for one in features]


def test_ground_that_has_no_place_on_the_map_is_told(run: Run, field: Path) -> None:
    words = (*WORDS, "--exact", "--map-out", "m.parquet")
    assert "Not on the map" not in run(*words).out
    head, *lines = log_text().splitlines()
    for row in range(1200, 1600):
        cells = lines[row].split(",")
        lines[row] = ",".join([*cells[:5], "", "", *cells[7:]])
    (field / "log.csv").write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    told = " ".join(run(*words).out.split())
    assert re.search(r"Not on the map: [\d.]+ ha, [\d.]+ % of the area, whose place or heading", told)
    exact = json.loads(run(*words, "--json").out)["replays"][0]["exact"]
    assert exact["map_left_out_cm2"] > 0
    mapped_cm2 = round(1e4 * sum(pq.read_table(field / "m.parquet")["area_m2"].to_pylist()))
    assert mapped_cm2 + exact["map_left_out_cm2"] == exact["total_cm2"]
    none = json.loads(run(*WORDS, "--exact", "--json").out)["replays"][0]["exact"]
    assert (none["map"], none["map_left_out_cm2"]) == (None, None)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--lag", "fast"), "--lag"),
        (("--lag", "-1 s"), "must not be negative"),
        (("--map-out", "m.shp"), "--map-out: m.shp: the ending of a map is not known"),
        (("--map-out", "m.geojson", "--cell", "0 m"), "--cell: 0 m: the side of a map cell must be at least 0.1 m."),
        (("--map-out", "m.geojson", "--cell", "1 in"), "must be at least 3.94 in."),
        (("--map-out", "nowhere.txt/m.geojson"), "cannot be written: “nowhere.txt” is a file, no folder"),
        (("--map-out", "folder.parquet"), "cannot be written: a folder has this name"),
    ],
)
def test_what_cannot_be_is_refused_before_a_log_is_read(
    run: Run, field: Path, words: tuple[str, ...], said: str
) -> None:
    (field / "nowhere.txt").write_text("a file", encoding="utf-8")
    (field / "folder.parquet").mkdir()
    (field / "log.csv").unlink()
    refused = run(*WORDS, *words)
    assert refused.code in {2, 6}
    assert refused.out == ""
    assert said in refused.err
    assert "Traceback" not in refused.err


def test_a_log_without_places_is_replayed_and_the_map_refused_after_that(run: Run, field: Path) -> None:
    rows = [line.split(",") for line in log_text().splitlines()]
    text = "\n".join(",".join([*row[:5], *row[7:]]) for row in rows) + "\n"
    (field / "log.csv").write_text(text, encoding="utf-8")
    words = (*WORDS, "--lag", "0.8 s", "--map-out", "m.geojson")
    shown = run(*words)
    assert shown.code == 3
    assert "Exact, lag 0.80 s" in shown.out
    assert "Wrote" not in shown.out
    assert "the map of log.csv: the log has no positions. Export longitude and latitude as well." in shown.err
    plain = run(*words, "--json")
    assert plain.code == 3
    exact = json.loads(plain.out)["replays"][0]["exact"]
    assert exact["total_cm2"] > 0
    assert (exact["map"], exact["map_left_out_cm2"]) == (None, None)
    assert "no positions" in exact["map_refused"]
    assert not (field / "m.geojson").exists()


def test_a_map_says_what_it_is_of_in_either_format_alike(run: Run, field: Path) -> None:
    for name in ("m.geojson", "m.parquet"):
        assert run(*WORDS, "--lag", "0.8 s", "--delay", "0.2 s", "--map-out", name, "--cell", "12 m").code == 0
    told = json.loads((field / "m.geojson").read_text(encoding="utf-8"))
    about = told["about"]
    assert (about["log"], about["pass"], about["tip"]) == ("log.csv", "made", "iso-11004-ff")
    assert (about["rate_from"], about["rate_m3pm2"]) == ("the pass", pytest.approx(1.4e-5))
    assert (about["lag_s"], about["delay_s"], about["lag_from"], about["cell_m"]) == (0.8, 0.2, "as typed", 12.0)
    metadata = pq.read_schema(field / "m.parquet").metadata
    assert json.loads(metadata[b"wetrun"]) == {"format_version": told["format_version"], **about}
    assert told["format_version"] == 1


def test_an_exact_answer_does_not_call_itself_settled_and_a_long_lag_is_doubted(run: Run, field: Path) -> None:
    settled = " ".join(run(*WORDS).out.split())
    assert "no lag, no valve delay" in settled
    told = " ".join(run(*WORDS, "--lag", "80 s").out.split())
    assert "no lag, no valve delay" not in told
    assert "the exact replay adds lag, section valves and turns" in told
    assert "Doubt: A lag of 80 s is longer than any that was published (34.3 s)" in told
    one = json.loads(run(*WORDS, "--lag", "60 s", "--delay", "61 s", "--json").out)["replays"][1]
    assert [doubt[:18] for doubt in one["exact"]["doubts"]] == ["A delay of 61 s is"]
    assert "the exact replay adds lag" in one["why_they_differ"]


def test_a_terminal_shows_that_a_fit_is_under_way(run: Run, field: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert "fitting the lag of log.csv" in run(*WORDS, "--fit").err


def test_a_place_after_a_pause_of_days_is_told_in_days(run: Run, field: Path) -> None:
    lines = log_text().splitlines()
    paused = [*lines[:3001], *(line.replace("2031-05-01T", "2031-05-04T", 1) for line in lines[3001:])]
    (field / "log.csv").write_text("\n".join(paused) + "\n", encoding="utf-8")
    told = run(*WORDS, "--lag", "0.8 s", "--worst", "40").out
    assert re.search(r"\d\. 3 days and 0:0[2-4]:\d\d into the log", told)
    assert re.search(r"\d\. 0:0[0-2]:\d\d into the log", told)
    assert "72:0" not in told


PULSE = """\
[machine.control]
loop = "pulse width"

[machine.control.pulse]
frequency = "10 Hz"
set_pressure = "3 bar"
least_duty = "25 %"
duty_from = "flow meter"
"""


def test_a_pulse_width_machine_is_told_its_gap_between_two_pulses(run: Run, field: Path) -> None:
    """By hand: 0.5 m a cycle at 18 km/h and 10 Hz; 64 L/ha take 0.96 of a size 04's 1.6 L/min, so 0.2 m is shut."""
    start, end = SEASON.index("[machine.control]"), SEASON.index("[[pass]]")
    season = SEASON[:start] + PULSE + "\n" + SEASON[end:].replace("140 L/ha", "64 L/ha")
    (field / "season.toml").write_text(season, encoding="utf-8")
    head, *rows = log_text().splitlines()
    steady = [",".join([*line.split(",")[:2], "1.0,6,0,,,,"]) for line in rows]
    (field / "log.csv").write_text("\n".join([head, *steady]) + "\n", encoding="utf-8")
    shown = run(*WORDS, "--exact")
    assert shown.code == 0, shown.err
    told = " ".join(shown.out.split())
    assert "Between two pulses a tip passes 20.0 cm of ground shut, at most 20.0 cm." in told


def test_the_real_log_is_fitted_and_mapped(run: Run, tmp_path: Path, real_log_path: Path) -> None:
    assert run("new", "map.toml").code == 0
    text = SEASON.replace("140 L/ha", "37 gal/ac").replace('"water"', '"UAN 32"').replace("1.2 bar", "1 bar")
    (tmp_path / "season.toml").write_text(text, encoding="utf-8")
    words = ("replay", "season.toml", real_log_path, "--map", "map.toml", "--tip", "iso-11010-ff")
    shown = run(*words, "--fit", "--map-out", "m.geojson", "--json", limit_s=400.0)
    assert shown.code == 0, shown.err
    one = json.loads(shown.out)["replays"][0]
    assert one["fit"]["helps"] is True
    assert one["exact"]["repairs"][0]["kind"] == "clock grain"
    assert one["exact"]["within_cm2"] < one["exact"]["total_cm2"]
    assert (tmp_path / "m.geojson").stat().st_size > 1_000_000
