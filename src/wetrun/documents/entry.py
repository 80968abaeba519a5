"""What every table of a document has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Entry(BaseModel):
    """A table of a document: no key it does not know, nothing turned silently into another type."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)
