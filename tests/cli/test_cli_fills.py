"""`wetrun fills` as it is run: text, JSON, the picture, both unit systems, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run


def test_the_example_says_number_doubt_and_what_to_do(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "fills.toml"
    assert run("new", path).code == 0
    ran = run("fills", path, "--out", tmp_path / "out")
    assert (ran.code, ran.err) == (0, "")
    said = " ".join(ran.out.split())
    assert "Over all loads the monitor counts +3.2 ± 0.7 %" in said
    assert "720 would become 743.2 ± 5.1" in said
    assert "Never set by itself" in said
    assert "common practice, no source" in said
    picture = (tmp_path / "out" / "loads-trend.svg").read_text(encoding="utf-8")
    assert picture.startswith("<svg ")
    assert "load by load</title>" in picture
    metric = run("fills", path, "--units", "si").out
    assert " L" in metric
    assert " gal " not in metric.split("Over all loads")[0]


def test_json_holds_the_same_in_si(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "fills.toml"
    run("new", path)
    told = json.loads(run("fills", path, "--json").out)
    assert told["format_version"] == 1
    assert 0.02 < told["counted"]["error_ratio"] < 0.04
    assert len(told["loads"]) == 4
    assert told["loads"][0]["filled_m3"] > 3.7


def test_a_file_without_loads_is_refused_in_words(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "fills.toml"
    path.write_text('format_version = 1\ntitle = "none"\n', encoding="utf-8")
    ran = run("fills", path)
    assert ran.code != 0
    assert "no load yet" in " ".join(ran.err.split())
