"""The published JSON Schema of a fills file, generated from the same entries that read it."""

from __future__ import annotations

from typing import Any

from wetrun.documents.fills_entry import FILLS_VERSION, FillsEntry
from wetrun.documents.season_schema import schema_of_entry


def fills_schema() -> dict[str, Any]:
    """Return the JSON Schema of a fills file.

    Returns
    -------
    dict
        Draft 2020-12. What links several keys, such as a scale ticket without a density, is checked on reading only.
    """
    return schema_of_entry(FillsEntry, f"Wetrun fills file, format_version {FILLS_VERSION}")
