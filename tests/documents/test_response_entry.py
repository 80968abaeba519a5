"""The machine's response in a season file."""

from __future__ import annotations

import pytest

from wetrun.documents.season_example import example_season
from wetrun.documents.season_file import read_season
from wetrun.errors import InputProblems
from wetrun.spray.response import Response, ShutOff

TYPED = """
[machine.control.response]
lag = "0.8 s"
delay = "0.4 s"
open = "0.5 s"
shut_off = "flow stays"
"""


@pytest.fixture
def read_with(tmp_path):
    """Read the example with a piece of text put in before its pulse settings' place."""

    def read(text):
        path = tmp_path / "season.toml"
        path.write_text(example_season().replace("# [machine.control.pulse]", text, 1), encoding="utf-8")
        return read_season(path).season.sprayer.control.response

    return read


def test_a_response_arrives_in_seconds(read_with):
    assert read_with(TYPED) == Response(lag_s=0.8, delay_s=0.4, open_s=0.5, shut_off=ShutOff.FLOW)


def test_a_machine_nobody_timed_has_none(read_with):
    assert read_with("") is None


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ('lag = "2 min"', "from 0 s to 60.0 s"),
        ("lag = 0.8", "no unit"),
        ('shut_off = "both"', "shut_off"),
        ('lagg = "1 s"', "lagg"),
    ],
)
def test_a_wrong_response_is_refused_with_its_place(read_with, wrong, said):
    with pytest.raises(InputProblems, match=said):
        read_with(f"[machine.control.response]\n{wrong}\n")
