"""The fills file: what it reads, what it refuses and with which words, and its schema."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest
import tomli_w

from wetrun.documents.fills_example import example_fills
from wetrun.documents.fills_file import FillsFile, fills_of, read_fills
from wetrun.documents.fills_schema import fills_schema
from wetrun.documents.season_schema import schema_text
from wetrun.errors import InputProblems
from wetrun.proving.filled_load import USUAL_TOOLS, FilledBy
from wetrun.proving.load_trend import load_trend
from wetrun.spray.definitions import US_GALLON_M3

SCHEMA = Path(__file__).parents[2] / "docs" / "schema" / "fills.schema.json"
SECOND = '\n[[load]]\non = 2027-05-03\ncounted = "9 gal"\nfilled = "9 gal"\nname = "a"'


def read_text(text: str) -> FillsFile:
    return fills_of(tomllib.loads(text), "fills.toml")


def with_load(*lines: str, counted: str = "1000 gal") -> str:
    head = 'format_version = 1\ntitle = "x"\n[[load]]\non = 2027-05-03\n'
    return "\n".join((head, f'counted = "{counted}"', *lines))


def test_the_example_is_read_and_says_three_per_cent(tmp_path: Path) -> None:
    path = tmp_path / "fills.toml"
    path.write_text(example_fills(), encoding="utf-8")
    file = read_fills(path)
    assert [load.name for load in file.loads] == ["1", "2", "3", "4"]
    assert file.loads[1].carried_from == "1"
    assert file.loads[1].carried_m3 == pytest.approx(25 * US_GALLON_M3)
    assert file.loads[2].by is FilledBy.SCALE
    assert file.loads[2].put_out_m3 == pytest.approx(985 * US_GALLON_M3)
    assert file.usual_tools
    assert file.tools.scale_frac == USUAL_TOOLS.scale_frac
    trend = load_trend(file.loads, file.number, file.tools)
    assert 0.02 < trend.counted.error_ratio < 0.04


def test_written_and_read_again_it_is_the_same() -> None:
    raw = tomllib.loads(example_fills())
    again = tomllib.loads(tomli_w.dumps(raw))
    assert again == raw
    assert fills_of(again, "fills.toml") == fills_of(raw, "fills.toml")


def test_units_are_the_typed_ones_whatever_the_file_asks_for() -> None:
    us, si = (
        read_text(with_load(f'filled = "{filled}"', counted=counted))
        for filled, counted in (
            ("1000 gal", "1000 gal"),
            ("3785.411784 L", "3785.411784 L"),
        )
    )
    assert us.loads[0].put_out_m3 == pytest.approx(si.loads[0].put_out_m3)


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        (with_load(), "load[1].filled", "by meter or by scale"),
        (with_load('filled = "1000 gal"', 'weight = "8000 lb"'), "load[1].filled", "by meter or by scale"),
        (with_load('weight = "8000 lb"'), "load[1].density", "only with the density"),
        (with_load('filled = "1000"'), "load[1].filled", "no unit"),
        (with_load("filled = 1000"), "load[1].filled", "it has no unit"),
        (with_load('filled = "40 gal"', 'left = "40 gal"'), "load[1]", "nothing was put out"),
        (with_load('filled = "40 gal"', "carried = true"), "load", "no load stands before the first"),
        (
            with_load('filled = "40 gal"', 'name = "a"') + SECOND,
            "load[2].name",
            "another load",
        ),
        (with_load('filled = "40 gal"', "gauge = 3"), "load[1].gauge", ""),
        (with_load('filled = "40 gal"') + '\n[meter]\nnumber = "720"\nform = "moons"', "meter.form", ""),
        (with_load('filled = "40 gal"').replace("version = 1", "version = 2"), "format_version", "format_version 1"),
    ],
)
def test_what_is_wrong_is_told_at_its_place(text: str, key: str, words: str) -> None:
    with pytest.raises(InputProblems) as refused:
        read_text(text)
    assert key in {problem.key for problem in refused.value.problems}
    assert words in " ".join(problem.limit for problem in refused.value.problems)
    assert all(problem.remedy for problem in refused.value.problems)


def test_the_published_schema_is_the_generated_one_and_accepts_what_is_read() -> None:
    assert SCHEMA.read_text(encoding="utf-8") == schema_text(fills_schema())
    jsonschema.Draft202012Validator.check_schema(fills_schema())
    jsonschema.validate(json.loads(json.dumps(tomllib.loads(example_fills()), default=str)), fills_schema())
