"""Reads a changeover file: two tanks, the machine between them, water, labels and record, checked as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from wetrun.changeover.question import ChangeoverQuestion
from wetrun.documents.changeover_build import question_of
from wetrun.documents.changeover_entry import CHANGEOVER_VERSION, ChangeoverEntry
from wetrun.documents.changeover_tanks import tanks_of
from wetrun.documents.preamble import check_version, entry_in
from wetrun.documents.refusals import Document
from wetrun.documents.text_file import text_of_file
from wetrun.documents.toml_text import parsed_toml
from wetrun.documents.typed_texts import typed_texts
from wetrun.documents.wetrun_ground import Building
from wetrun.errors import InputProblems
from wetrun.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeoverFile:
    """A clean-out and what stands beside it in its file.

    Attributes
    ----------
    path : Path
        Where it was read.
    title : str
        Its title.
    customer : str
        Of its season; empty without one.
    question : ChangeoverQuestion
        What is asked.
    typed : mapping of str
        Every quantity's text by its full key, such as ``plumbing.measured[1].volume``.
    units : System
        The unit system the file asks for.
    """

    path: Path
    title: str
    customer: str
    question: ChangeoverQuestion
    typed: Mapping[str, str]
    units: System


def read_changeover(path: Path) -> ChangeoverFile:
    """Return the clean-out of a file.

    Parameters
    ----------
    path : Path
        A TOML file; names inside it are relative to its folder.

    Returns
    -------
    ChangeoverFile
        Question and typed texts. A circuit no valve reaches, and a level that is out of reach, are results later on.

    Raises
    ------
    InputProblems
        Everything wrong in it, and in the season it names, at once.
    """
    document = Document(path.name, parsed_toml(path, text_of_file(path)), ChangeoverEntry)
    check_version(document, CHANGEOVER_VERSION)
    entry, system = entry_in(document, ChangeoverEntry)
    building = Building(document, system)
    tanks = tanks_of(entry, path.parent, building)
    question = None if tanks is None else question_of(entry, tanks, building)
    if tanks is None or question is None or building.problems:
        raise InputProblems(building.problems)
    return ChangeoverFile(
        path=path,
        title=entry.title,
        customer=tanks.customer,
        question=question,
        typed=typed_texts(entry),
        units=system,
    )
