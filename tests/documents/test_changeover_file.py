"""A changeover file is read into the question it asks: two tanks, plumbing, water, level, labels and record."""

import json
import tomllib
from datetime import datetime, timedelta, timezone
from pathlib import Path

import jsonschema
import pytest

from wetrun.changeover.rinse import Way
from wetrun.changeover.tolerated import PUBLISHED, Basis
from wetrun.documents.changeover_example import example_changeover
from wetrun.documents.changeover_file import read_changeover
from wetrun.documents.changeover_schema import changeover_schema
from wetrun.documents.season_schema import schema_text
from wetrun.errors import InputProblems
from wetrun.machine.flushing import never_rinsed
from wetrun.quantity import Kind, System, read

ROOT = Path(__file__).parents[2]
SCHEMA = ROOT / "docs" / "schema" / "changeover.schema.json"
DEMO = ROOT / "demo" / "changeover.toml"


def m3(text):
    return read(text, Kind.VOLUME).si_value


@pytest.fixture
def question_at(tmp_path):
    """Write an edited text beside the demo's season and return what it asks."""
    for name in ("season.toml", "tips.csv", "log_map.toml"):
        (tmp_path / name).write_bytes((ROOT / "demo" / name).read_bytes())

    def write(text, *edits):
        for old, new in edits:
            assert old in text, f"the text has no {old!r} any more"
            text = text.replace(old, new, 1)
        path = tmp_path / "changeover.toml"
        path.write_text(text, encoding="utf-8")
        return read_changeover(path).question

    return write


def test_the_example_asks_what_it_says(question_at):
    asked = question_at(example_changeover())
    assert asked.machine == "Yard number 12, 90 ft"
    assert asked.earlier.contents == ("Broadend", "Grassend", "Tackwell oil")
    assert asked.later.rate_m3pm2 == pytest.approx(read("20 gal/ac", Kind.RATE).si_value)
    assert asked.load_m3 == pytest.approx(m3("900 gal"))
    width_m = 54 * read("20 in", Kind.SPACING).si_value
    assert asked.out_m3s == pytest.approx(asked.later.rate_m3pm2 * asked.speed_mps * width_m)
    assert (asked.supply.rinse_tank_m3, asked.supply.refills) == (pytest.approx(m3("100 gal")), 2)
    assert asked.layout.circuit("sump").measured
    assert asked.layout.circuit("sump").residue_m3 == pytest.approx(m3("2.5 gal"))
    assert (asked.tolerated.level_frac, asked.tolerated.basis) == (pytest.approx(0.01), Basis.MIX)
    assert asked.cleaners[0].stand_s == pytest.approx(900.0)
    assert asked.label_steps[0].product == "Grassend"
    assert asked.written is None
    assert asked.winter is None


def test_a_season_gives_machine_rates_contents_and_days():
    asked = read_changeover(DEMO).question
    assert asked.machine == "Number 7, 120 ft"
    assert asked.earlier.contents == ("Broadstop", "Grassline", "Spray-grade AMS", "Clingwell")
    assert asked.later.contents == ("Leafkeep", "Clingwell")
    assert asked.earlier.rate_m3pm2 == pytest.approx(read("15 gal/ac", Kind.RATE).si_value)
    assert asked.load_m3 == pytest.approx(m3("1180 gal"))
    assert asked.later.first_day is not None
    assert asked.tolerated == PUBLISHED["nozzle-rinsate-france"]
    assert [each.circuit for each in never_rinsed(asked.layout)] == ["foam marker"]


def test_what_was_never_cleaned_out_since_comes_out_too(question_at):
    asked = question_at(
        DEMO.read_text(encoding="utf-8"),
        ('from = "Post herbicide"', 'from = "Fungicide"'),
        ('to = { pass = "Fungicide", speed = "12 mph" }', 'to = "Desiccant"'),
    )
    assert asked.earlier.contents == ("Leafkeep", "Clingwell")
    assert asked.speed_mps == pytest.approx(read("11 mph", Kind.SPEED).si_value)  # the pass states its own


