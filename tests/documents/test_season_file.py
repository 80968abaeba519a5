"""A season file that is right: every key arrives in its record, in SI, beside the text it was typed as."""

import dataclasses
import json
import tomllib
from datetime import date
from pathlib import Path

import jsonschema
import pytest

from wetrun.documents.catalogue_file import catalogue_template
from wetrun.documents.season_build import LOOPS
from wetrun.documents.season_example import example_season
from wetrun.documents.season_file import read_season
from wetrun.documents.season_schema import schema_text, season_schema
from wetrun.machine.boom import OddPositions, PositionKind
from wetrun.machine.tip import OwnedSet
from wetrun.planning.passes import RateMeaning
from wetrun.quantity import Kind, System, read
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import DropletClass, Family
from wetrun.spray.pulse import DutySource

SCHEMA = Path(__file__).parents[2] / "docs" / "schema" / "season.schema.json"

SMALLEST = """
format_version = 1
title = "Small"
customer = { name = "Twin Ash Farm" }
[machine]
name = "One"
boom = { spacing = "50 cm", sections = [10] }
control = { loop = "none" }
[[pass]]
name = "Only"
crop = "wheat"
area = "1 ha"
first = 2026-05-01
last = 2026-05-01
carrier = "water"
rate = "100 L/ha"
speeds = { slow = "8 km/h", usual = "8 km/h", fast = "8 km/h" }
"""


def si(text, kind):
    return read(text, kind).si_value


@pytest.fixture
def season_at(tmp_path):
    def write(text):
        path = tmp_path / "season.toml"
        path.write_text(text, encoding="utf-8")
        return read_season(path)

    return write


def test_the_example_is_accepted_as_it_stands(season_at):
    found = season_at(example_season())
    assert [each.ident for each in found.season.passes] == [
        "Burndown",
        "Nitrogen before planting",
        "Residual after emergence",
    ]
    assert found.units is System.US
    assert (found.season.most_sets, found.season.budget_cents) == (3, None)


def test_the_machine_arrives_in_si(season_at):
    sprayer = season_at(example_season()).season.sprayer
    assert sprayer.boom.tips == 54
    assert sprayer.boom.width_m == pytest.approx(si("90 ft", Kind.WIDTH))
    assert sprayer.boom.exceptions == (OddPositions(PositionKind.BOOM_END, (1, 54), "iso-8004-ff"),)
    assert sprayer.boom.body_positions == 3
    assert sprayer.control.loop is Loop.METER
    assert sprayer.control.hold.cab_pressure_pa == si("20 psi", Kind.PRESSURE)
    assert sprayer.control.cab_high_pa == si("95 psi", Kind.PRESSURE)
    assert sprayer.control.off_below_mps == si("2 mph", Kind.SPEED)
    assert sprayer.control.meter.greatest_m3s == si("150 gal/min", Kind.BOOM_FLOW)
    assert sprayer.pump.left_for_boom_m3s == pytest.approx(si("71 gal/min", Kind.BOOM_FLOW))  # 120 x 0.8 - 25
    assert sprayer.owned == (OwnedSet("iso-11004-ff", 1.03, 54),)
    assert sprayer.tank_m3 == si("1000 gal", Kind.VOLUME)
    assert (sprayer.check_valve_pa, sprayer.relief_pa) == (si("10 psi", Kind.PRESSURE), si("110 psi", Kind.PRESSURE))


def test_a_gauge_pair_gives_back_its_own_loss(season_at):
    loss = season_at(example_season()).season.sprayer.loss
    drop = loss.drop_pa(boom_flow_m3s=si("24 gal/min", Kind.BOOM_FLOW), tip_flow_m3s=0.0)
    assert drop == pytest.approx(si("4 psi", Kind.PRESSURE))


def test_a_pass_and_its_label_arrive_in_si(season_at):
    first, nitrogen, last = season_at(example_season()).season.passes
    assert first.rate_low_m3pm2 == first.rate_m3pm2 == first.rate_high_m3pm2 == si("15 gal/ac", Kind.RATE)
    assert first.classes == {DropletClass.M, DropletClass.C}
    assert (first.first_day, first.last_day) == (date(2026, 4, 10), date(2026, 5, 5))
    assert first.products[0].label_ratio == pytest.approx(44 / 32)
    assert first.products[1].rate_kgpm2 == si("1.7 lb/ac", Kind.DRY_RATE)
    assert first.products[1].rate_m3pm2 is None
    assert nitrogen.rate_high_m3pm2 == si("210 L/ha", Kind.RATE)
    assert nitrogen.carrier.name == "UAN 32"
    assert nitrogen.rate_meaning is RateMeaning.SOLUTION
    assert nitrogen.speeds.fast_mps == si("21 km/h", Kind.SPEED)
    assert [tip.tip for tip in last.products[0].permitted_tips] == ["iso-11004-ai", "iso-11005-ai"]
    assert last.products[0].permitted_tips[0].high_pa == si("60 psi", Kind.PRESSURE)
    assert last.products[0].forbidden_carriers == ("UAN 28", "UAN 32")
    assert last.products[0].last_day == date(2026, 6, 30)
    assert last.products[0].wind_low_mps == si("3 mph", Kind.SPEED)


