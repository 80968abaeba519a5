"""What every document is read by: the version of its format, the units it asks for, its tables as a whole."""

from __future__ import annotations

from typing import TypeVar

from pydantic import BaseModel, ValidationError

from wetrun.documents.refusals import Document, problems_of, shown_value
from wetrun.errors import InputProblems, Problem
from wetrun.quantity import System

Model = TypeVar("Model", bound=BaseModel)


def check_version(document: Document, newest: int) -> None:
    """Refuse a newer version before anything else: its keys would only be misunderstood.

    Parameters
    ----------
    document : Document
        The file as parsed.
    newest : int
        The newest version of its format that is read here.

    Raises
    ------
    InputProblems
        If it is newer.
    """
    version = document.raw.get("format_version")
    if isinstance(version, int) and not isinstance(version, bool) and version > newest:
        limit = f"this Wetrun reads format_version {newest}"
        remedy = "Use a newer Wetrun for this file."
        raise InputProblems([Problem(document.file, "format_version", shown_value(version), limit, remedy)])


def system_asked(document: Document) -> System:
    """Return the unit system a document asks for; US customary unless it says ``units = "si"``."""
    return System.SI if document.raw.get("units") == "si" else System.US


def entry_in(document: Document, model: type[Model]) -> tuple[Model, System]:
    """Return a document's tables as a whole, and the units it asks for.

    Parameters
    ----------
    document : Document
        As parsed; its version was looked at.
    model : type of BaseModel
        What it should be.

    Returns
    -------
    tuple of BaseModel and System
        What was typed, every key of it known and readable.

    Raises
    ------
    InputProblems
        Everything wrong in it at once.
    """
    system = system_asked(document)
    try:
        return model.model_validate(document.raw, context={"system": system}), system
    except ValidationError as refused:
        raise InputProblems(problems_of(refused, document)) from None
