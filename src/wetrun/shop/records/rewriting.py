"""Goes through every text of some rows and puts pseudonyms where names stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from django.db import models
from django.db.models.functions import Cast

from wetrun.shop.document_field import DocumentField, document_of, document_text
from wetrun.shop.records.pseudonyms import Pseudonyms

HANDED_IN: Final = "received"
"""Column of a file as it was handed in."""
ROWS_AT_ONCE: Final = 50


def rewritten(model: type[models.Model], rows: models.QuerySet[models.Model], names: Pseudonyms) -> int:
    """Put pseudonyms where names stand, in every text and document of some rows.

    Parameters
    ----------
    model : type of Model
        Their kind.
    rows : QuerySet
        Which.
    names : Pseudonyms
        What stands for what.

    Returns
    -------
    int
        How many rows held a name. Their version and clock stay: nobody typed anything.
    """
    columns = [field for field in model._meta.concrete_fields if holds_words(field)]
    count = 0
    for key, texts in _texts(rows, columns):
        new = {
            field.name: text for field in columns if (text := _new_text(field, texts[field.name], names)) is not None
        }
        if new:
            model._default_manager.filter(pk=key).update(**new)
            count += 1
    return count


def holds_words(field: models.Field[Any, Any]) -> bool:
    """Return whether a column holds words somebody typed, or that were made of them."""
    is_text = isinstance(field, (models.CharField, models.TextField))
    return is_text and not field.choices and not field.primary_key and not field.is_relation


def _texts(
    rows: models.QuerySet[models.Model], columns: list[models.Field[Any, Any]]
) -> Iterator[tuple[object, Mapping[str, str | None]]]:
    # As text, documents too: most hold no name, and reading them all as documents would take minutes.
    raw = {f"raw_{field.name}": Cast(field.name, models.TextField()) for field in columns}
    found = rows.order_by().annotate(**raw).values("pk", *raw)
    # Read whole before anything is written: a row that changes under a cursor may come twice, or never.
    keys = list(found.values_list("pk", flat=True))
    for start in range(0, len(keys), ROWS_AT_ONCE):
        for row in found.filter(pk__in=keys[start : start + ROWS_AT_ONCE]):
            yield row["pk"], {name.removeprefix("raw_"): row[name] for name in raw}


def _new_text(field: models.Field[Any, Any], text: str | None, names: Pseudonyms) -> Any:  # noqa: ANN401
    """Return what a column shall hold, or None if it may stay."""
    if not text or not (names.found_in(text) or "\\" in text):
        return None
    if isinstance(field, DocumentField):
        document = document_of(text)
        clean = names.document(document)
        return clean if document_text(clean) != document_text(document) else None
    clean = names.handed_in(text) if field.name == HANDED_IN else names.line(text)
    return clean[: field.max_length] if clean != text else None
