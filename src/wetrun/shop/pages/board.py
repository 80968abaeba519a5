"""The readiness board: every machine of the branch by first spray day, and what still stands in its way."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import groupby
from typing import Any, Final

from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.planning.readiness import Standing, Station
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.intake.standing import waiting_intakes
from wetrun.shop.pages.listing import page_of
from wetrun.shop.records.readiness import MachineStand, machines_by_first_day, stands_of

SOON_DAYS: Final = 14
MONTH_DAYS: Final = 42


@asks(Act.LOOK)
def board(request: DeskRequest) -> HttpResponse:
    """Show how far every machine is."""
    asked = request.GET.get("q", "").strip()
    found = machines_by_first_day(request.desk)
    if asked:
        found = found.filter(Q(name__icontains=asked) | Q(customer__name__icontains=asked))
    page = page_of(request, found)
    stands = stands_of(page.object_list, request.desk.today)
    told = {"page": page, "asked": asked, "groups": grouped(stands), "stations": tuple(Station)}
    intakes = asked_of(stands, request.desk.today)
    return render(request, "board/page.html", told | {"standings": tuple(Standing), "intakes": intakes})


def asked_of(stands: Iterable[MachineStand], today: date) -> dict[int, dict[str, Any]]:
    """Return what customers were asked and have not settled with us yet, by key of the machine."""
    found = waiting_intakes(stand.machine.pk for stand in stands)
    return {key: {"intake": intake, "late": intake.is_late(today)} for key, intake in found.items()}


def grouped(stands: Iterable[MachineStand]) -> list[dict[str, Any]]:
    """Return the rows of the board under headings by how soon they spray.

    Parameters
    ----------
    stands : iterable of MachineStand
        By first spray day.

    Returns
    -------
    list of dict
        ``heading`` and ``stands``, empty groups left out.
    """
    return [{"heading": heading, "stands": list(rows)} for heading, rows in groupby(stands, key=_heading)]


def _heading(stand: MachineStand) -> str:
    days = stand.readiness.days_left
    if days is None:
        return _("No first spray day known")
    if days < 0:
        return _("Spraying has begun")
    if days <= SOON_DAYS:
        return _("Within two weeks")
    return _("Within six weeks") if days <= MONTH_DAYS else _("Later")


addresses = [path("", board, name="board")]
