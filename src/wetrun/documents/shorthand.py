"""A table that may also be written as one value, and pairs of values that must rise."""

from __future__ import annotations

from typing import Any

from pydantic import GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema

from wetrun.documents.entry import Entry
from wetrun.documents.refusing import refuse
from wetrun.quantity import Typed


class Shorthand(Entry):
    """A table that may also be written as the one value that matters most; a subclass names its key."""

    @classmethod
    def shorthand_key(cls) -> str:
        """Return the key a bare value stands for, the table's first."""
        return next(iter(cls.model_fields))

    @model_validator(mode="before")
    @classmethod
    def _from_a_bare_value(cls, value: object) -> object:
        return value if isinstance(value, dict) else {cls.shorthand_key(): value}

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        table = handler.resolve_ref_schema(handler(schema))
        return {"anyOf": [table["properties"][cls.shorthand_key()], table]}


def check_rising(**pair: Typed | None) -> None:
    """Refuse a pair whose first is above its second.

    Parameters
    ----------
    **pair : Typed or None
        Two values of one kind by their keys in the table, the lower first; one that is left out is not compared.

    Raises
    ------
    PydanticCustomError
        The first is above the second.
    """
    (low_key, low), (high_key, high) = pair.items()
    if low is not None and high is not None and low.si_value > high.si_value:
        limit = f"{low_key} ({low.text}) must not be above {high_key} ({high.text})"
        raise refuse(limit, "Correct one of the two", at=low_key)
