"""That a command run by a fork, as the other tests here run them, is the command as a person starts it."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.conftest import Run

DEMO = Path(__file__).parents[2] / "demo"


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["prove", DEMO / "wetrun.toml", "--json"], 0),
        (["plan", "nowhere.toml"], 2),
        (["no-such-command"], 2),
        (["--help"], 0),
    ],
)
def test_a_fork_says_and_ends_as_a_process_of_its_own_does(
    run: Run, run_anew: Run, words: list[str | Path], code: int
) -> None:
    anew = run_anew(*words)
    assert (anew.code, bool(anew.out or anew.err)) == (code, True)
    assert run(*words) == anew


def test_a_command_that_takes_too_long_is_ended_and_the_next_one_runs(run: Run) -> None:
    with pytest.raises(pytest.fail.Exception, match="longer than"):
        run("prove", DEMO / "wetrun.toml", limit_s=0.001)
    assert run("--help").code == 0
