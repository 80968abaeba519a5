"""The published JSON Schema of a wet-run file, generated from the same entries that read it."""

from __future__ import annotations

from typing import Any

from wetrun.documents.season_schema import schema_of_entry
from wetrun.documents.wetrun_entry import WETRUN_VERSION, WetRunEntry


def wetrun_schema() -> dict[str, Any]:
    """Return the JSON Schema of a wet-run file.

    Returns
    -------
    dict
        Draft 2020-12. What links several tables, such as a reading beyond the boom, is checked on reading only.
    """
    return schema_of_entry(WetRunEntry, f"Wetrun wet-run file, format_version {WETRUN_VERSION}")
