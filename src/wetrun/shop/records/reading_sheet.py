"""Keeps a sheet of readings at once: only what was changed on it, and never over what somebody typed meanwhile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Max

from wetrun.shop.accounts.models import User
from wetrun.shop.records.models import Reading, WetRun
from wetrun.shop.records.readings import RunProven


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRead:
    """A sheet of readings as a page showed it.

    Attributes
    ----------
    base : mapping of str to str
        What the document itself holds, by place; nothing for a blank.
    number : int
        The last reading that was on it.
    """

    base: Mapping[str, str]
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetKept:
    """What came of a sheet.

    Attributes
    ----------
    places : tuple of str
        What was kept.
    clashes : mapping of str to Reading
        What somebody typed meanwhile at a place that was changed here too: nothing was kept there.
    """

    places: tuple[str, ...]
    clashes: Mapping[str, Reading]


def last_number(wet_run: WetRun) -> int:
    """Return the number of the last reading of a run; 0 if there is none."""
    return wet_run.readings.aggregate(last=Max("number"))["last"] or 0


def standing_readings(wet_run: WetRun, prefix: str, *, until: int | None = None) -> dict[str, Reading]:
    """Return what stands at each place that begins with a prefix: the last reading of each.

    Parameters
    ----------
    wet_run : WetRun
        The run.
    prefix : str
        Such as ``catch.readings.``.
    until : int or None
        The last reading to look at; None for all.

    Returns
    -------
    dict of str to Reading
        With who typed it at hand; one query.
    """
    found = wet_run.readings.filter(place__startswith=prefix).select_related("by").order_by("number")
    return {one.place: one for one in (found if until is None else found.filter(number__lte=until))}


def keep_sheet(wet_run: WetRun, typed: Mapping[str, str], read: SheetRead, user: User) -> SheetKept:
    """Keep what was changed on a sheet of readings, all of it or nothing.

    Parameters
    ----------
    wet_run : WetRun
        Of the person's branch.
    typed : mapping of str to str
        What stood on the sheet when it was sent, by place.
    read : SheetRead
        The sheet as it was shown.
    user : User
        Who typed it.

    Returns
    -------
    SheetKept
        Sending a sheet twice keeps it once.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    with transaction.atomic():
        # Locked, so that readings are numbered one after another and none slips in while the run is being proven.
        locked = WetRun.objects.select_for_update().get(pk=wet_run.pk)
        if not locked.is_open:
            raise RunProven
        found = list(locked.readings.filter(place__in=typed).select_related("by").order_by("number"))
        now = {one.place: one for one in found}
        then = {one.place: one for one in found if one.number <= read.number}
        changed = {place: text for place, text in typed.items() if text != _text(then, place, read)}
        wanted = {place: text for place, text in changed.items() if text != _text(now, place, read)}
        clashes = {place: now[place] for place in wanted if now.get(place) is not then.get(place)}
        kept = {place: text for place, text in wanted.items() if place not in clashes}
        _write(locked, kept, user)
    return SheetKept(places=tuple(kept), clashes=clashes)


def _text(readings: Mapping[str, Reading], place: str, read: SheetRead) -> str:
    return readings[place].typed if place in readings else read.base.get(place, "")


def _write(wet_run: WetRun, typed: Mapping[str, str], user: User) -> None:
    last = last_number(wet_run)
    Reading.objects.bulk_create(
        Reading(wet_run=wet_run, place=place, typed=text, by=user, number=number)
        for number, (place, text) in enumerate(typed.items(), start=last + 1)
    )
