"""What the user asked for when a log is to be read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS, Limits
from wetrun.fieldlog.readers.mapping import ColumnMapping

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class ReadRequest:
    """The column map given, the limits, and whom to tell the share of a file that is read, 0 to 1."""

    mapping: ColumnMapping | None = None
    limits: Limits = DEFAULT_LIMITS
    progress: Progress | None = None


PLAIN_REQUEST: Final = ReadRequest()
