"""The page on field logs names for each trouble a test that is there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "logs.md").read_text(encoding="utf-8")
TROUBLES = range(1, 20)
ROWS = {int(row[1]): row[0] for row in re.finditer(r"^\| (\d+) \|.*$", PAGE, flags=re.MULTILINE)}


def test_every_trouble_has_its_row():
    assert sorted(ROWS) == list(TROUBLES)


@pytest.mark.parametrize("number", TROUBLES)
def test_each_row_names_tests_that_are_there(number):
    named = re.findall(r"`(test_\w+)::(test_\w+)`", ROWS[number])
    assert named
    for file, test in named:
        assert f"def {test}(" in (ROOT / "tests" / "fieldlog" / f"{file}.py").read_text(encoding="utf-8"), (file, test)
