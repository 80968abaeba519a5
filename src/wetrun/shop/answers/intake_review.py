"""The review of an intake: what is decided for each value, and the season it makes by the season's own rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext as _

from wetrun.shop.answers.intake_draft import passes_in
from wetrun.shop.answers.intake_places import put, twin_of
from wetrun.shop.answers.intake_sheets import title_of
from wetrun.shop.answers.intake_values import Value, values_of
from wetrun.shop.answers.season_logs import plain_name
from wetrun.shop.intake.models import Intake
from wetrun.shop.records.models import Season

NEW: Final = "new"
NOWHERE: Final = "out"
CHOICES: Final = ("take", "other", "out")
Posted = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Decided:
    """A value with what is decided for it.

    Attributes
    ----------
    value : Value
        The value.
    choice : str
        take, other or out.
    text : str
        What stands in the box for another value.
    """

    value: Value
    choice: str
    text: str


@dataclass(frozen=True, slots=True)
class ReviewedPass:
    """One pass of a draft, held against one of the record.

    Attributes
    ----------
    key : int
        In the draft.
    title : str
        What it is called.
    to : str
        Number of the record's pass, from 0; new, or out for leaving all of it out.
    values : tuple of Decided
        Its values.
    """

    key: int
    title: str
    to: str
    values: tuple[Decided, ...]


@dataclass(frozen=True, slots=True)
class Review:
    """Everything that is decided.

    Attributes
    ----------
    passes : tuple of ReviewedPass
        In the order of the draft.
    season : Season
        The season as it stands.
    """

    passes: tuple[ReviewedPass, ...]
    season: Season

    @property
    def targets(self) -> list[tuple[str, str]]:
        """What a pass may go to, with words."""
        named = [(str(at), plain_name(one) or str(at + 1)) for at, one in enumerate(passes_of(self.season))]
        return [*named, (NEW, _("a new pass")), (NOWHERE, _("nowhere: leave all of it out"))]


def passes_of(season: Season) -> list[dict[str, Any]]:
    """Return a season's passes as typed; what is no table is left out."""
    passes = season.document.get("pass")
    return [one for one in passes if isinstance(one, dict)] if isinstance(passes, list) else []


def season_for(intake: Intake) -> Season:
    """Return the season an intake is for; a new one, not saved, where there is none."""
    if intake.season is not None:
        return intake.season
    document = {"format_version": 1, "title": intake.title, "units": intake.units}
    return Season(branch=intake.branch, machine=intake.machine, title=intake.title, document=document)


def review_of(intake: Intake, posted: Posted) -> Review:
    """Return the review as far as it is decided.

    Parameters
    ----------
    intake : Intake
        Handed in.
    posted : mapping
        What was sent: ``to.key``, ``do.name`` and ``text.name``; what is missing is as usual.

    Returns
    -------
    Review
        With every value of the draft.
    """
    season = season_for(intake)
    taken: set[str] = set()
    reviewed = []
    for at, one in enumerate(passes_in(intake), start=1):
        to = posted.get(f"to.{one['key']}") or _twin(one, season, taken)
        taken.add(to)
        reviewed.append(_reviewed(intake, one, to, posted, season, at))
    return Review(tuple(reviewed), season)


def _reviewed(  # noqa: PLR0917
    intake: Intake, one: Mapping[str, Any], to: str, posted: Posted, season: Season, at: int
) -> ReviewedPass:
    target = target_of(season, to)
    to = to if to == NOWHERE or target else NEW
    values = values_of(intake, one["key"], one["typed"], target)
    return ReviewedPass(one["key"], title_of(one["typed"], at), to, tuple(_decided(v, posted) for v in values))


def taken_out(intake: Intake) -> list[str]:
    """Return what the customer called the passes that were taken out of the draft again and had anything in them."""
    out = intake.document.get("out", [])
    return [title_of(one["typed"], at) for at, one in enumerate(out, start=1) if one["typed"]]


