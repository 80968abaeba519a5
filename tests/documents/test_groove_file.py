"""A file of tray grooves: what is read, and every mistake at once."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.documents.groove_file import groove_template, grooves_of_text, read_grooves
from wetrun.errors import InputProblems
from wetrun.spray.fan_source import effective_width_m

HEAD = "format_version,1\ngroove,4 in\nheight,pressure,tip_at,1,2,3,4\n"


def test_the_template_is_read_as_it_says(tmp_path):
    path = tmp_path / "grooves.csv"
    path.write_text(groove_template(), encoding="utf-8")
    found = read_grooves(path)
    assert found.tip == "example-04-ai"
    assert found.groove_m == pytest.approx(0.1)
    assert [run.height_m for run in found.runs] == pytest.approx([0.5, 0.5])
    assert [run.pressure_pa for run in found.runs] == pytest.approx([3e5, 1.5e5])
    widths = [effective_width_m(run.pattern) for run in found.runs]
    assert 0.6 < widths[1] < widths[0] < 0.8  # the lower pressure makes the narrower fan


def test_us_units_semicolons_decimal_commas_and_empty_dry_grooves_are_read():
    text = "format_version;1\ngroove;4 in\nheight;pressure;tip_at;1;2;3;4\n20 in;40 psi;8 in;;12,5;12,5;\n"
    (run,) = grooves_of_text("g.csv", text).runs
    assert run.pattern.caught == (0.0, 12.5, 12.5, 0.0)
    assert run.pattern.groove_m == pytest.approx(0.1016)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "format of the file is not stated"),
        ("format_version,2\n", "this Wetrun reads format_version 1"),
        ("format_version,1\n", "the width of a groove is missing"),
        ("format_version,1\ngroove,100\nheight,pressure,tip_at,1\n20 in,40 psi,2 in,1\n", "has no unit"),
        (HEAD, "there are no runs"),
        (HEAD + "20 in,40 psi,8 in,1,x,1,1\n", "row 4, groove 2"),
        (HEAD + "20 in,40 psi,8 in,0,0,0,0\n", "hold no amounts"),
        (HEAD + "20 in,40 psi,8 in,1,-2,1,1\n", "hold no amounts"),
        (HEAD + "20 in,40 psi,80 in,1,1,1,1\n", "does not stand over what it wetted"),
        (HEAD + "0 in,40 psi,8 in,1,1,1,1\n", "it must be above zero"),
        ("format_version,1\ngroove,4 in\nheight,1,2\n20 in,1,1\n", "the header lacks pressure, tip_at"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(text, says):
    with pytest.raises(InputProblems) as refused:
        grooves_of_text("g.csv", text)
    assert says in str(refused.value)
    assert "g.csv" in str(refused.value)


def test_all_mistakes_come_at_once():
    with pytest.raises(InputProblems) as refused:
        grooves_of_text("g.csv", HEAD + "20,40 psi,8 in,1,1,1,1\n20 in,40,8 in,1,1,1,1\n")
    assert [problem.key for problem in refused.value.problems] == ["row 4, height", "row 5, pressure"]


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_in_a_sentence(text):
    for whole in (text, HEAD + text):
        problems = problems_of(whole)
        assert all(problem.limit and problem.remedy for problem in problems)


def problems_of(text):
    try:
        grooves_of_text("g.csv", text)
    except InputProblems as refused:
        return refused.problems
    return ()