def test_every_quantity_keeps_its_text(season_at):
    typed = season_at(example_season()).typed
    assert typed["pass[1].rate.target"] == "15 gal/ac"
    assert typed["pass[2].carrier.temperature"] == "12 °C"
    assert typed["machine.control.hold.pressure"] == "20 psi"
    assert typed["machine.pump.return"] == "0 gal/min"
    assert typed["pass[3].product[1].tips[2].max_pressure"] == "60 psi"


def test_the_same_season_typed_in_metric_is_the_same_season(season_at):
    us = season_at(SMALLEST.replace('"100 L/ha"', '"15 gal/ac"').replace('"50 cm"', '"20 in"')).season
    metric = season_at(
        SMALLEST.replace('"100 L/ha"', '"140.30934343434343 L/ha"').replace('"50 cm"', '"50,8 cm"')
    ).season
    assert metric.passes[0].rate_m3pm2 == pytest.approx(us.passes[0].rate_m3pm2, rel=1e-12)
    assert metric.sprayer.boom.spacing_m == pytest.approx(us.sprayer.boom.spacing_m, rel=1e-12)


def test_a_pass_may_wait_for_its_log_from_the_command_line(season_at):
    (only,) = season_at(SMALLEST[: SMALLEST.index("speeds")]).season.passes
    assert (only.speeds, only.logs) == (None, ())


@pytest.mark.parametrize(
    ("typed", "families", "tips"),
    [
        ('["streamer"]', {Family.STREAMER}, None),
        ('"Air-induction"', {Family.AIR_INDUCTION}, None),
        ('["flat fans", "pre-orifice"]', {Family.FLAT_FAN, Family.PRE_ORIFICE}, None),
        ('["iso-11004-ai"]', None, {"iso-11004-ai"}),
        ('["streamer", "iso-11004-ai", "streamers"]', {Family.STREAMER}, {"iso-11004-ai"}),
    ],
)
def test_the_tips_asked_for_are_families_or_idents(season_at, typed, families, tips):
    (only,) = season_at(SMALLEST + f"fit = {typed}\n").season.passes
    assert (only.fit_families, only.fit_tips) == (families, tips)


def test_the_odd_positions_may_carry_the_set(season_at):
    assert season_at(SMALLEST).season.passes[0].odd_positions is True
    assert season_at(SMALLEST + "odd = false\n").season.passes[0].odd_positions is False


def test_the_order_of_passes_and_what_products_leave_arrive(season_at):
    text = example_season().replace("# after = ", "after = ", 1).replace("# days = 3", "days = 3", 1)
    text = text.replace("# tolerated", "tolerated").replace("# clean_after", "clean_after")
    first, *others = season_at(text).season.passes
    contact, salt, *_ = first.products
    assert (first.after, first.work_days) == (("Nitrogen before planting",), 3)
    assert (contact.risky_on, contact.risky_words) == (("maize",), "Clean all equipment before use on maize.")
    assert (contact.tolerated_frac, contact.clean_after) == (pytest.approx(1e-4), True)
    assert (salt.risky_on, salt.tolerated_frac, salt.clean_after) == ((), None, False)
    assert [(one.after, one.work_days) for one in others] == [((), 0), ((), 0)]
    assert others[-1].products[0].risky_on is None, "what nobody typed is not the same as an empty list"


def test_the_built_in_tips_may_be_left_out(season_at, tmp_path):
    (tmp_path / "tips.csv").write_text(catalogue_template(), encoding="utf-8")
    assert season_at(SMALLEST).season.generic is True
    assert season_at(SMALLEST + '[plan]\ngeneric = false\ncatalogue = "tips.csv"').season.generic is False


def test_what_may_be_left_out_has_its_stated_default(season_at):
    season = season_at(SMALLEST).season
    only = season.passes[0]
    assert (only.tolerance_frac, only.rate_meaning, only.classes) == (0.05, RateMeaning.SOLUTION, None)
    assert (only.fit_families, only.fit_tips) == (None, None)
    assert (season.sprayer.pump, season.sprayer.control.hold, season.most_sets) == (None, None, None)
    planned = season_at(SMALLEST + '[plan]\ntolerance = "3 %"').season
    assert planned.passes[0].tolerance_frac == 0.03
    own = season_at(SMALLEST + 'tolerance = "2 %"\n[plan]\ntolerance = "3 %"').season
    assert own.passes[0].tolerance_frac == 0.02


@pytest.mark.parametrize(("word", "loop"), LOOPS.items())
def test_every_control_loop_can_be_written(season_at, word, loop):
    pulse = ', pulse = { frequency = "10 Hz", set_pressure = "3 bar", duty_from = "pressure", least_duty = "25 %" }'
    control = f'control = {{ loop = "{word}"{pulse if loop is Loop.PULSE else ""} }}'
    found = season_at(SMALLEST.replace('control = { loop = "none" }', control)).season.sprayer.control
    assert found.loop is loop
    assert (found.pulse is not None) is (loop is Loop.PULSE)
    if found.pulse is not None:
        assert (found.pulse.frequency_hz, found.pulse.set_pressure_pa) == (10.0, 300_000.0)
        assert (found.pulse.least_frac, found.pulse.greatest_frac) == (0.25, 1.0)
        assert found.pulse.duty_from is DutySource.PRESSURE


