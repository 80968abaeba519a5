"""A season file that was handed in: whose it is, what it would replace, what stands in its way; then kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from wetrun.documents.refusals import Document
from wetrun.documents.season_entry import FORMAT_VERSION, SeasonEntry
from wetrun.errors import InputProblems, Problem
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.differences import Difference, differences
from wetrun.shop.answers.seasons import problems_of_season, settled
from wetrun.shop.answers.storable import document_in
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Customer, Machine, Season


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonProposal:
    """What would come of a season file.

    Attributes
    ----------
    season : Season
        New, or the one of that title with the file's document in it; with machine and customer, which may be new too.
        Nothing is saved.
    text : str
        The file.
    is_new_customer, is_new_machine, is_new_season : bool
        What would be added.
    machine_changes, season_changes : tuple of Difference
        What would be another than it is.
    problems : tuple of Problem
        What would stand in the way of a plan; it can be kept all the same.
    """

    season: Season
    text: str
    is_new_customer: bool
    is_new_machine: bool
    is_new_season: bool
    machine_changes: tuple[Difference, ...]
    season_changes: tuple[Difference, ...]
    problems: tuple[Problem, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """What would be added and replaced, in sentences."""
        return tuple(_words(self))


def season_from(text: str, desk: Desk, file_name: str) -> SeasonProposal:
    """Return what would come of a season file in a branch.

    Parameters
    ----------
    text : str
        The file as it came.
    desk : Desk
        In whose branch.
    file_name : str
        What it is called.

    Returns
    -------
    SeasonProposal
        Customer and machine are those of that name, however capitals and spaces were typed, or new ones.

    Raises
    ------
    InputProblems
        If it is no season file, of a newer version, or says of whom or of which machine it is in no way.
    """
    raw = document_in(text, Document(file_name, {}, SeasonEntry), FORMAT_VERSION)
    whose, machine_typed = _named(raw, file_name)
    customer = _customer(desk, whose)
    machine = _machine(customer, machine_typed)
    before = machine.document if machine.pk else None
    document = {key: value for key, value in raw.items() if key not in {"customer", "machine"}}
    season = _season(machine, document)
    stood = season.document if season.pk else None
    machine.document = machine_typed
    machine.units = "si" if raw.get("units") == "si" else "us"
    season.machine, season.document, season.received = machine, document, text
    problems = problems_of_season(season)
    return SeasonProposal(
        season=season,
        text=text,
        is_new_customer=customer.pk is None,
        is_new_machine=machine.pk is None,
        is_new_season=season.pk is None,
        machine_changes=() if before is None else differences(before, machine_typed),
        season_changes=() if stood is None else differences(stood, document),
        problems=problems,
    )


def keep_season(proposal: SeasonProposal, desk: Desk) -> Season:
    """Keep what a season file brings: customer, machine and season, all or nothing.

    Parameters
    ----------
    proposal : SeasonProposal
        As `season_from` gives it.
    desk : Desk
        Who keeps it.

    Returns
    -------
    Season
        Saved; the text as it was handed in is kept beside it.

    Raises
    ------
    Changed
        If somebody changed machine or season meanwhile; nothing is kept then.
    """
    season = proposal.season
    machine, customer = season.machine, season.machine.customer
    with transaction.atomic():
        if proposal.is_new_customer:
            kept(customer, desk, _("taken from a season file"))
        if proposal.is_new_machine or proposal.machine_changes:
            machine.customer = customer
            kept(machine, desk, _("taken from a season file"))
        season.machine = machine
        return kept(settled(season), desk, _("taken from a season file"))


def plain_name(name: str) -> str:
    """Return a name without what does not matter in it: capitals, and more than one space."""
    return " ".join(name.split()).casefold()


def _named(raw: dict[str, Any], file: str) -> tuple[str, dict[str, Any]]:
    """Whose season it is, and the machine's table."""
    customer, machine = raw.get("customer"), raw.get("machine")
    whose = customer.get("name") if isinstance(customer, dict) else None
    called = machine.get("name") if isinstance(machine, dict) else None
    missing = [
        Problem(file, key, "", "this is missing", remedy)
        for key, found, remedy in (
            ("customer.name", whose, 'Write [customer] with name = "…": whose season it is.'),
            ("machine.name", called, 'Write [machine] with name = "…": which machine it is.'),
        )
        if not isinstance(found, str) or not found.strip()
    ]
    if missing:
        raise InputProblems(missing)
    return str(whose), dict(machine or {})


def _customer(desk: Desk, name: str) -> Customer:
    known = Customer.objects.of(desk).filter(erased_at=None)
    found = next((one for one in known if plain_name(one.name) == plain_name(name)), None)
    return found or Customer(branch=desk.branch, name=" ".join(name.split())[:120])


def _machine(customer: Customer, typed: dict[str, Any]) -> Machine:
    known = customer.machines.select_related("branch") if customer.pk else ()
    found = next((one for one in known if plain_name(one.name) == plain_name(str(typed["name"]))), None)
    if found is None:
        return Machine(branch=customer.branch, customer=customer, name=str(typed["name"])[:200], document=typed)
    found.customer = customer
    return found


def _season(machine: Machine, document: dict[str, Any]) -> Season:
    title = str(document.get("title") or "")
    known = machine.seasons.filter(put_away_at=None).select_related("branch") if machine.pk else ()
    found = next((one for one in known if plain_name(one.title) == plain_name(title)), None)
    if found is not None:
        return found
    units = "si" if document.get("units") == "si" else "us"
    return Season(branch=machine.branch, machine=machine, title=title[:200], units=units, document=document)


def _words(proposal: SeasonProposal) -> Iterator[str]:
    season, machine = proposal.season, proposal.season.machine
    if proposal.is_new_customer:
        yield _("Customer “%(name)s” is new.") % {"name": machine.customer}
    if proposal.is_new_machine:
        yield _("Machine “%(name)s” is new.") % {"name": machine.document.get("name")}
    elif proposal.machine_changes:
        yield _("Machine “%(name)s” is changed in %(count)s places.") % {
            "name": machine,
            "count": len(proposal.machine_changes),
        }
    if proposal.is_new_season:
        yield _("Season “%(title)s” is new.") % {"title": season.document.get("title", season.title)}
    elif proposal.season_changes:
        yield _("Season “%(title)s” is replaced, in %(count)s places.") % {
            "title": season,
            "count": len(proposal.season_changes),
        }
    if not (proposal.is_new_season or proposal.season_changes or proposal.machine_changes):
        yield _("Nothing is another than it is.")
