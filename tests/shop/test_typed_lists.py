"""Several values in one box: what is joined comes apart again, and a decimal comma is no parting one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.shop.typed.list_text import parts_of_text, text_of_parts

WORDS = st.text(st.characters(exclude_characters=";\n", categories=["L", "N", "P", "Zs"]), min_size=1).map(str.strip)


@given(st.lists(WORDS.filter(bool), max_size=6))
def test_names_that_were_joined_come_apart_again(names: list[str]) -> None:
    assert parts_of_text(text_of_parts(names), whole=True) == names


@given(st.lists(st.floats(0.125, 1e6).map(repr) | st.just("") | st.integers(0, 999).map(str), max_size=80))
def test_readings_that_were_joined_come_apart_again_with_their_gaps(readings: list[str]) -> None:
    assert parts_of_text(text_of_parts(readings)) == readings


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("0,6 s, 0,7 s,0,5 s", ["0,6 s", "0,7 s", "0,5 s"]),
        ("39,2; 40,1", ["39,2", "40,1"]),
        ("39,2;;40,1;", ["39,2", "", "40,1"]),
        ("39,2", ["39,2"]),
        ("39.2,40.1", ["39.2", "40.1"]),
        ("39,40,41", ["39", "40", "41"]),
        ("39.2, 40.1,\n41.0,\n\n 42", ["39.2", "40.1", "41.0", "42"]),
        ("39.2, ,41", ["39.2", "", "41"]),
        ("", []),
        (",", [""]),
    ],
)
def test_commas_part_values_unless_they_are_decimal_commas(text: str, parts: list[str]) -> None:
    assert parts_of_text(text) == parts
