"""Reads a season file: the customer's machine and passes, checked as a whole, with every quantity as it was typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from wetrun.documents.catalogue_file import read_catalogue
from wetrun.documents.order_checks import check_order
from wetrun.documents.preamble import check_version, system_asked
from wetrun.documents.refusals import Document, problems_of, shown_value
from wetrun.documents.season_build import season_of_entry
from wetrun.documents.season_checks import check_files, check_fits, check_passes, check_tips, is_there
from wetrun.documents.season_entry import FORMAT_VERSION, SeasonEntry
from wetrun.documents.text_file import text_of_file
from wetrun.documents.toml_text import parsed_toml
from wetrun.documents.typed_texts import typed_texts
from wetrun.errors import InputProblems, Problem
from wetrun.machine.catalogue import catalogue
from wetrun.machine.tip import Tip
from wetrun.planning.passes import Season
from wetrun.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonFile:
    """A season and what stands beside it in its file.

    Attributes
    ----------
    path : Path
        Where it was read.
    season : Season
        The records.
    catalogue : tuple of Tip
        Built-in tips, then the imported ones.
    typed : mapping of str
        Every quantity's text by its full key, such as ``pass[1].rate.target``.
    log_paths : mapping of tuple of Path
        Field logs by name of pass; passes without logs are left out.
    log_maps : mapping of Path
        Maps of log columns by name of pass.
    units : System
        The unit system the file asks for.
    """

    path: Path
    season: Season
    catalogue: tuple[Tip, ...]
    typed: Mapping[str, str]
    log_paths: Mapping[str, tuple[Path, ...]]
    log_maps: Mapping[str, Path]
    units: System


def read_season(path: Path, *, logs_needed: bool = True) -> SeasonFile:
    """Return the season of a file.

    Parameters
    ----------
    path : Path
        A TOML file; names inside it are relative to its folder.
    logs_needed : bool
        False if its field logs are not going to be read, so that they need not be there.

    Returns
    -------
    SeasonFile
        Season, catalogue, typed texts and logs.

    Raises
    ------
    InputProblems
        Everything wrong in it, and in the catalogue it names, at once.
    """
    document = Document(path.name, parsed_toml(path, text_of_file(path)), SeasonEntry)
    check_version(document, FORMAT_VERSION)
    context = {"system": system_asked(document)}
    entry, problems = _entry(document, context)
    tips, wrong = _tips(document, path.parent)
    problems += (
        *wrong,
        *check_passes(document),
        *check_order(document),
        *(check_files(document, path.parent) if logs_needed else ()),
    )
    if not wrong:  # a tip of a catalogue that could not be read would be called unknown
        problems += (*check_tips(document, tips), *check_fits(document, tips))
    if entry is None or problems:
        raise InputProblems(problems)
    return _season_file(path, entry, tips)


def _entry(document: Document, context: dict[str, Any]) -> tuple[SeasonEntry | None, tuple[Problem, ...]]:
    try:
        return SeasonEntry.model_validate(document.raw, context=context), ()
    except ValidationError as refused:
        return None, problems_of(refused, document)


def _tips(document: Document, folder: Path) -> tuple[tuple[Tip, ...], tuple[Problem, ...]]:
    plan = document.raw.get("plan")
    name = plan.get("catalogue") if isinstance(plan, dict) else None
    if not isinstance(name, str) or not name.strip():
        return catalogue(), ()
    if not is_there(folder / name.strip()):
        remedy = f"Check the name; it is looked for beside {document.file}."
        return catalogue(), (
            Problem(document.file, "plan.catalogue", shown_value(name), "there is no such file", remedy),
        )
    try:
        return (*catalogue(), *read_catalogue(folder / name.strip())), ()
    except InputProblems as wrong:
        return catalogue(), wrong.problems


def _season_file(path: Path, entry: SeasonEntry, tips: tuple[Tip, ...]) -> SeasonFile:
    return SeasonFile(
        path=path,
        season=season_of_entry(entry),
        catalogue=tips,
        typed=dict(typed_texts(entry)),
        log_paths={each.name: tuple(path.parent / log for log in each.logs) for each in entry.passes if each.logs},
        log_maps={each.name: path.parent / each.log_map for each in entry.passes if each.log_map is not None},
        units=System(entry.units),
    )
