"""The published JSON Schema of a season file, generated from the same entries that read it."""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel

from wetrun.documents.season_entry import FORMAT_VERSION, SeasonEntry


def season_schema() -> dict[str, Any]:
    """Return the JSON Schema of a season file.

    Returns
    -------
    dict
        Draft 2020-12. Keys that may be left out have no null: TOML knows none. What links several tables, such as
        a hold below the relief valve, is checked on reading only.
    """
    return schema_of_entry(SeasonEntry, f"Wetrun season file, format_version {FORMAT_VERSION}")


def schema_of_entry(entry: type[BaseModel], title: str) -> dict[str, Any]:
    """Return the JSON Schema of a document.

    Parameters
    ----------
    entry : type of BaseModel
        What reads it.
    title : str
        What it is.

    Returns
    -------
    dict
        Draft 2020-12, without nulls.
    """
    schema: dict[str, Any] = _without_null(entry.model_json_schema(by_alias=True))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        **{key: value for key, value in schema.items() if key != "title"},
    }


def schema_text(schema: dict[str, Any] | None = None) -> str:
    """Return a schema as it is published.

    Parameters
    ----------
    schema : dict or None
        None takes that of a season file.

    Returns
    -------
    str
        JSON with a line end.
    """
    return json.dumps(season_schema() if schema is None else schema, indent=2, ensure_ascii=False) + "\n"


def _without_null(node: Any) -> Any:  # noqa: ANN401 - JSON has no closer type
    if isinstance(node, list):
        return [_without_null(each) for each in node]
    if not isinstance(node, dict):
        return node
    kept = {key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)}
    choices = kept.get("anyOf")
    if isinstance(choices, list) and {"type": "null"} in choices:
        left = [choice for choice in choices if choice != {"type": "null"}]
        del kept["anyOf"]
        return {**kept, **(left[0] if len(left) == 1 else {"anyOf": left})}
    return kept
