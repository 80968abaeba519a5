"""The published JSON Schema of a changeover file, generated from the same entries that read it."""

from __future__ import annotations

from typing import Any

from wetrun.documents.changeover_entry import CHANGEOVER_VERSION, ChangeoverEntry
from wetrun.documents.season_schema import schema_of_entry


def changeover_schema() -> dict[str, Any]:
    """Return the JSON Schema of a changeover file.

    Returns
    -------
    dict
        Draft 2020-12. What links several tables, such as a circuit the machine has not, is checked on reading only.
    """
    return schema_of_entry(ChangeoverEntry, f"Wetrun changeover file, format_version {CHANGEOVER_VERSION}")
