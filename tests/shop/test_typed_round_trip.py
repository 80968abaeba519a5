"""A sheet that nobody touched gives back the very document it was made of, type for type."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from django.template.loader import render_to_string
from pydantic import BaseModel
from tests.shop.form_reading import ids_of, sent_by

import wetrun.documents
from wetrun.documents.changeover_entry import ChangeoverEntry
from wetrun.documents.load_entry import FilledMachineEntry
from wetrun.documents.machine_entry import MachineEntry
from wetrun.documents.season_entry import SeasonEntry
from wetrun.documents.wetrun_entry import WetRunEntry
from wetrun.quantity import System
from wetrun.shop.typed.sheet import Sheet

DEMO = Path(__file__).parents[2] / "demo"
EXAMPLES = Path(wetrun.documents.__file__).parent
DOCUMENTS: list[tuple[Path, str, type[BaseModel]]] = [
    (DEMO / "season.toml", "", SeasonEntry),
    (DEMO / "wetrun.toml", "", WetRunEntry),
    (DEMO / "changeover.toml", "", ChangeoverEntry),
    (EXAMPLES / "example_season.toml", "", SeasonEntry),
    (EXAMPLES / "example_wetrun.toml", "", WetRunEntry),
    (EXAMPLES / "example_changeover.toml", "", ChangeoverEntry),
    (DEMO / "season.toml", "machine", FilledMachineEntry),
    (EXAMPLES / "example_season.toml", "machine", FilledMachineEntry),
    (EXAMPLES / "example_wetrun.toml", "machine", MachineEntry),
]


def page_of(sheet: Sheet) -> str:
    return render_to_string("typed/sheet.html", {"sheet": sheet})


def sent_back(entry: type[BaseModel], raw: dict[str, Any], system: System = System.US) -> Sheet:
    """The sheet that comes of a page nobody touched."""
    return Sheet(entry, raw=raw, system=system, posted=sent_by(page_of(Sheet(entry, raw=raw, system=system))))


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize(("path", "key", "entry"), DOCUMENTS, ids=lambda value: getattr(value, "name", str(value)))
def test_a_document_comes_back_as_it_was(path: Path, key: str, entry: type[BaseModel], system: System) -> None:
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    raw = document[key] if key else document
    sheet = sent_back(entry, raw, system)
    assert repr(sheet.document) == repr(raw)  # an equal dict, in the same order, of the same types
    assert sheet.is_ok()


@pytest.mark.parametrize(("path", "key", "entry"), DOCUMENTS, ids=lambda value: getattr(value, "name", str(value)))
def test_every_id_of_a_page_is_its_own(path: Path, key: str, entry: type[BaseModel]) -> None:
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    ids = ids_of(page_of(Sheet(entry, raw=document[key] if key else document)))
    assert len(ids) > 20
    assert sorted(ids) == sorted(set(ids))
