"""Checks of a season file that look across tables.

They look at what was typed, not at what was accepted, so that a slip elsewhere does not keep them back: everything
wrong is told at once. What they cannot read they leave to the field's own check.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from difflib import get_close_matches
from pathlib import Path

from wetrun.documents.family_words import FAMILY_WORDS, family_named
from wetrun.documents.refusals import Document, Place, key_of_place, shown_value, typed_at
from wetrun.errors import NotDefined, Problem, QuantityRefused
from wetrun.machine.catalogue import tip_named
from wetrun.machine.tip import Tip
from wetrun.quantity import Kind, System, read, show
from wetrun.units import Pa


def check_passes(document: Document) -> Iterator[Problem]:
    """Yield what is wrong with the passes: names that repeat, days out of order.

    Parameters
    ----------
    document : Document
        What was typed.

    Yields
    ------
    Problem
        With its key.
    """
    seen: dict[str, int] = {}
    for at, typed in enumerate(_list_at(document, ("pass",))):
        if not isinstance(typed, dict):
            continue
        name = typed.get("name")
        if isinstance(name, str):
            before = seen.setdefault(" ".join(name.casefold().split()), at)
            if before != at:
                limit = f"pass[{before + 1}] has the same name"
                yield _problem(document, ("pass", at, "name"), limit, "Give every pass a name of its own.")
        first, last = _day(typed.get("first")), _day(typed.get("last"))
        if first and last and first > last:
            yield _problem(
                document, ("pass", at, "first"), f"it is after last ({last})", "Correct one of the two days."
            )


def check_tips(document: Document, tips: tuple[Tip, ...]) -> Iterator[Problem]:
    """Yield a problem for each tip that is not in the catalogue or can never open.

    Parameters
    ----------
    document : Document
        What was typed.
    tips : tuple of Tip
        Built-in and imported tips.

    Yields
    ------
    Problem
        With the nearest idents.
    """
    valve_pa = _check_valve_pa(document)
    for place in _named_tips(document):
        ident = typed_at(document.raw, place)
        if not isinstance(ident, str):
            continue
        try:
            tip = tip_named(tips, ident.strip())
        except NotDefined as unknown:
            yield _problem(document, place, unknown.reason, unknown.remedy)
            continue
        if place[0] == "machine" and valve_pa is not None and valve_pa >= tip.high_pa:
            highest = " or ".join(show(tip.high_pa, Kind.PRESSURE, system) for system in System)
            limit = f"the check valve opens only above this tip's greatest pressure ({highest})"
            yield _problem(document, place, limit, "Correct machine.check_valve, or the tip.")


def check_fits(document: Document, tips: tuple[Tip, ...]) -> Iterator[Problem]:
    """Yield a problem for each word of a pass's ``fit`` that is neither a family nor a tip.

    Parameters
    ----------
    document : Document
        What was typed.
    tips : tuple of Tip
        Built-in and imported tips.

    Yields
    ------
    Problem
        With the nearest families and idents.
    """
    known = {*FAMILY_WORDS, *(tip.ident for tip in tips)}
    for place in _fits(document):
        word = typed_at(document.raw, place)
        if not isinstance(word, str) or family_named(word) is not None or " ".join(word.split()) in known:
            continue
        near = get_close_matches(word.casefold(), sorted(known), n=3)
        meant = f"Did you mean {' or '.join(f'“{each}”' for each in near)}? " if near else ""
        remedy = f"{meant}Families are {', '.join(FAMILY_WORDS)}; `wetrun tips list` shows every tip."
        yield _problem(document, place, "no family of tips and no tip in the catalogue is called that", remedy)


def check_files(document: Document, folder: Path) -> Iterator[Problem]:
    """Yield a problem for each log or map of columns that is not there.

    Parameters
    ----------
    document : Document
        What was typed.
    folder : Path
        Where relative names start.

    Yields
    ------
    Problem
        With the name as typed.
    """
    for at in range(len(_list_at(document, ("pass",)))):
        logs: list[Place] = [
            ("pass", at, "logs", each) for each in range(len(_list_at(document, ("pass", at, "logs"))))
        ]
        for place in (*logs, ("pass", at, "log_map")):
            name = typed_at(document.raw, place)
            if isinstance(name, str) and not is_there(folder / name.strip()):
                remedy = f"Check the name; it is looked for beside {document.file}."
                yield _problem(document, place, "there is no such file", remedy)


def is_there(path: Path) -> bool:
    """Return whether a file is there, whatever its name holds.

    Parameters
    ----------
    path : Path
        Where it should be.

    Returns
    -------
    bool
        False also for a folder.
    """
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _problem(document: Document, place: Place, limit: str, remedy: str) -> Problem:
    typed = typed_at(document.raw, place)
    value = "" if typed is None else shown_value(typed)
    return Problem(document.file, key_of_place(document.raw, place), value, limit, remedy)


def _named_tips(document: Document) -> Iterator[Place]:
    for table in (("machine", "boom", "odd"), ("machine", "owned")):
        yield from ((*table, at, "tip") for at in range(len(_list_at(document, table))))
    for at in range(len(_list_at(document, ("pass",)))):
        at_once: Place = ("pass", at, "at_once")
        yield from ((*at_once, each) for each in range(len(_list_at(document, at_once))))
        for product in range(len(_list_at(document, ("pass", at, "product")))):
            tips: Place = ("pass", at, "product", product, "tips")
            for each, typed in enumerate(_list_at(document, tips)):
                yield (*tips, each) if isinstance(typed, str) else (*tips, each, "tip")


def _fits(document: Document) -> Iterator[Place]:
    for at in range(len(_list_at(document, ("pass",)))):
        words = _list_at(document, ("pass", at, "fit"))
        yield from (("pass", at, "fit", each) for each in range(len(words))) if words else [("pass", at, "fit")]


def _list_at(document: Document, place: Place) -> list[object]:
    typed = typed_at(document.raw, place)
    return typed if isinstance(typed, list) else []


def _day(typed: object) -> date | None:
    if isinstance(typed, str):
        try:
            return date.fromisoformat(typed)
        except ValueError:
            return None
    return typed if isinstance(typed, date) and not isinstance(typed, datetime) else None


def _check_valve_pa(document: Document) -> Pa | None:
    """Opening pressure as typed [Pa]; None if it cannot be read."""
    typed = typed_at(document.raw, ("machine", "check_valve"))
    try:
        return read(typed, Kind.PRESSURE).si_value if isinstance(typed, str) else None
    except QuantityRefused:
        return None
