"""Sheets with something typed in, for the tests of the shop's forms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import QueryDict
from django.template.loader import render_to_string
from pydantic import BaseModel
from tests.shop.form_reading import sent_by

from wetrun.quantity import System
from wetrun.shop.typed.sheet import Sheet

MACHINE: dict[str, Any] = {
    "name": "Number 7",
    "boom": {"spacing": "20 in", "sections": [8, 8, 8]},
    "control": {"loop": "flow meter"},
}
PASS: dict[str, Any] = {
    "name": "Burndown",
    "crop": "soybeans",
    "area": "160 ac",
    "first": "2027-04-15",
    "last": "2027-05-10",
    "carrier": "water",
    "rate": "15 gal/ac",
    "product": [{"name": "Clearground", "rate": "32 fl oz/ac"}, {"name": "Clingwell", "in_spray": "0.25 % v/v"}],
}


def page_of(sheet: Sheet) -> str:
    return render_to_string("typed/sheet.html", {"sheet": sheet})


def typed_in(
    entry: type[BaseModel],
    raw: Mapping[str, Any],
    typed: Mapping[str, str | Sequence[str] | None],
    system: System = System.US,
    **options: Any,
) -> Sheet:
    """The sheet of a page on which somebody typed: texts by key, None for a box that was emptied of its name."""
    posted = sent_by(page_of(Sheet(entry, raw=raw, system=system, **options)))
    return Sheet(entry, raw=raw, system=system, posted=laid(posted, typed), **options)


def laid(posted: QueryDict, typed: Mapping[str, str | Sequence[str] | None]) -> QueryDict:
    for key, text in typed.items():
        name = key if key.startswith("__") else f"sheet.{key}"
        if text is None:
            posted.pop(name, None)
        else:
            posted.setlist(name, [text] if isinstance(text, str) else list(text))
    return posted


def again(sheet: Sheet, typed: Mapping[str, str | Sequence[str] | None]) -> QueryDict:
    """What the browser sends next, of the page this sheet makes."""
    return laid(sent_by(page_of(sheet)), typed)
