"""Changeovers: begun, answered by a job, done step by step in the yard, signed."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.documents.changeover_entry import ChangeoverEntry
from wetrun.quantity import System
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.changeovers import digest_of, is_answered
from wetrun.shop.jobs.asking import asked
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.pages.changeover_forms import NewChangeoverForm
from wetrun.shop.pages.changeover_steps import steps_of
from wetrun.shop.pages.pdf import pdf_answer
from wetrun.shop.pages.season_sheet import passes_of
from wetrun.shop.pages.sheet_keeping import SheetPage
from wetrun.shop.pages.tip_plans import shown_to
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Changeover, Machine, Season
from wetrun.shop.records.readiness import stand_of
from wetrun.shop.typed.layouts import LAYOUT
from wetrun.shop.typed.sheet import Sheet

_KEPT_ELSEWHERE: Final = ("machine", "season", "record", "units", "format_version")
_LAYOUT: Final = LAYOUT.without(ChangeoverEntry, *_KEPT_ELSEWHERE)


@asks(Act.ENTER, posts=True, machine=Machine)
def changeover_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Begin a changeover between two passes of the season."""
    season = stand_of(machine, request.desk).season
    names = [] if season is None else _names(season)
    form = NewChangeoverForm(request.POST or None, initial={"on": request.desk.today}, passes=names)
    if request.method == "POST" and form.is_valid():
        changeover = Changeover(machine=machine, season=season, document=form.document(request.desk.system.value))
        _settle(changeover)
        kept(changeover, request.desk, _("begun"))
        return redirect("changeover-edit", changeover=changeover.pk)
    return render(request, "changeovers/new.html", {"form": form, "machine": machine, "names": names})


def _names(season: Season) -> list[str]:
    return [" ".join(str(one.get("name", "")).split()) for one in passes_of(Season.objects.get(pk=season.pk))]


def _settle(changeover: Changeover) -> Changeover:
    """Keep beside the document what lists need of it."""
    document = changeover.document
    changeover.title = str(document.get("title") or "")[:200]
    changeover.on = document.get("on")
    changeover.units = "si" if document.get("units") == "si" else "us"
    return changeover


@asks(Act.LOOK, changeover=Changeover)
def changeover_page(request: DeskRequest, changeover: Changeover) -> HttpResponse:
    """Show a changeover: the answer, and the yard's list with what was written down."""
    told = {
        "changeover": changeover,
        "job": _job_of(changeover),
        "shown": None if changeover.in_us is None else shown_to(request, changeover),
        "is_current": changeover.signed_at is not None or is_answered(changeover),
        "steps": steps_of(changeover),
    }
    return render(request, "changeovers/page.html", told)


def _job_of(changeover: Changeover) -> Job | None:
    found = Job.objects.filter(branch=changeover.branch_id, kind="changeover", subject_key=str(changeover.pk))
    latest = found.order_by("-pk").first()
    return latest if latest is not None and latest.state not in {State.DONE, State.CANCELLED} else None


@asks(Act.ENTER, posts=True, changeover=Changeover)
def changeover_edit(request: DeskRequest, changeover: Changeover) -> HttpResponse:
    """Type a changeover."""
    if changeover.signed_at is not None:
        raise PermissionDenied(_("This changeover is signed; begin a new one."))
    page = SheetPage(request, changeover, _sheet(request, changeover))
    if page.may_keep():
        before, changeover.document = changeover.document, _laid_over(changeover, page.sheet.document)
        if page.keep(lambda: _settle(changeover), _("changed"), before=before):
            return redirect("changeover", changeover=changeover.pk)
    return render(request, "changeovers/edit.html", {"changeover": changeover, "page": page, "sheet": page.sheet})


def _laid_over(changeover: Changeover, typed: dict[str, Any]) -> dict[str, Any]:
    return {**{key: changeover.document[key] for key in _KEPT_ELSEWHERE if key in changeover.document}, **typed}


def _sheet(request: DeskRequest, changeover: Changeover) -> Sheet:
    raw = {key: value for key, value in changeover.document.items() if key not in _KEPT_ELSEWHERE}
    season = changeover.season
    beside = {"format_version": 1, "units": changeover.units}
    beside |= {"machine": changeover.machine.document} if season is None else {"season": "season.toml"}
    return Sheet(
        ChangeoverEntry,
        raw=raw,
        layout=_LAYOUT,
        system=request.desk.system,
        written_in=System(changeover.units),
        posted=request.POST if request.method == "POST" else None,
        file="changeover.toml",
        beside={key: value for key, value in beside.items() if key not in raw},
        offers={"passes": [] if season is None else _names(season)},
    )


@asks(Act.ENTER, posts=True, changeover=Changeover)
def changeover_answer(request: DeskRequest, changeover: Changeover) -> HttpResponse:
    """Ask for the answer: rinses, what stays where, the yard's list."""
    if request.method == "POST" and changeover.signed_at is None:
        with transaction.atomic():
            asked(
                changeover.branch,
                "changeover",
                by=request.desk.user,
                words=_("Changeover for %(machine)s, %(title)s")
                % {"machine": changeover.machine, "title": changeover.title},
                args={"changeover": changeover.pk, "digest": digest_of(changeover)},
                subject=changeover,
            )
        messages.info(request, _("It is being worked out; that takes up to a minute."))
    return redirect("changeover", changeover=changeover.pk)


@asks(Act.LOOK, changeover=Changeover)
def changeover_pdf(request: DeskRequest, changeover: Changeover) -> HttpResponseBase:
    """Hand out the changeover's sheet."""
    return pdf_answer(request, changeover, "changeover")


addresses = [
    path("machines/<int:machine>/changeovers/new/", changeover_new, name="changeover-new"),
    path("changeovers/<int:changeover>/", changeover_page, name="changeover"),
    path("changeovers/<int:changeover>/edit/", changeover_edit, name="changeover-edit"),
    path("changeovers/<int:changeover>/answer/", changeover_answer, name="changeover-answer"),
    path("changeovers/<int:changeover>/changeover.pdf", changeover_pdf, name="changeover-pdf"),
]
