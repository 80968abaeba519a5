"""Data of papers as they are kept: what comes out of a record is what went in."""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import Any


def plain(data: Any) -> Any:  # noqa: ANN401 - JSON has no better type
    """Return the same data as lists, dicts, texts and numbers; numbers without end become None.

    Example
    -------
    >>> plain({"rows": (("a", 1.5), ("b", float("inf")))})
    {'rows': [['a', 1.5], ['b', None]]}
    """
    if isinstance(data, Mapping):
        return {str(key): plain(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [plain(value) for value in data]
    if isinstance(data, float):
        return float(data) if isfinite(data) else None
    return str(data) if isinstance(data, str) else data
