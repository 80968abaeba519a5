"""A page on a model says where it holds, what it leaves out and how wrong it may be, and its example runs."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

from wetrun.sources import SOURCES

PAGES = sorted((Path(__file__).parents[1] / "docs" / "explain").glob("*.md"))
OWN = {"overlap", "turning", "pulse", "drift", "stages"}
HEADINGS = ("A worked example", "Valid range", "What is left out", "How wrong it may be", "Sources")
NOT_KEYS = re.compile(r"[./ _(]|^wetrun$")


@pytest.mark.parametrize("page", [page for page in PAGES if page.stem in OWN], ids=lambda page: page.stem)
def test_a_page_says_where_its_model_ends_and_its_example_runs(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    parts = dict(
        zip(
            re.findall(r"^## (.+)$", text, re.MULTILINE),
            re.split(r"^## .+$", text, flags=re.MULTILINE)[1:],
            strict=True,
        )
    )
    for heading in HEADINGS:
        assert len(parts[heading].split()) > 10, f"{page.name}: “{heading}” says nothing"
    test = doctest.DocTestParser().get_doctest(text, {}, page.name, str(page), 0)
    assert len(test.examples) >= 5
    told: list[str] = []
    options = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
    result = doctest.DocTestRunner(optionflags=options).run(test, out=told.append)
    assert result.failed == 0, "".join(told)


@pytest.mark.parametrize("page", [page for page in PAGES if page.stem in OWN], ids=lambda page: page.stem)
def test_the_sources_a_page_names_are_kept(page: Path) -> None:
    sources = page.read_text(encoding="utf-8").partition("## Sources")[2]
    named = [key for key in re.findall(r"`([^`]+)`", sources) if not NOT_KEYS.search(key)]
    assert named
    assert [key for key in named if key not in SOURCES] == []