def test_a_level_typed_at_a_product_of_the_season_is_taken_if_the_file_has_none(question_at, tmp_path):
    season = tmp_path / "season.toml"
    text = season.read_text(encoding="utf-8")
    season.write_text(
        text.replace('risky_on = ["corn", "wheat"]', 'risky_on = ["corn", "wheat"]\ntolerated = "0.2 %"', 1),
        encoding="utf-8",
    )
    asked = question_at(DEMO.read_text(encoding="utf-8"), ('[tolerated]\npublished = "nozzle-rinsate-france"\n', ""))
    assert asked.tolerated.from_label
    assert (asked.tolerated.level_frac, asked.tolerated.basis) == (pytest.approx(0.002), Basis.DOSE)


def test_ways_extras_record_and_winter_arrive(question_at):
    asked = question_at(
        example_changeover(),
        ('ways = ["batch"]', 'ways = ["continuous", "batch", "boom"]'),
        ("# [[plumbing.extra]]", "[[plumbing.extra]]"),
        ("# kind = ", "kind = "),
        ("# flushed_with = ", "flushed_with = "),
        ("# [record]", "[record]"),
        ("# signed_by", "signed_by"),
        ("# signed_at", "signed_at"),
        ("# [[record.step]]", "[[record.step]]"),
        ("# step = ", "step = "),
        ("# by = ", "by = "),
        ("# done = ", "done = "),
        ('# water = "40 gal" ', 'water = "40 gal" '),
        ("# [winter]", "[winter]"),
        ("# antifreeze", "antifreeze"),
        ("# where_it_goes", "where_it_goes"),
    )
    assert asked.ways == (Way.CONTINUOUS, Way.BATCH, Way.BOOM)
    assert asked.layout.circuit("chemical hose").holds_mix
    assert never_rinsed(asked.layout) == ()
    assert asked.written is not None
    assert asked.written.signed_at == datetime(2026, 7, 2, 16, 40, tzinfo=timezone(timedelta(hours=-5)))
    (entry,) = asked.written.entries
    assert (entry.step, entry.done_by, entry.water_m3) == ("rinse-1", "B. Ash", pytest.approx(m3("40 gal")))
    assert asked.winter is not None


def test_both_unit_systems_ask_the_same(question_at):
    us = question_at(example_changeover())
    si = question_at(
        example_changeover(),
        ('units = "us"', 'units = "si"'),
        ('step = "5 gal"', ""),
        ('rinse_tank = "100 gal"', 'rinse_tank = "378.5411784 L"'),
    )
    assert si.supply.rinse_tank_m3 == pytest.approx(us.supply.rinse_tank_m3)
    assert si.supply.step_m3 == pytest.approx(m3("20 L"))


def test_typed_texts_are_kept():
    file = read_changeover(DEMO)
    assert file.typed["plumbing.measured[1].volume"] == "5 gal"
    assert (file.units, file.customer) == (System.US, "Low Fork Farm")


def test_the_published_schema_is_the_generated_one():
    assert SCHEMA.read_text(encoding="utf-8") == schema_text(changeover_schema())


@pytest.mark.parametrize("text", [example_changeover(), DEMO.read_text(encoding="utf-8")], ids=["example", "demo"])
def test_the_schema_accepts_what_is_read(text):
    jsonschema.Draft202012Validator.check_schema(changeover_schema())
    jsonschema.validate(json.loads(json.dumps(tomllib.loads(text), default=str)), changeover_schema())


