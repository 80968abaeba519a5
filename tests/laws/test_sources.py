"""Every key that a docstring or a table names is a source, and every source is named somewhere."""

import ast
import re
import tomllib
from pathlib import Path

import pytest

import wetrun
from wetrun.sources import SOURCES, source

PACKAGE = Path(wetrun.__file__).parent
TESTS = Path(__file__).parents[1]
KEY = re.compile(r"[a-z0-9][a-z0-9.-]*")


def docstrings(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            text = ast.get_docstring(node)
            if text:
                yield f"{path.relative_to(PACKAGE)}:{getattr(node, 'name', 'module')}", text


def reference_keys(docstring):
    """Keys of a numpydoc References section: comma-separated, up to the next section."""
    lines = docstring.splitlines()
    for n, line in enumerate(lines[:-1]):
        if line.strip() == "References" and set(lines[n + 1].strip()) == {"-"}:
            for entry in lines[n + 2 :]:
                if not entry.strip():
                    break
                yield from (key.strip() for key in entry.split(",") if key.strip())


def all_references():
    return [
        (place, key)
        for path in sorted(PACKAGE.rglob("*.py"))
        for place, text in docstrings(path)
        for key in reference_keys(text)
    ]


def test_the_scan_sees_the_references_it_is_meant_to():
    text = "Head.\n\nReferences\n----------\none-key, other-key\nthird-key\n\nExample\n-------\nnot-a-key"
    assert list(reference_keys(text)) == ["one-key", "other-key", "third-key"]
    assert ("spray/water.py:water_density_kgpm3", "kell-1975") in all_references()


def test_every_reference_of_a_docstring_is_a_source():
    unknown = [f"{place} names {key}" for place, key in all_references() if key not in SOURCES]
    assert not unknown, "\n".join(unknown)


def test_every_reference_is_written_as_a_key():
    odd = [f"{place}: {key}" for place, key in all_references() if not KEY.fullmatch(key)]
    assert not odd, "\n".join(odd)


def test_every_published_table_names_a_source():
    for path in sorted((TESTS / "published" / "data").glob("*.toml")):
        for check in tomllib.loads(path.read_text(encoding="utf-8"))["check"]:
            assert check["source"] in SOURCES, f"{path.name}: {check['case']} names {check['source']}"


def test_every_source_is_used_somewhere():
    texts = [
        path.read_text(encoding="utf-8")
        for folder in (PACKAGE, TESTS)
        for path in folder.rglob("*")
        if path.suffix in {".py", ".toml"} and path.name != "sources.py"
    ]
    unused = [key for key in SOURCES if not any(re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", t) for t in texts)]
    assert not unused, f"no docstring, table or test names: {', '.join(unused)}"


def test_keys_are_unique_and_every_field_is_filled():
    listed = re.findall(
        r'^\s+Source\(\n\s+"([^"]+)"', (PACKAGE / "sources.py").read_text(encoding="utf-8"), re.MULTILINE
    )
    assert len(listed) == len(set(listed)) == len(SOURCES)
    for entry in SOURCES.values():
        assert all(field.strip() for field in (entry.citation, entry.where, entry.status, entry.note)), entry.key


def test_a_source_that_was_not_opened_is_not_called_read():
    for entry in SOURCES.values():
        assert not (entry.where == "not opened" and entry.status == "read"), entry.key


def test_an_unknown_key_says_what_it_might_have_been():
    with pytest.raises(KeyError, match="did you mean grdc-"):
        source("grdc-99")
    with pytest.raises(KeyError, match="every key stands in"):
        source("nowhere")
