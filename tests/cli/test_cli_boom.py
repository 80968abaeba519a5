"""`wetrun boom` as a person runs it."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest
from tests.cli.conftest import Run
from tests.paper_reading import text_of

DEMO = Path(__file__).parents[2] / "demo" / "season.toml"


@pytest.fixture
def pulsed(tmp_path: Path) -> Path:
    """The demo's machine with pulses, 120 ft."""
    text = DEMO.read_text(encoding="utf-8").replace('"tips.csv"', f'"{DEMO.parent / "tips.csv"}"')
    pulse = 'loop = "pulse width"\npulse = { frequency = "10 Hz", set_pressure = "50 psi", duty_from = "flow meter" }'
    text = text.replace('loop = "flow meter"', f'{pulse}\nturn_compensation = "tip"')
    file = tmp_path / "pulsed.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_both_ends_of_a_boom_in_a_turn_are_told_as_by_hand(run: Run) -> None:
    """The outermost tips stand 36 m less a quarter of a metre from the middle: 35.5 spacings of 20 in."""
    done = run("boom", "turn", DEMO, "--radius", "100 ft", "--json")
    assert done.code == 0, done.err
    (row,) = json.loads(done.out)["rows"]
    y = 35.5 * 0.508
    assert row["outer_ratio"] == pytest.approx(1 / (1 + y / 30.48))
    assert row["inner_ratio"] == pytest.approx(1 / (1 - y / 30.48))


def test_a_pulse_width_machine_is_told_by_section_and_tip_and_from_which_radius_it_follows(
    run: Run, pulsed: Path
) -> None:
    done = run("boom", "turn", pulsed, "--radius", "100 ft", "--duty", "80 %")
    assert done.code == 0, done.err
    rows = [line for line in done.out.splitlines() if line.startswith("100 ft")]
    assert [" by section " in row or " by tip " in row for row in rows] == [False, True, True]
    assert "(at its limit)" in rows[2]
    assert "from a radius of 237 ft" in done.out  # 35.5 spacings of 20 in over the quarter there is left


def test_a_radius_that_is_none_is_refused_with_the_option_s_name(run: Run) -> None:
    done = run("boom", "turn", DEMO, "--radius", "0 ft")
    assert done.code == 2
    assert "--radius: 0 ft: it must be above zero" in done.err


EVEN = ("--tip", "iso-11004-ff", "--height", "24 in", "--pressure", "40 psi")


def test_a_boom_is_told_with_its_picture_and_its_table(run: Run, tmp_path: Path) -> None:
    done = run("boom", "even", DEMO, *EVEN, "--missing", "30", "--roll", "-0.5 °", "--yaw", "3 °", "--out", "papers")
    assert done.code == 0, done.err
    assert "nobody caught its pattern" in done.out
    assert "Level and straight it would be" in done.out
    picture = (tmp_path / "papers" / "evenness.svg").read_text(encoding="utf-8")
    assert 'role="img" aria-labelledby="even-title even-desc"' in picture
    assert '<title id="even-title">Along the boom of Number 7, 120 ft</title>' in picture
    assert re.search('<desc id="even-desc">At 24.0 in: variation .* emptiest groove .*</desc>', picture)
    sheet = text_of((tmp_path / "papers" / "evenness.pdf").read_bytes())
    assert "Along the boom of Number 7, 120 ft" in sheet
    assert "Pattern: a tapered fan by its stamped 110°" in sheet
    assert " 72 9 59.2 ft " in sheet
    rows = list(csv.reader((tmp_path / "papers" / "evenness.csv").read_text(encoding="utf-8-sig").splitlines()))
    assert len(rows) == 1 + 72
    assert min(range(1, 73), key=lambda place: float(rows[place][3])) == 30
    assert float(rows[30][3]) < -50.0


def test_a_tip_s_own_tray_and_a_wet_run_s_catches_are_taken(run: Run) -> None:
    assert run("new", "grooves.csv").code == 0
    wet_run = DEMO.with_name("wetrun.toml")
    done = run("boom", "even", DEMO, *EVEN, "--grooves", "grooves.csv", "--catches", wet_run, "--json")
    assert done.code == 0, done.err
    told = json.loads(done.out)
    assert told["narrow"] == told["wide"]
    assert told["pattern"].startswith("as caught in a tray")
    even_tips = json.loads(run("boom", "even", DEMO, *EVEN, "--grooves", "grooves.csv", "--json").out)
    assert told["wide"]["cv_frac"] > even_tips["wide"]["cv_frac"]  # the demo's machine has worn and clogged tips


def test_an_unknown_rule_and_a_boom_that_would_touch_are_refused(run: Run) -> None:
    assert "there is no such rule" in run("boom", "even", DEMO, *EVEN, "--rule", "mine").err
    done = run("boom", "even", DEMO, *EVEN, "--roll", "3 °")
    assert done.code == 3
    assert "The low end would touch the crop" in done.err


