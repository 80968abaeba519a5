"""What is looked at in every document before its tables: the version of its format, and the units it asks for."""

from __future__ import annotations

from wetrun.documents.refusals import Document, shown_value
from wetrun.errors import InputProblems, Problem
from wetrun.quantity import System


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