def test_the_words_of_the_file_are_those_of_the_records():
    assert set(LOOPS.values()) == set(Loop)
    defs = season_schema()["$defs"]
    assert defs["OddEntry"]["properties"]["kind"]["enum"] == [kind.value for kind in PositionKind]


CARRIERS = [
    ('"water"', "water", 998.2, 0.05),
    ('"Water"', "water", 998.2, 0.05),
    ('"uan28"', "UAN 28", si("10.67 lb/gal", Kind.DENSITY), 0.01),  # fertiliser table, taken at 60 °F
    ('{ name = "UAN 28", temperature = "40 °F" }', "UAN 28", si("10.74 lb/gal", Kind.DENSITY), 0.01),
    ('{ name = "UAN 28", density = "10.65 lb/gal" }', "UAN 28", si("10.65 lb/gal", Kind.DENSITY), 1e-9),
    ('{ name = "Starter", density = "1,35 kg/L" }', "Starter", 1350.0, 1e-9),
    ('{ name = "Starter", specific_gravity = "1.28" }', "Starter", 1.28 * 998.2041, 0.001),
]


@pytest.mark.parametrize(("typed", "name", "density", "within"), CARRIERS)
def test_carriers_by_name_density_or_specific_gravity(season_at, typed, name, density, within):
    carrier = season_at(SMALLEST.replace('carrier = "water"', f"carrier = {typed}")).season.passes[0].carrier
    assert carrier.name == name
    assert carrier.density_kgpm3 == pytest.approx(density, abs=within)


@pytest.mark.parametrize(
    ("typed", "letters"),
    [
        ('["M", "C"]', "M C"),
        ('"coarse"', "C"),
        ('"C or coarser"', "C VC XC UC"),
        ('"Coarse or coarser"', "C VC XC UC"),
        ('"medium or finer"', "XF VF F M"),
        ('"M to VC"', "M C VC"),
        ('["very coarse", "XC or coarser"]', "VC XC UC"),
    ],
)
def test_droplet_classes_as_labels_word_them(season_at, typed, letters):
    found = season_at(SMALLEST + f"droplets = {typed}\n").season.passes[0].classes
    assert " ".join(each.letters for each in sorted(found)) == letters


def test_logs_maps_and_catalogue_are_found_beside_the_file(season_at, tmp_path):
    (tmp_path / "logs").mkdir()
    for name in ("logs/a.csv", "logs/map.toml"):
        (tmp_path / name).write_text("x", encoding="utf-8")
    (tmp_path / "tips.csv").write_text(catalogue_template(), encoding="utf-8")
    without_speeds = SMALLEST[: SMALLEST.index("speeds")]
    text = without_speeds + 'logs = ["logs/a.csv"]\nlog_map = "logs/map.toml"\n[plan]\ncatalogue = "tips.csv"\n'
    found = season_at(text)
    assert found.log_paths == {"Only": (tmp_path / "logs/a.csv",)}
    assert found.log_maps == {"Only": tmp_path / "logs/map.toml"}
    assert found.season.passes[0].logs == ("logs/a.csv",)
    assert "example-04-ai" in {tip.ident for tip in found.catalogue}
    assert "iso-11004-ai" in {tip.ident for tip in found.catalogue}


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path):
    path = tmp_path / "season.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALLEST.replace("\n", "\r\n").encode())
    assert read_season(path).season.title == "Small"


def test_the_published_schema_is_the_generated_one():
    assert SCHEMA.read_text(encoding="utf-8") == schema_text()


@pytest.mark.parametrize("text", [example_season(), SMALLEST], ids=["example", "smallest"])
def test_the_schema_accepts_what_is_read(text):
    jsonschema.Draft202012Validator.check_schema(season_schema())
    jsonschema.validate(json.loads(json.dumps(tomllib.loads(text), default=str)), season_schema())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('crop = "wheat"', 'crops = "wheat"'),
        ('rate = "100 L/ha"', "rate = 100"),
        ('rate = "100 L/ha"', 'rate = "100 L/ha"\nfit = []'),
        ('rate = "100 L/ha"', 'rate = "100 L/ha"\nodd = "no"'),
        ('rate = "100 L/ha"', 'rate = { low = "90 L/ha" }'),
        ("sections = [10]", "sections = []"),
        ('loop = "none"', 'loop = "manual"'),
        ("format_version = 1", "format_version = 2"),
    ],
)
def test_the_schema_refuses_what_is_refused(season_at, old, new):
    instance = json.loads(json.dumps(tomllib.loads(SMALLEST.replace(old, new)), default=str))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(instance, season_schema())


def test_a_season_is_a_value(season_at):
    assert season_at(SMALLEST).season == season_at(SMALLEST).season
    assert dataclasses.is_dataclass(season_at(SMALLEST))
