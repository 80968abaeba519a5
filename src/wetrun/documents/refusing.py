"""How a validator refuses a value: the limit and the remedy as data; the place is known only further out."""

from __future__ import annotations

from typing import Final

from pydantic import ValidationInfo
from pydantic_core import PydanticCustomError

from wetrun.quantity import System

REFUSED: Final = "refused"


def refuse(limit: str, remedy: str, *, at: str = "") -> PydanticCustomError:
    """Return the refusal of a value.

    Parameters
    ----------
    limit, remedy : str
        What it must be, and what to write instead.
    at : str
        The key inside a table, if the table as a whole is checked.

    Returns
    -------
    PydanticCustomError
        Ready to raise inside a validator.
    """
    return PydanticCustomError(REFUSED, "{limit}", {"limit": limit, "remedy": remedy, "at": at})


def system_of(info: ValidationInfo) -> System:
    """Return the unit system the document is written in.

    Parameters
    ----------
    info : ValidationInfo
        What a validator is told.

    Returns
    -------
    System
        US customary unless the document says otherwise.
    """
    context = info.context or {}
    return System(context.get("system", System.US))
