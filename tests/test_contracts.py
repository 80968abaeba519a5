"""The arrows between rooms hold, and each contract is broken by the import it is there to forbid."""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "wetrun"
ARROWS = "from importlinter.cli import lint_imports_command as arrows; arrows()"
ROOMS_BELOW_QUANTITY = ("planning", "proving", "changeover", "fieldlog", "machine", "spray")
CLOCKS_AND_DOORS = {"now", "today", "utcnow", "fromtimestamp", "perf_counter", "monotonic", "getenv", "environ"}


def arrows_in(folder: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", ARROWS, "--no-cache", "--config", str(folder / "pyproject.toml")]
    environ = os.environ | {"PYTHONPATH": str(folder / "src"), "COLUMNS": "200"}
    return subprocess.run(command, cwd=folder, env=environ, capture_output=True, text=True, check=False)


@pytest.fixture
def house_copy(tmp_path: Path) -> Path:
    shutil.copytree(SOURCE, tmp_path / "src" / "wetrun", ignore=shutil.ignore_patterns("__pycache__", "*.ttf"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_the_house_as_it_stands_keeps_its_contracts(house_copy: Path) -> None:
    done = arrows_in(house_copy)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize(
    ("module", "line", "contract"),
    [
        ("spray/__init__.py", "import wetrun.machine", "Arrows point down"),
        ("units.py", "import wetrun.errors", "Arrows point down"),
        ("papers/__init__.py", "import wetrun.cli", "Arrows point down"),
        ("fleet/__init__.py", "import wetrun.cli", "Arrows point down"),
        ("fleet/__init__.py", "import wetrun.papers", "Arrows point down"),
        ("attic/__init__.py", "", "Arrows point down"),
        ("documents/__init__.py", "import wetrun.fieldlog.readers", "Only cli, shop and fleet reach the log readers"),
        ("fieldlog/__init__.py", "import wetrun.fieldlog.readers", "Only cli, shop and fleet reach the log readers"),
        ("fieldlog/__init__.py", "import pathlib", "The rooms below quantity know no"),
        ("planning/__init__.py", "import time", "The rooms below quantity know no"),
        ("machine/__init__.py", "import os", "The rooms below quantity know no"),
        ("documents/__init__.py", "import pint", "Only quantity knows pint"),
        ("cli/__init__.py", "import wetrun.shop", "Arrows point down"),
        ("shop/records/__init__.py", "import wetrun.shop.pages", "Inside the shop, arrows point down too"),
        ("cli/__init__.py", "import django", "The command line never imports Django"),
    ],
)
def test_each_contract_is_broken_by_what_it_forbids(house_copy: Path, module: str, line: str, contract: str) -> None:
    changed = house_copy / "src" / "wetrun" / module
    changed.parent.mkdir(exist_ok=True)
    before = changed.read_text(encoding="utf-8") if changed.exists() else ""
    changed.write_text(f"{before}\n{line}\n", encoding="utf-8")
    done = arrows_in(house_copy)
    assert done.returncode == 1, done.stdout + done.stderr
    assert any(contract in row and "BROKEN" in row for row in done.stdout.splitlines()), done.stdout


def test_every_room_stands_in_the_contracts_that_concern_it() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    contracts = {contract["name"]: contract for contract in settings["contracts"]}
    below = next(c for name, c in contracts.items() if name.startswith("The rooms below quantity"))
    built = {f"wetrun.{room}" for room in ROOMS_BELOW_QUANTITY if (SOURCE / room).is_dir()}
    assert built | {"wetrun.errors", "wetrun.percent", "wetrun.sources", "wetrun.units"} == set(below["source_modules"])
    doors = {f"wetrun.{room}" for room in ("cli", "fleet", "shop") if (SOURCE / room).is_dir()}
    assert doors == set(contracts["Only cli, shop and fleet reach the log readers"]["allowed_importers"])


def doors_opened(source: str) -> Iterator[str]:
    """Clocks, files and the environment reached through what a room may import, such as `datetime` for its dates."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and node.attr in CLOCKS_AND_DOORS:
            yield f"line {node.lineno}: .{node.attr}"
        if isinstance(node, ast.Name) and node.id in {"open", "input", "print"}:
            yield f"line {node.lineno}: {node.id}"


def test_rooms_below_quantity_read_no_clock_file_or_environment() -> None:
    modules = [path for room in ROOMS_BELOW_QUANTITY for path in (SOURCE / room).rglob("*.py")]
    ours = [path for path in modules if "readers" not in path.parts]
    found = [f"{p.relative_to(SOURCE)} {door}" for p in ours for door in doors_opened(p.read_text(encoding="utf-8"))]
    assert len(ours) > 10
    assert not found, "\n".join(found)


@pytest.mark.parametrize("line", ["date.today()", "open('x')", "os.environ['X']", "datetime.now(UTC)"])
def test_the_search_for_doors_finds_one(line: str) -> None:
    assert len(list(doors_opened(line))) == 1


def test_the_lock_names_no_registry_and_pins_every_requirement_with_a_hash() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    pins = [entry for entry in lock.replace("\\\n", " ").splitlines() if entry.strip()]
    assert not any(word in lock.lower() for word in ("http", "index", "find-links", " @ "))
    assert len(pins) > 30
    assert all("==" in pin and "--hash=sha256:" in pin for pin in pins)


def test_every_decision_has_a_number_of_its_own_and_bears_it_in_its_title() -> None:
    found = sorted((ROOT / "docs" / "adr").glob("[0-9]*.md"))
    numbers = [path.name.split("-")[0] for path in found]
    assert numbers == [f"{n:04d}" for n in range(1, len(found) + 1)]
    assert [path.read_text(encoding="utf-8").split()[1] for path in found] == numbers
