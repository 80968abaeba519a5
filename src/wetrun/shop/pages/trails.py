"""The audit trail, of a branch and of one record: who did what, when, and what stood there before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, path, reverse
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks, found, moved
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.pages.listing import page_of
from wetrun.shop.records.differences import Difference, differences
from wetrun.shop.records.models import BranchRecord, Trail
from wetrun.shop.records.reach import kinds

PAGES: Final = {
    "Customer": "customer",
    "Machine": "machine",
    "Season": "season",
    "TipPlan": "tip-plan",
    "WetRun": "wet-run",
    "Changeover": "changeover",
    "FieldLog": "fieldlog",
    "Handover": "handover",
    "Intake": "intake",
    "Catalogue": "catalogue",
}
"""Where a record of a kind is shown."""


@dataclass(frozen=True, slots=True)
class ShownLine:
    """A line of the trail with what changed, and the address of what it tells of."""

    line: Trail
    differences: tuple[Difference, ...]
    address: str


@asks(Act.LOOK)
def trail(request: DeskRequest) -> HttpResponse:
    """Show everything that was done in the branch, the latest first."""
    lines = Trail.objects.filter(branch=request.desk.branch)
    return _answer(request, lines, _("Who changed what"))


@asks(Act.LOOK)
def record_trail(request: DeskRequest, kind: str, key: str) -> HttpResponse:
    """Show everything that was done to one record, or to one person in this branch."""
    model = _model(kind)
    lines = Trail.objects.filter(kind=kind if model is None else model.__name__, key=key)
    if model is not None:
        record: BranchRecord | Trail = found(request.desk, model, key)
        title = str(record)
    else:
        record = _any_line(request, lines)
        title = record.name
    moved(request, request.desk, (record,))
    return _answer(request, lines.filter(branch=request.desk.branch), title)


def _model(kind: str) -> type[BranchRecord] | None:
    found = (model for model in kinds() if model.__name__.casefold() == kind.casefold())
    return next((model for model in found if issubclass(model, BranchRecord)), None)


def _any_line(request: DeskRequest, lines: QuerySet[Trail]) -> Trail:
    """Return the latest line about something that is no record of one branch: a person, or a branch itself."""
    mine = list(lines.filter(branch__in=list(request.desk.roles)).select_related("branch").order_by("-at", "-pk"))
    here = [line for line in mine if line.branch == request.desk.branch]
    if not mine:
        raise Http404(_("There is no such record in your branches."))
    return (here or mine)[0]


def _answer(request: DeskRequest, lines: QuerySet[Trail], title: str) -> HttpResponse:
    page = page_of(request, lines.select_related("by").order_by("-at", "-pk"))
    shown = [ShownLine(line, differences(line.before, line.after), _address(line)) for line in page]
    return render(request, "trails/page.html", {"title": title, "page": page, "shown": shown})


def _address(line: Trail) -> str:
    name = PAGES.get(line.kind, "")
    try:
        return reverse(name, args=[line.key]) if name else ""
    except NoReverseMatch:
        return ""


addresses = [
    path("trail/", trail, name="trail"),
    path("trail/<slug:kind>/<slug:key>/", record_trail, name="record-trail"),
]
