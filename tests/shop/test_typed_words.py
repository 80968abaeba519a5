"""Every field of every document has words of the trade, and no words are left without their field."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pydantic import BaseModel

from wetrun.documents.changeover_entry import ChangeoverEntry
from wetrun.documents.fields import Quantity
from wetrun.documents.season_entry import SeasonEntry
from wetrun.documents.wetrun_entry import WetRunEntry
from wetrun.quantity import read
from wetrun.shop.typed.annotated import keys_of
from wetrun.shop.typed.choices import Choice, Several
from wetrun.shop.typed.faces import Say
from wetrun.shop.typed.keys import Key, Pairs, Rows, Table, Unknown
from wetrun.shop.typed.layouts import LAYOUT
from wetrun.shop.typed.listed import Listed
from wetrun.shop.typed.offers import usual_offers
from wetrun.shop.typed.takes import Amount

OF_PAGES = {"tips", "passes", "crops", "catalogues", "circuits", "published"}
"""Suggestions a page hands over."""
NOT_SHOWN = {"format_version"}


def _entries(entry: type[BaseModel], seen: set[type[BaseModel]]) -> set[type[BaseModel]]:
    if entry not in seen:
        seen.add(entry)
        for key in keys_of(entry):
            if isinstance(key.take, Table | Rows):
                _entries(key.take.entry if isinstance(key.take, Table) else key.take.table.entry, seen)
    return seen


ENTRIES = sorted(
    set().union(*(_entries(entry, set()) for entry in (SeasonEntry, WetRunEntry, ChangeoverEntry))),
    key=lambda entry: (entry.__module__, entry.__name__),
)


def _keys(entry: type[BaseModel]) -> list[Key]:
    return [key for key in keys_of(entry) if key.name not in NOT_SHOWN]


def _said(entry: type[BaseModel], key: Key) -> Say:
    found = LAYOUT.face(entry).say(key.name)
    assert found is not None, f"{entry.__name__}.{key.name} has no words"
    return found


def _amount(key: Key) -> Quantity | None:
    take = key.take
    inner = take.item if isinstance(take, Listed | Pairs) else take
    return inner.quantity if isinstance(inner, Amount) else None


def test_the_entries_of_all_documents_are_found() -> None:
    assert len(ENTRIES) > 70
    assert sum(len(_keys(entry)) for entry in ENTRIES) > 380


def _name(entry: type[BaseModel]) -> str:
    return entry.__name__


@pytest.mark.parametrize("entry", ENTRIES, ids=_name)
def test_every_field_has_a_label_and_the_words_of_its_choices(entry: type[BaseModel]) -> None:
    for key in _keys(entry):
        said = _said(entry, key)
        assert str(said.label)[:1].isupper()
        assert "_" not in str(said.label)
        assert not said.help or str(said.help).endswith(".")
        assert not isinstance(key.take, Unknown)
        options = key.take.options if isinstance(key.take, Choice | Several) else ()
        assert set(said.choices) <= set(options)
        assert said.offer in {"", *usual_offers(), *OF_PAGES}
        assert bool(said.one) is isinstance(key.take, Rows | Pairs)


@pytest.mark.parametrize("entry", ENTRIES, ids=_name)
def test_units_of_its_own_are_units_a_field_reads(entry: type[BaseModel]) -> None:
    for key in _keys(entry):
        units, quantity = _said(entry, key).units, _amount(key)
        for unit in units or ():
            assert quantity is not None
            assert read(f"1 {unit}", quantity.asks[0].kind).si_value > 0


def test_no_words_are_left_without_a_field() -> None:
    for entry, face in LAYOUT.faces.items():
        known = {key.name for key in keys_of(entry)}
        assert {*face.first, *face.more} <= known, entry.__name__
        assert not {*face.first} & {*face.more}, entry.__name__
        assert face.named_by == "name" or face.named_by in known, entry.__name__


def _labels(entry: type[BaseModel]) -> Iterator[str]:
    face = LAYOUT.face(entry)
    return (str(said.label) for said in (*face.first.values(), *face.more.values()))


@pytest.mark.parametrize("entry", ENTRIES, ids=_name)
def test_no_two_fields_of_a_table_are_called_alike(entry: type[BaseModel]) -> None:
    labels = list(_labels(entry))
    assert len(labels) == len(set(labels))
