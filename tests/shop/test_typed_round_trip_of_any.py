"""Whatever a document holds, right or wrong, a sheet that nobody touched gives it back."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from datetime import UTC, date
from functools import cache
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.shop.test_typed_round_trip import DOCUMENTS, page_of, sent_back

from wetrun.quantity import System
from wetrun.shop.typed.sheet import Sheet

TEXTS = st.sampled_from(
    [
        "",
        " ",
        "15",
        "15,5 bar",
        " 20 in ",
        "a\nb",
        "\n",
        "tab\there",
        "\r",
        "x\x00y",
        "“quoted” & <b>",
        "none",
        "a, b; c",
        "on",
        "0",
    ]
) | st.text(alphabet=st.characters(codec="utf-8"), max_size=20)
LEAVES = (
    TEXTS
    | st.booleans()
    | st.integers(-(10**20), 10**20)
    | st.floats()
    | st.dates(date(1, 1, 1))
    | st.datetimes(timezones=st.just(UTC))
    | st.datetimes()
)
VALUES = st.recursive(
    LEAVES, lambda inside: st.lists(inside, max_size=3) | st.dictionaries(TEXTS, inside, max_size=3), max_leaves=4
)


Place = tuple[Any, ...]


@cache
def _documents() -> list[Any]:
    found = []
    for path, key, entry in DOCUMENTS:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        found.append((document[key] if key else document, entry))
    return found


def _places(value: Any, place: Place = ()) -> list[Place]:
    """Every place of a document, its own left out."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for step, inner in steps for found in ((*place, step), *_places(inner, (*place, step)))]


def _holder(document: Any, place: Place) -> Any:
    for step in place[:-1]:
        document = document[step]
    return document


@st.composite
def changed_documents(draw: st.DrawFn) -> tuple[dict[str, Any], Any]:
    """A document of ours with keys and rows dropped, doubled or put in place by anything at all."""
    raw, entry = draw(st.sampled_from(_documents()))
    raw = deepcopy(raw)
    for _ in range(draw(st.integers(1, 8))):
        place = draw(st.sampled_from(_places(raw)))
        holder, last = _holder(raw, place), place[-1]
        what = draw(st.sampled_from(["drop", "double", "put", "add"]))
        if what == "drop":
            del holder[last]
        elif what == "double" and isinstance(holder, list):
            holder.insert(last, deepcopy(holder[last]))
        elif what == "add" and isinstance(holder, dict):
            holder[draw(TEXTS)] = draw(VALUES)
        else:
            holder[last] = draw(VALUES)
        if not _places(raw):
            break
    return raw, entry


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(changed_documents(), st.sampled_from(System))
def test_any_document_comes_back_as_it_was(changed: tuple[dict[str, Any], Any], system: System) -> None:
    raw, entry = changed
    sheet = sent_back(entry, raw, system)
    assert repr(sheet.document) == repr(raw)
    sheet.is_ok()
    assert page_of(Sheet(entry, raw=raw, system=system)) == page_of(Sheet(entry, raw=sheet.document, system=system))