def test_drift_is_told_as_an_order_of_magnitude_that_begins_with_the_label(run: Run) -> None:
    done = run("boom", "drift", "--height", "50 cm", "--wind", "3 m/s", "--units", "si")
    assert done.code == 0, done.err
    assert done.out.startswith("This is no buffer and no permission.")
    assert re.search(r"5 m +0\.57 %", done.out)
    half = run("boom", "drift", "--height", "50 cm", "--wind", "3 m/s", "--dry", "25 °C")
    assert half.code == 2
    assert "one of two temperatures is missing" in half.err
    far = run("boom", "drift", "--height", "50 cm", "--wind", "3 m/s", "--distance", "60 m")
    assert far.code == 3
    assert "see the label for how far to stay away" in far.err


def test_a_pulse_width_machine_has_its_duty_gaps_and_cautions_in_plan_and_on_the_card(run: Run, pulsed: Path) -> None:
    text = pulsed.read_text(encoding="utf-8")
    pulsed.write_text(text[: text.index('[[pass]]\nname = "UAN')], encoding="utf-8")  # one pass, stated speeds
    done = run("plan", pulsed, "--out", "papers")
    assert done.code == 0, done.err
    assert "Between two pulses a tip passes ground shut: slow " in " ".join(done.out.split())
    assert "compensated by tip; the plan's figures for turns leave that out" in " ".join(done.out.split())
    assert "Nobody said whether this tip may be pulsed." in " ".join(done.out.split())
    (card,) = (pulsed.parent / "papers").glob("cab-card-*.pdf")
    told = " ".join(text_of(card.read_bytes()).split())
    assert "shut a pulse, in" in told
    assert "ground shut: slow" in told


def test_set_pressures_are_tried_out(run: Run, pulsed: Path) -> None:
    done = run("boom", "pulse", pulsed, "--tip", "saltlick-08-pre", "--set-pressure", "40 psi", "--json")
    assert done.code == 0, done.err
    (row,) = json.loads(done.out)["rows"]
    assert row["set_pressure_pa"] == pytest.approx(40 * 6894.757, rel=1e-6)
    assert row["tip_pa"] < row["set_pressure_pa"]
    plain = run("boom", "pulse", DEMO, "--tip", "saltlick-08-pre")
    assert plain.code == 3
    assert "pressure follows its speed" in plain.err


def test_two_sets_at_once_are_told_in_plan_card_and_replay(run: Run, tmp_path: Path) -> None:
    text = DEMO.read_text(encoding="utf-8").replace('"tips.csv"', f'"{DEMO.parent / "tips.csv"}"')
    one_pass = text[: text.index('[[pass]]\nname = "UAN')]
    season = tmp_path / "two.toml"
    season.write_text(
        one_pass.replace("speeds = {", 'at_once = ["iso-11004-pre", "iso-11006-pre"]\nspeeds = {'), encoding="utf-8"
    )
    done = run("plan", season, "--out", "papers", "--json")
    assert done.code == 0, done.err
    told = json.loads(done.out)["two_sets_at_once"]["Burndown and residual"]
    assert [one["tips"] for one in told["stages"]][-1] == ["iso-11004-pre", "iso-11006-pre"]
    (card,) = (tmp_path / "papers").glob("cab-card-*.pdf")
    assert "two sets at once" in text_of(card.read_bytes())
    assert "Stage 1, iso-11004-pre" in text_of(card.read_bytes())
    log = tmp_path / "field.csv"
    rows = [f"{second},{43.0 + 5e-5 * second:.6f},-91.0,120,15" for second in range(60)]
    log.write_text("time_s,lat,lon,width_ft,target_gpa\n" + "\n".join(rows) + "\n", encoding="utf-8")
    mapping = tmp_path / "map.toml"
    mapping.write_text(MAP, encoding="utf-8")
    driven = run("replay", season, log, "--map", mapping, "--tip", "saltlick-08-pre")
    assert driven.code == 0, driven.err
    assert "Two sets at once over this log, settled: held" in " ".join(driven.out.split())
    season.write_text(season.read_text(encoding="utf-8").replace("iso-11004-pre", "iso-99-none"), encoding="utf-8")
    refused = run("plan", season)
    assert refused.code == 2
    assert "pass[1].at_once[1]" in refused.err


MAP = """format_version = 1
[columns]
time = { column = "time_s", unit = "s" }
latitude = { column = "lat", unit = "deg" }
longitude = { column = "lon", unit = "deg" }
width = { column = "width_ft", unit = "ft" }
target_rate = { column = "target_gpa", unit = "gal/ac" }
"""
