"""Seasons and changeovers as files of the command line's: handed out, and taken in after a look at what they do."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from wetrun.errors import InputProblems
from wetrun.papers.papers import pass_names
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.files import (
    changeover_from,
    changeover_text,
    keep_season,
    keep_test,
    season_from,
    season_text,
    write_zip,
)
from wetrun.shop.pages.file_forms import FileForm
from wetrun.shop.pages.uploads import takes_files
from wetrun.shop.records.models import Changeover, Machine, Season
from wetrun.shop.records.models.base import BranchRecord, Changed

IN_MEMORY = 5_000_000
Proposal = Any


@asks(Act.LOOK, season=Season)
def season_export(_request: DeskRequest, season: Season) -> HttpResponse:
    """Hand out a season as its file."""
    return text_answer(season_text(season), "season.toml")


@asks(Act.LOOK, changeover=Changeover)
def changeover_export(_request: DeskRequest, changeover: Changeover) -> HttpResponse:
    """Hand out a changeover as its file."""
    return text_answer(changeover_text(changeover), "changeover.toml")


def text_answer(text: str, name: str) -> HttpResponse:
    """Return a text as a file to be saved."""
    answer = HttpResponse(text.encode(), content_type="text/plain; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@asks(Act.LOOK, season=Season)
def season_zip(request: DeskRequest, season: Season) -> HttpResponseBase:
    """Hand out a season with everything the command line needs to work on it; logs too if they are asked for."""
    packed = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - closed by whoever sends it
    write_zip(season, packed, logs=request.GET.get("logs") == "yes")
    packed.seek(0)
    (name,) = pass_names([f"{season.machine.name} {season.title}"])
    return FileResponse(packed, as_attachment=True, filename=f"{name}.zip")


@asks(Act.PLAN, posts=True)
@takes_files("MOST_TEXT_BYTES")
def season_import(request: DeskRequest) -> HttpResponse:
    """Take in a season file: show what it would bring, then keep it."""
    return _take_in(
        request,
        "seasons/import.html",
        propose=lambda text, name: season_from(text, request.desk, name),
        keep=lambda proposal: keep_season(proposal, request.desk),
        usual="season.toml",
    )


@asks(Act.ENTER, posts=True, machine=Machine)
@takes_files("MOST_TEXT_BYTES")
def changeover_import(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Take in a changeover file for a machine."""
    return _take_in(
        request,
        "changeovers/import.html",
        propose=lambda text, name: changeover_from(text, machine, name),
        keep=lambda proposal: keep_test(proposal, request.desk),
        usual="changeover.toml",
        machine=machine,
    )


def _take_in(
    request: DeskRequest,
    template: str,
    *,
    propose: Callable[[str, str], Proposal],
    keep: Callable[[Proposal], BranchRecord],
    usual: str,
    **told: object,
) -> HttpResponse:
    form = FileForm(request.POST or None, request.FILES or None, usual=usual)
    proposal = None
    if request.method == "POST" and form.is_valid():
        text, name = form.cleaned_data["text"], form.cleaned_data["name"]
        try:
            proposal = propose(text, name)
            if "keep" in request.POST:
                record = keep(proposal)
                messages.success(request, _("“%(name)s” is kept.") % {"name": record})
                name = type(record).__name__.lower()
                return redirect(reverse(name, kwargs={name: record.pk}))
        except InputProblems as wrong:
            form.add_error(None, [str(one) for one in wrong.problems])
        except Changed:
            form.add_error(None, _("Somebody changed it in the meantime. Look again at what this file does."))
        form.show_again(text, name)
    return render(request, template, {"form": form, "proposal": proposal, **told})


addresses = [
    path("seasons/import/", season_import, name="season-import"),
    path("seasons/<int:season>/season.toml", season_export, name="season-export"),
    path("seasons/<int:season>/season.zip", season_zip, name="season-zip"),
    path("machines/<int:machine>/changeovers/import/", changeover_import, name="changeover-import"),
    path("changeovers/<int:changeover>/changeover.toml", changeover_export, name="changeover-export"),
]
