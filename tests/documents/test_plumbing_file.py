"""The boom's plumbing in a file: every key arrives in its record, gauges are kept to, and what cannot be is refused."""

import json
import tomllib

import jsonschema
import pytest

from wetrun.documents.season_example import example_season
from wetrun.documents.season_file import read_season
from wetrun.documents.season_schema import season_schema
from wetrun.errors import InputProblems
from wetrun.machine.boom_pipes import mean_drop_pa
from wetrun.quantity import Kind, read
from wetrun.spray.friction import SMOOTH_WALL_M, STEEL_WALL_M
from wetrun.spray.plumbing import Feed

KEYS = ("[machine.plumbing]", "line = ", "feed = ", "hose = ", "hose_length = ", "main = ", "valve = ", "wall = ")


def example_with_plumbing():
    text = example_season()
    for key in KEYS:
        assert text.count(f"# {key}") == 1, key
        text = text.replace(f"# {key}", key)
    return text


def si(text, kind):
    return read(text, kind).si_value


@pytest.fixture
def season_at(tmp_path):
    def write(text):
        path = tmp_path / "season.toml"
        path.write_text(text, encoding="utf-8")
        return read_season(path)

    return write


def test_the_example_without_plumbing_has_none(season_at):
    assert season_at(example_season()).season.sprayer.pipes is None


def test_every_key_of_the_example_arrives_in_its_record(season_at):
    pipes = season_at(example_with_plumbing()).season.sprayer.pipes
    lengths = [section.hose.length_m for section in pipes.sections]
    assert lengths == pytest.approx([si(f"{feet} ft", Kind.LENGTH) for feet in (28, 16, 8, 8, 16, 28)])
    for section in pipes.sections:
        assert section.line.bore_m == pytest.approx(si("1 in", Kind.BORE))
        assert section.line.roughness_m == SMOOTH_WALL_M
        assert (section.feed, section.at_m) == (Feed.MIDDLE, None)
        assert section.hose.pipe.bore_m == pytest.approx(si("0.75 in", Kind.BORE))
        assert section.inlet_paps2m6 == pytest.approx(si("1 psi", Kind.PRESSURE) / si("8 gal/min", Kind.BOOM_FLOW) ** 2)
    assert pipes.main.length_m == pytest.approx(si("10 ft", Kind.LENGTH))


def test_each_section_may_have_its_own_and_metric_reads_like_us(season_at):
    text = example_with_plumbing()
    text = text.replace('line = "1 in"', 'line = ["25.4 mm", "1 in", "20 mm", "20 mm", "1 in", "1 in"]')
    text = text.replace('feed = "middle"', 'feed = ["left end", "middle", "1.2 m", "4 ft", "middle", "right end"]')
    text = text.replace('wall = "smooth"', 'wall = "steel"')
    pipes = season_at(text).season.sprayer.pipes
    assert [round(section.line.bore_m, 4) for section in pipes.sections] == [0.0254, 0.0254, 0.02, 0.02, 0.0254, 0.0254]
    assert [section.feed for section in pipes.sections][::5] == [Feed.LEFT, Feed.RIGHT]
    assert pipes.sections[2].at_m == pytest.approx(1.2)
    assert pipes.sections[3].at_m == pytest.approx(si("4 ft", Kind.LENGTH))
    # A hose is smooth whatever the line is made of.
    assert {(s.line.roughness_m, s.hose.pipe.roughness_m) for s in pipes.sections} == {(STEEL_WALL_M, SMOOTH_WALL_M)}


def test_what_the_gauges_show_beyond_the_pipes_stands_at_the_boom_valve(season_at):
    sprayer = season_at(example_with_plumbing()).season.sprayer
    lost = mean_drop_pa(sprayer.pipes, sprayer.boom, si("24 gal/min", Kind.BOOM_FLOW))
    assert lost == pytest.approx(si("46 psi", Kind.PRESSURE) - si("42 psi", Kind.PRESSURE), rel=1e-9)
    assert sprayer.pipes.main_paps2m6 > 0.0


def test_the_body_of_the_gauges_is_the_body_of_the_plumbing(season_at):
    commented = '# body = { drop = "2 psi", flow = "0.5 gal/min" }   # strainer'
    text = example_with_plumbing().replace(commented, 'body = { drop = "1 psi", flow = "0.5 gal/min" }   # strainer')
    pipes = season_at(text).season.sprayer.pipes
    assert pipes.body_paps2m6 == pytest.approx(si("1 psi", Kind.PRESSURE) / si("0.5 gal/min", Kind.TIP_FLOW) ** 2)


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ('line = "1 in"', 'line = "0 in"', "machine.plumbing.line", "from 0.157 in"),
        (
            'line = "1 in"',
            'line = ["1 in", "0 in", "1 in", "1 in", "1 in", "1 in"]',
            "machine.plumbing.line[2]",
            "must be from",
        ),
        ('line = "1 in"', "line = 1", "machine.plumbing.line", "no unit"),
        ('line = "1 in"', 'line = ["1 in", "1 in"]', "machine.plumbing.line", "2 for 6 sections"),
        ('line = "1 in"', "line = []", "machine.plumbing.line", "at least 1"),
        ('line = "1 in" ', "# ", "machine.plumbing.line", "missing"),
        ('line = "1 in"', 'line = "1 psi"', "machine.plumbing.line", "inner diameter"),
        ('line = "1 in"', 'bore = "1 in"\nline = "1 in"', "machine.plumbing.bore", "no such key"),
        ('feed = "middle"', 'feed = "14 ft"', "machine.plumbing.feed", "outside its section"),
        ('feed = "middle"', 'feed = "center"', "machine.plumbing.feed", "left end, middle, right end"),
        (
            'feed = "middle"',
            'feed = ["middle", "middle", "middle", "middle", "middle", "middle", "middle"]',
            "machine.plumbing.feed",
            "7 for 6 sections",
        ),
        ('hose_length = ["28 ft", ', 'hose_length = ["-1 ft", ', "machine.plumbing.hose_length[1]", "from 0 ft"),
        ('hose_length = ["28 ft", ', "hose_length = [", "machine.plumbing.hose_length", "5 for 6 sections"),
        ('hose = "0.75 in"', "# ", "machine.plumbing.hose", "an inner diameter and a length"),
        ('wall = "smooth"', 'wall = "rough"', "machine.plumbing.wall", "'steel'"),
        ('bore = "1.5 in"', 'bore = "0.75 in"', "machine.plumbing", "lose more at 24 gal/min than the gauges"),
        (
            'valve = { drop = "1 psi", flow = "8 gal/min" }',
            'valve = { drop = "1 psi" }',
            "machine.plumbing.valve[1].flow",
            "missing",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_its_key_and_the_remedy(season_at, old, new, key, words):
    text = example_with_plumbing()
    assert text.count(old) == 1
    with pytest.raises(InputProblems) as refused:
        season_at(text.replace(old, new))
    found = {problem.key: problem for problem in refused.value.problems}
    assert key in found
    said = f"{found[key].limit} {found[key].remedy}"
    assert words in said
    assert found[key].remedy


def test_two_bodies_are_one_too_many(season_at):
    text = example_with_plumbing().replace("# body = ", "body = ")
    with pytest.raises(InputProblems, match=r"machine\.plumbing\.body"):
        season_at(text)


def test_the_schema_takes_one_for_all_and_one_for_each():
    raw = json.loads(json.dumps(tomllib.loads(example_with_plumbing()), default=str))
    jsonschema.validate(raw, season_schema())
    raw["machine"]["plumbing"]["line"] = 1
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(raw, season_schema())
