"""The tutorial is walked as it stands: its commands are run, its changes made, and what it shows is what they print."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

from tests.cli.conftest import Run
from tests.paper_reading import text_of

PAGE = Path(__file__).parents[2] / "docs" / "tutorial" / "a-season.md"
LEFT_OUT = "[…]"


def blocks() -> Iterator[tuple[str, list[str]]]:
    """Kind and lines of every block of the page, in order."""
    for block in re.finditer(r"^```(\w+)\n(.*?)^```$", PAGE.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE):
        yield block[1], [line.rstrip() for line in block[2].splitlines()]


def commands(lines: list[str]) -> Iterator[tuple[str, list[str]]]:
    """Each command of a console with the lines under it."""
    starts = [at for at, line in enumerate(lines) if line.startswith("$ wetrun ")]
    assert starts[:1] == [0]
    for at, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        yield lines[at].removeprefix("$ wetrun "), lines[at + 1 : end]


def check_shown(shown: list[str], printed: list[str], command: str) -> None:
    """Every line shown comes, right after the one before it unless something was left out there."""
    place, anywhere = 0, False
    for line in shown:
        if line == LEFT_OUT:
            anywhere = True
            continue
        assert line in printed[place:], f"“{command}” does not print {line!r} there"
        found = printed.index(line, place)
        assert anywhere or found == place, f"“{command}” prints more before {line!r}: {printed[place:found]}"
        place, anywhere = found + 1, False
    assert anywhere or place == len(printed), f"“{command}” prints more at its end: {printed[place:]}"


def changed(text: str, lines: list[str]) -> str:
    """A file with the change that a page shows."""
    old, new = ("".join(f"{line[1:]}\n" for line in lines if line[0] == sign) for sign in "-+")
    assert text.count(old) == 1
    return text.replace(old, new)


def test_the_tutorial_is_what_really_happens(run: Run, tmp_path: Path) -> None:
    season = tmp_path / "season.toml"
    ran = 0
    for kind, lines in blocks():
        if kind == "console":
            for command, shown in commands(lines):
                done = run(*shlex.split(command), columns=80)
                assert done.code == 0, done.err
                check_shown(shown, [line.rstrip() for line in done.out.splitlines() if line], command)
                ran += 1
        elif kind == "diff":
            season.write_text(changed(season.read_text(encoding="utf-8"), lines), encoding="utf-8")
        else:
            card = text_of((tmp_path / "papers" / "cab-card-burndown.pdf").read_bytes())
            assert [line for line in lines if " ".join(line.split()) not in card] == []
    assert ran == 9


def test_a_line_that_is_not_printed_there_is_found() -> None:
    for shown in (["b"], ["a", "c"], ["a", LEFT_OUT, "a"], ["a"]):
        try:
            check_shown(shown, ["a", "b"], "x")
        except AssertionError:
            continue
        raise AssertionError(shown)
    check_shown(["a", LEFT_OUT], ["a", "b", "c"], "x")
    check_shown([LEFT_OUT, "b", "c"], ["a", "b", "c"], "x")
