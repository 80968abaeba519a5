"""What a document's entries refuse is said on a page without quotes, brackets, keys and file names."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest

import wetrun.documents
from wetrun.shop.typed.page_words import page_words

ROOM = Path(wetrun.documents.__file__).parent
# Readers of files themselves: what they refuse never comes of a page.
OF_FILES = {"text_file.py", "toml_text.py", "preamble.py", "groove_file.py"}
REFUSALS = {"refuse", "Problem", "_problem"}
SYNTAX = re.compile(
    r'["\[\]{}=`]|in quotes|without quotes|\btables?\b|\bkeys?\b|[a-z]_[a-z]|\.toml|\bthis file\b|\btrue\b'
)
POSITION = re.compile(r"\d+ = \d+(?:\.\d+)?")  # the page's own way to say which tip


def _texts(node: ast.expr, named: dict[str, list[str]]) -> list[str]:
    if isinstance(node, ast.Constant):
        return [str(node.value)]
    if isinstance(node, ast.JoinedStr):
        parts = (str(part.value) if isinstance(part, ast.Constant) else "7" for part in node.values)
        return ["".join(parts)]
    if isinstance(node, ast.Name):
        return named.get(node.id, [])
    return []


def _refusals(tree: ast.Module) -> Iterator[tuple[str, str]]:
    for function in (each for each in ast.walk(tree) if isinstance(each, ast.FunctionDef)):
        named: dict[str, list[str]] = {}
        for each in [*tree.body, *ast.walk(function)]:
            target = each.targets[0] if isinstance(each, ast.Assign) else getattr(each, "target", None)
            value = getattr(each, "value", None)
            if isinstance(target, ast.Name) and isinstance(value, ast.expr):
                named.setdefault(target.id, []).extend(_texts(value, {}))
        for call in (each for each in ast.walk(function) if isinstance(each, ast.Call)):
            if isinstance(call.func, ast.Name) and call.func.id in REFUSALS and len(call.args) >= 2:
                yield from product(*(_texts(one, named) for one in call.args[-2:]))


REFUSED = sorted(
    {
        pair
        for path in ROOM.glob("*.py")
        if path.name not in OF_FILES and not path.name.startswith("catalogue")
        for pair in _refusals(ast.parse(path.read_text(encoding="utf-8")))
    }
)


def test_the_refusals_of_every_document_are_found() -> None:
    assert len(REFUSED) > 120


@pytest.mark.parametrize(("limit", "remedy"), REFUSED)
def test_no_syntax_of_a_file_reaches_the_page(limit: str, remedy: str) -> None:
    said = POSITION.sub("", page_words(limit, remedy, lambda key: key.replace("_", " ")))
    assert not SYNTAX.search(said), said
    assert re.fullmatch(r"[A-Z0-9“].*[.?!]", said, re.DOTALL), said


def test_a_key_is_called_by_its_label() -> None:
    said = page_words(
        "40 fl oz/ac is above label_max (32 fl oz/ac)", "Correct the rate", {"label_max": "Label: most"}.__getitem__
    )
    assert said == "40 fl oz/ac is above “Label: most” (32 fl oz/ac). Correct the rate."


def test_what_is_left_out_of_a_file_is_left_empty_on_a_page() -> None:
    said = page_words("there is no rate to compare it with", "Give the product's rate, or leave label_max out", str)
    assert said.endswith("or leave “label_max” empty.")
