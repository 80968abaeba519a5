"""A wet-run or changeover file that was handed in for a machine: which season it stands on, what it says; then kept."""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from wetrun.documents.changeover_entry import CHANGEOVER_VERSION, ChangeoverEntry
from wetrun.documents.refusals import Document, key_of_place, shown_value
from wetrun.documents.wetrun_entry import WETRUN_VERSION, WetRunEntry
from wetrun.errors import InputProblems, Problem
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.differences import Difference, differences
from wetrun.shop.answers.laid_out import machine_for_tests
from wetrun.shop.answers.received import plain_name
from wetrun.shop.answers.storable import document_in
from wetrun.shop.answers.wet_runs import judge
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Changeover, Machine, Season, WetRun

_ELSEWHERE: Final = frozenset({"season", "machine"})
"""Kept as other records, or as the names they are called by here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FileProposal:
    """What would come of a wet-run or changeover file.

    Attributes
    ----------
    record : WetRun or Changeover
        New, not saved.
    machine_changes : tuple of Difference
        What the file's own [machine] would change in the machine's record.
    problems : tuple of Problem
        What keeps it from being judged; it can be kept all the same.
    words : tuple of str
        What to know before it is kept.
    """

    record: WetRun | Changeover
    machine_changes: tuple[Difference, ...]
    problems: tuple[dict[str, str], ...]
    words: tuple[str, ...]


def wet_run_from(text: str, machine: Machine, file_name: str, season: Season | None = None) -> FileProposal:
    """Return what would come of a wet-run file handed in for a machine.

    Parameters
    ----------
    text : str
        The file as it came.
    machine : Machine
        With customer and branch.
    file_name : str
        What it is called.
    season : Season or None
        Which season of the machine a file means that names one; None takes the latest.

    Returns
    -------
    FileProposal
        Always a new run: what was proven is never written over.

    Raises
    ------
    InputProblems
        If it is no wet-run file, of a newer version, or names a season where the machine has none.
    """
    raw = document_in(text, Document(file_name, {}, WetRunEntry), WETRUN_VERSION)
    run = WetRun(technician=_plain(raw.get("technician")), **_columns(raw, text, machine, file_name, season))
    changed = _with_machine(run, raw)
    judge(run)
    return FileProposal(
        record=run,
        machine_changes=changed,
        problems=tuple(run.problems),
        words=tuple(_words(run, raw, WetRun)),
    )


def changeover_from(text: str, machine: Machine, file_name: str, season: Season | None = None) -> FileProposal:
    """Return what would come of a changeover file handed in for a machine; as `wet_run_from`.

    Parameters
    ----------
    text : str
        The file as it came.
    machine : Machine
        With customer and branch.
    file_name : str
        What it is called.
    season : Season or None
        Which season of the machine a file means that names one; None takes the latest.

    Returns
    -------
    FileProposal
        Not answered: that takes its time.

    Raises
    ------
    InputProblems
        If it is no changeover file, of a newer version, or names a season where the machine has none.
    """
    raw = document_in(text, Document(file_name, {}, ChangeoverEntry), CHANGEOVER_VERSION)
    changeover = Changeover(**_columns(raw, text, machine, file_name, season))
    changed = _with_machine(changeover, raw)
    words = tuple(_words(changeover, raw, Changeover))
    return FileProposal(record=changeover, machine_changes=changed, problems=(), words=words)


def keep_test(proposal: FileProposal, desk: Desk) -> WetRun | Changeover:
    """Keep what a wet-run or changeover file brings, with the machine it describes, all or nothing.

    Parameters
    ----------
    proposal : FileProposal
        As `wet_run_from` or `changeover_from` gives it.
    desk : Desk
        Who keeps it.

    Returns
    -------
    WetRun or Changeover
        Saved; the text as it was handed in is kept beside it.

    Raises
    ------
    Changed
        If somebody changed the machine meanwhile; nothing is kept then.
    """
    record = proposal.record
    with transaction.atomic():
        if proposal.machine_changes:
            kept(record.machine, desk, _("taken from a file of its own"))
        kept(record, desk, _("taken from a file"))
    return record


def _columns(raw: dict[str, Any], text: str, machine: Machine, file: str, season: Season | None) -> dict[str, Any]:  # noqa: PLR0917
    day = raw.get("on")
    return {
        "branch": machine.branch,
        "machine": copy(machine),
        "season": _season(raw, machine, file, season),
        "title": _plain(raw.get("title")) or file[:200],
        "units": "si" if raw.get("units") == "si" else "us",
        "document": {key: value for key, value in raw.items() if key not in _ELSEWHERE},
        "received": text,
        "on": day if type(day) is date else None,
    }


def _season(raw: dict[str, Any], machine: Machine, file: str, season: Season | None) -> Season | None:
    if "season" not in raw:
        return None
    latest = machine.seasons.filter(put_away_at=None).select_related("branch", "machine__customer").first()
    found = season or latest
    if found is None:
        limit = "the machine has no season to stand on"
        remedy = "Hand in its season file first, or write the machine into this file as a table [machine]."
        raise InputProblems([Problem(file, key_of_place({}, ("season",)), shown_value(raw["season"]), limit, remedy)])
    return found


def _with_machine(record: WetRun | Changeover, raw: dict[str, Any]) -> tuple[Difference, ...]:
    """Take over a file's own [machine]; what only a season file holds of it stays as it is."""
    typed = raw.get("machine")
    if not isinstance(typed, dict):
        return ()
    before = record.machine.document
    beside = {key: value for key, value in before.items() if key not in machine_for_tests(before)}
    after = {**typed, **beside}
    record.machine.document = after
    return differences(before, after)


def _words(record: WetRun | Changeover, raw: dict[str, Any], kind: type[WetRun | Changeover]) -> Iterator[str]:
    typed = raw.get("machine")
    named = typed.get("name") if isinstance(typed, dict) else None
    if isinstance(named, str) and plain_name(named) != plain_name(record.machine.name):
        yield _("The file is of a machine called “%(name)s”.") % {"name": named}
    if record.season is not None:
        yield _("It stands on season “%(title)s”.") % {"title": record.season}
    alike = kind._default_manager.filter(machine=record.machine.pk, title=record.title, on=record.on)
    if alike.exists():
        yield _("The machine has one of that title and day already; this one is kept beside it.")


def _plain(typed: object) -> str:
    return " ".join(typed.split())[:200] if isinstance(typed, str) else ""
