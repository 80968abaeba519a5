"""A season file with the boom's plumbing, from the file to the words, the JSON and the papers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from tests.cli.conftest import Run

from wetrun.documents.season_example import example_season
from wetrun.documents.wetrun_example import example_wetrun

PLUMBING = """[machine.plumbing]
line = "{line}"
feed = "{feed}"
hose = "0.75 in"
hose_length = ["28 ft", "16 ft", "8 ft", "8 ft", "16 ft", "28 ft"]
"""


def season(folder: Path, *, line: str, feed: str = "middle") -> Path:
    """The example with its boom plumbed, and without the gauges, so that a narrow line is not refused."""
    text = example_season()
    start, end = text.index("[machine.loss]"), text.index("[[machine.owned]]")
    path = folder / "season.toml"
    path.write_text(text[:start] + PLUMBING.format(line=line, feed=feed) + text[end:], encoding="utf-8")
    return path


def passes_of(run: Run, path: Path) -> list[dict[str, Any]]:
    ran = run("plan", path, "--json")
    assert ran.code == 0, ran.err
    return [one for one in json.loads(ran.out)["passes"] if one["tip_set"] is not None]


@pytest.mark.parametrize("units", ["us", "si"])
def test_a_plan_says_what_the_plumbing_leaves_to_the_tips(run: Run, tmp_path: Path, units: str) -> None:
    path = season(tmp_path, line="1 in")
    path.write_text(path.read_text("utf-8").replace('units = "us"', f'units = "{units}"'), "utf-8")
    ran = run("plan", path)
    said = " ".join(ran.out.split())
    assert ran.code == 0, ran.err
    assert "Along the boom at the usual speed the plumbing gives tip" in said
    assert f"{'psi' if units == 'us' else 'bar'}. Lost from cab sensor to tips on the mean" in said
    assert "The plumbing alone" not in said


def test_the_json_agrees_with_itself_and_a_symmetric_boom_is_symmetric(run: Run, tmp_path: Path) -> None:
    for one in passes_of(run, season(tmp_path, line="1 in")):
        along, usual = one["along_boom"], one["usual"]
        # The odd tips at the ends count as the set's own in the fit, and as themselves here.
        assert along["mean_pa"] == pytest.approx(usual["tip_pa"], rel=0.015)
        assert along["sensor_pa"] == pytest.approx(usual["cab_pa"], rel=0.015)
        assert along["sections_pa"] == pytest.approx(along["sections_pa"][::-1], rel=1e-6)
        assert along["least"]["flow_ratio"] < 1.0 < along["most"]["flow_ratio"]
        assert not along["too_uneven"]


def test_a_pulsing_boom_is_solved_at_its_mean_flow_and_its_set_pressure(run: Run, tmp_path: Path) -> None:
    path = season(tmp_path, line="0.75 in")
    pulse = '[machine.control.pulse]\nfrequency = "10 Hz"\nset_pressure = "50 psi"\nduty_from = "flow meter"\n'
    text = path.read_text("utf-8").replace('loop = "flow meter"', 'loop = "pulse width"')
    body = 'body = { drop = "3 psi", flow = "0.5 gal/min" }'
    text = text.replace("[machine.plumbing]", f"{pulse}\n[machine.plumbing]\n{body}")
    path.write_text(text, "utf-8")
    passes = passes_of(run, path)
    assert passes
    for one in passes:
        along, usual = one["along_boom"], one["usual"]
        assert usual["duty_frac"] < 1.0
        assert along["sensor_pa"] == pytest.approx(usual["cab_pa"], rel=0.015)
        assert along["mean_pa"] == pytest.approx(usual["tip_pa"], rel=0.015)


def test_a_narrow_line_fed_at_its_end_is_warned_of_and_shuts_the_window(run: Run, tmp_path: Path) -> None:
    wide, narrow = (
        passes_of(run, season(tmp_path, line=line, feed=feed))
        for line, feed in (("1 in", "middle"), ("0.45 in", "left end"))
    )
    assert not any(one["along_boom"]["too_uneven"] for one in wide)
    assert any(one["along_boom"]["too_uneven"] for one in narrow)
    assert {one["along_boom"]["cause"] for one in narrow if one["along_boom"]["too_uneven"]} == {"section line"}
    said = " ".join(run("plan", season(tmp_path, line="0.45 in", feed="left end")).out.split())
    assert "Check: The plumbing alone puts tip" in said
    assert "Look for a wider line" in said


def test_plan_and_card_say_it_on_paper(run: Run, tmp_path: Path) -> None:
    ran = run("plan", season(tmp_path, line="0.45 in", feed="left end"), "--out", tmp_path / "out")
    assert ran.code == 0, ran.err
    papers = sorted((tmp_path / "out").rglob("*.pdf"))
    texts = [" ".join("".join(page.extract_text() for page in PdfReader(path).pages).split()) for path in papers]
    assert len(papers) >= 2
    assert all("Along the boom at the usual speed" in text for text in texts)
    assert any("The plumbing alone puts tip" in text for text in texts)


def test_a_wet_run_holds_losses_and_tray_against_what_is_expected(run: Run, tmp_path: Path) -> None:
    text = example_wetrun()
    start, end = text.index("[machine.loss]"), text.index("[tips]")
    text = text[:start] + PLUMBING.format(line="1 in", feed="middle") + "\n" + text[end:]
    begin = text.index("[evenness]")
    tray = (
        text[begin:]
        .replace("# grooves = [102, 98, 101]", f"grooves = {[94, 106] * 20}", 1)
        .replace("# unit", "unit", 1)
    )
    path = tmp_path / "wetrun.toml"
    path.write_text(text[:begin] + tray.replace("# reading", "reading", 1), encoding="utf-8")
    ran = run("prove", path, "--json", "--out", tmp_path / "out")
    assert ran.code == 0, ran.err
    told = json.loads(ran.out)
    assert [loss["section"] for loss in told["plumbing_losses"]] == [1, 6]
    assert all(loss["predicted_paps2m6"] > 0.0 for loss in told["plumbing_losses"])
    assert told["tray_against_stack"]["words"].startswith("Tray and stacked tips agree")
    said = " ".join(run("prove", path).out.split())
    assert "loss above what its plumbing predicts" in said
    paper = PdfReader(next((tmp_path / "out").rglob("*.pdf")))
    text = " ".join(" ".join(page.extract_text() for page in paper.pages).split())
    assert "what its plumbing predicts" in text
    assert "they agree" in text


def test_a_file_without_plumbing_has_nothing_along_the_boom(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "plain.toml"
    path.write_text(example_season(), encoding="utf-8")
    assert all(one["along_boom"] is None for one in passes_of(run, path))