def target_of(season: Season, to: str) -> dict[str, Any]:
    """Return the pass of a season that a draft's pass goes to; empty for a new one."""
    passes = passes_of(season)
    at = int(to) if to.isascii() and to.isdigit() and len(to) < 4 else len(passes)
    return passes[at] if at < len(passes) else {}


def _twin(drafted: Mapping[str, Any], season: Season, taken: set[str]) -> str:
    """The pass it began with, else that of its name, else (without a name) the only one of its crop; else a new one."""
    passes = [(str(at), one) for at, one in enumerate(passes_of(season)) if str(at) not in taken]
    typed, begun = drafted["typed"], str(drafted.get("begun", "")).casefold()
    name, crop = plain_name(typed).casefold(), str(typed.get("crop", "")).strip().casefold()
    same = [at for at, one in passes if name and plain_name(one).casefold() == name]
    alike = [at for at, one in passes if crop and str(one.get("crop", "")).strip().casefold() == crop]
    first = [at for at, one in passes if begun and plain_name(one).casefold() == begun]
    if first or same:
        return (first or same)[0]
    return alike[0] if not name and len(alike) == 1 else NEW


def _decided(value: Value, posted: Posted) -> Decided:
    choice = posted.get(f"do.{value.name}", "")
    text = posted.get(f"text.{value.name}", value.proposal)
    allowed = choice in CHOICES and not (choice == "take" and not value.typed)
    if choice == "take" and text.strip() not in {"", value.proposal.strip()}:
        choice = "other"  # who typed another value meant it, though the button beside it was not pressed
    return Decided(value, choice if allowed else value.usual, text)


def document_after(review: Review, intake: Intake) -> dict[str, Any]:
    """Return the season's document with everything that is taken in its place.

    Parameters
    ----------
    review : Review
        Decided.
    intake : Intake
        Its draft.

    Returns
    -------
    dict
        A new pass stands behind the one before it in the customer's order.
    """
    result = list(passes_of(review.season))
    old = list(result)
    typed = {one["key"]: one["typed"] for one in passes_in(intake)}
    behind = len(result)
    for one in review.passes:
        if one.to == NOWHERE:
            continue
        target = target_of(review.season, one.to)
        new = _with_values(target, one, typed[one.key])
        if one.to == NEW:
            result.insert(behind, new)
            behind += 1
        else:
            at = next(at for at, each in enumerate(result) if each is old[int(one.to)])
            result[at] = old[int(one.to)] = new
            behind = at + 1
    return {**review.season.document, "pass": result}


def _with_values(target: dict[str, Any], one: ReviewedPass, typed: Mapping[str, Any]) -> dict[str, Any]:
    new, added = dict(target), dict[int, int]()
    for decided in one.values:
        if decided.choice == "out" or (decided.choice == "other" and not decided.text.strip()):
            continue
        place = decided.value.place
        twin = twin_of(place, typed, target)
        if twin is None and isinstance(place[1], int):
            first = len(new.get("product", [])) if isinstance(new.get("product"), list) else 0
            twin = ("product", added.setdefault(place[1], first), *place[2:])
        new = put(new, twin or place, value_of(decided))
    return new


def value_of(decided: Decided) -> object:
    """Return what goes into the season: as typed by the customer, or what the specialist typed instead."""
    field = decided.value.field
    if decided.choice == "take":
        return field.value
    return field.take.value(decided.text.strip(), field.place.raw, field.unit)


def decisions_of(review: Review) -> list[dict[str, str]]:
    """Return what became of each value, as rows to be kept with the intake."""
    rows = []
    for one in review.passes:
        for each in one.values:
            choice = "out" if one.to == NOWHERE else each.choice
            value = {"take": each.value.typed, "other": each.text}.get(choice, each.value.now)
            row = {"place": each.value.name, "typed": each.value.typed, "decided": choice, "value": value}
            rows.append({**row, "to": one.to})
    return rows