SUMP, ONE_LEVEL = "plumbing.measured[1]", "one of label, own and published"
FOAM = '[[plumbing.extra]]\nkind = "foam marker"\nflushed_with = "moon"\n#'
BLEACH = 'name = "Chlorine bleach"\n[[cleaner]]\nname = "Ammonia"'
TWO_MACHINES = 'title = "x"\nseason = "season.toml"'
REFUSED = [
    ('volume = "4.5 gal"', 'volume = "0 gal"', f"{SUMP}.volume", "more than nothing", "Measure what it holds"),
    ('residue = "2.5 gal"', 'residue = "5 gal"', SUMP, "Residue of sump is 5.00 gal", "never more than its volume"),
    ('circuit = "sump"', 'circuit = "sumpp"', SUMP, "has none of that name", "It has: tank, sump"),
    ('rinse_tank = "100 gal"', 'rinse_tank = "0 gal"', "water", "no clean water", "Type rinse_tank"),
    ('step = "5 gal"', 'step = "1 gal"', "water.step", "more than the 120", "Write a larger step"),
    ('step = "5 gal"', 'step = "400 gal"', "water", "Step of rinse water is 400 gal", "5 gal or 20 L"),
    ('own = "1 %"', 'own = "0 %"', "tolerated.own", "no rinse reaches nothing at all", "Type the share"),
    ('own = "1 %" ', 'own = "1 %"\nlabel = "1 %" ', "tolerated", ONE_LEVEL, "Write label"),
    ('of = "tank mix"', "", "tolerated.of", "what it is a share of is missing", 'Write of = "tank mix"'),
    ('own = "1 %" ', 'published = "nowhere" ', "tolerated.of", "a published figure says itself", "Leave of out"),
    ('name = "Yardline tank cleaner"', BLEACH, "cleaner", "toxic gas", "never put both"),
    ('speed = "11 mph" ', "", "to.speed", "how fast it is sprayed is not known", "Add speed"),
    ('tank = "1000 gal"', "", "machine", "the machine has no tank", "Add tank"),
    ('crop = "soybeans"', "", "from.crop", "without a pass of a season", "Add it"),
    ("[from]\n", '[from]\npass = "Post"\n', "from", "a pass belongs to a season", "type crop, rate and contents"),
    ("format_version = 1", "format_version = 2", "format_version", "this Wetrun reads", "newer Wetrun"),
    ('title = "Soybeans to corn"', TWO_MACHINES, "machine", "either in a season file or here", "season.toml"),
    ("# [[plumbing.extra]] ", FOAM, "plumbing.extra[1].flushed_with", "no line back to the tank", "agitation"),
    ("most_rinses = 4", "most_rinses = 0", "water.most_rinses", "at least 1", "Correct the number"),
    ("# [record]", "[record]\nsigned_at = 2026-07-02\n#", "record.signed_at", "a day with its time", "2027-07-08"),
]


@pytest.mark.parametrize(("old", "new", "key", "limit", "remedy"), REFUSED)
def test_what_cannot_be_is_refused_with_its_place_and_the_remedy(question_at, old, new, key, limit, remedy):
    with pytest.raises(InputProblems) as refused:
        question_at(example_changeover(), (old, new))
    problem = refused.value.problems[0]
    assert problem.key == key
    assert limit in problem.limit
    assert not problem.limit.endswith("."), "the message ends the sentence itself"
    assert remedy in problem.remedy


@pytest.mark.parametrize(
    ("old", "new", "key", "limit"),
    [
        ('from = "Post herbicide"', 'from = "Post herbicid"', "from", "the season has no such pass"),
        ('from = "Post herbicide"', 'from = "fungicide"', "to", "the same pass as from"),
        (', speed = "12 mph"', "", "to.speed", "how fast"),
        ('season = "season.toml"', 'season = "other.toml"', "season", ""),
        ('[tolerated]\npublished = "nozzle-rinsate-france"', "", "tolerated", "how much the next crop may get"),
        ('published = "nozzle-rinsate-france"', 'published = "nowhere"', "tolerated.published", "no published figure"),
    ],
)
def test_passes_the_season_does_not_have_are_refused(question_at, old, new, key, limit):
    with pytest.raises(InputProblems) as refused:
        question_at(DEMO.read_text(encoding="utf-8"), (old, new))
    problem = refused.value.problems[0]
    assert problem.key == key or (key == "season" and problem.file == "other.toml")
    assert limit in problem.limit
    assert problem.remedy
