"""Handing in tip files and maps of log columns, and getting them back as they were handed in."""

from __future__ import annotations

from typing import Any, Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from wetrun.documents.catalogue_file import catalogue_template
from wetrun.documents.map_example import example_map
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.shared_files import Shared, TakenIn, TakesAPlace, standing, taken_in
from wetrun.shop.pages.shared_file_form import ColumnMapForm, SharedFileForm, TipFileForm
from wetrun.shop.pages.uploads import takes_files
from wetrun.shop.records.models import Catalogue, ColumnMap

CSV: Final = "text/csv; charset=utf-8"
TOML: Final = "application/toml; charset=utf-8"
NAMED: Final = 8


@asks(Act.PLAN, posts=True)
@takes_files("MOST_TEXT_BYTES")
def catalogue_import(request: DeskRequest) -> HttpResponse:
    """Take a tip file in."""
    form = TipFileForm(*_sent(request), initial=_meant(request, Catalogue))
    if taken := _taken(request, form):
        _tell(request, taken, _("“%(name)s” is taken in: %(tips)s tips."))
        return redirect("catalogue", catalogue=taken.record.pk)
    return render(request, "catalogues/import.html", {"form": form})


@asks(Act.PLAN, posts=True)
@takes_files("MOST_TEXT_BYTES")
def column_map_import(request: DeskRequest) -> HttpResponse:
    """Take a map of log columns in."""
    form = ColumnMapForm(*_sent(request), initial=_meant(request, ColumnMap))
    if taken := _taken(request, form):
        _tell(request, taken, _("“%(name)s” is taken in."))
        return redirect("column-map", column_map=taken.record.pk)
    return render(request, "catalogues/map_import.html", {"form": form})


@asks(Act.LOOK, catalogue=Catalogue)
def catalogue_export(request: DeskRequest, catalogue: Catalogue) -> HttpResponse:
    """Hand a tip file out as it was handed in."""
    del request
    return _file(catalogue.text, catalogue.name, CSV)


@asks(Act.LOOK, column_map=ColumnMap)
def column_map_export(request: DeskRequest, column_map: ColumnMap) -> HttpResponse:
    """Hand a map of log columns out as it was handed in."""
    del request
    return _file(column_map.text, column_map.name, TOML)


@asks(Act.LOOK)
def catalogue_template_file(request: DeskRequest) -> HttpResponse:
    """Hand out a tip file to start from."""
    del request
    return _file(catalogue_template(), "tips.csv", CSV)


@asks(Act.LOOK)
def column_map_template_file(request: DeskRequest) -> HttpResponse:
    """Hand out a map of log columns to start from."""
    del request
    return _file(example_map(), "map.toml", TOML)


def _sent(request: DeskRequest) -> tuple[Any, Any]:
    return (request.POST, request.FILES) if request.method == "POST" else (None, None)


def _meant(request: DeskRequest, kind: type[Shared]) -> dict[str, object]:
    """Whose place a file is meant to take, where the address says so."""
    name = request.GET.get("name", "")
    branch = request.desk.branch
    found = None if branch is None or not name else standing(kind, branch.pk, name)
    return {"name": name} if found is None else {"name": name, "over": found.pk}


def _taken(request: DeskRequest, form: SharedFileForm) -> TakenIn | None:
    branch = request.desk.branch
    if request.method != "POST" or not form.is_valid() or branch is None:
        return None
    form.record.branch = branch
    try:
        return taken_in(request.desk, form.record, form.cleaned_data["over"])
    except TakesAPlace as found:
        form.ask_over(found.stands)
        return None


def _tell(request: DeskRequest, taken: TakenIn, words: str) -> None:
    named = {"name": taken.record, "tips": getattr(taken.record, "tips", "")}
    if taken.before is not None and taken.before.pk == taken.record.pk:
        messages.info(request, _("Nothing changed: the very same text stands here as “%(name)s” already.") % named)
        return
    messages.success(request, words % named)
    if taken.seasons and taken.before is not None:
        messages.warning(request, _replaced_words(taken))


def _replaced_words(taken: TakenIn) -> str:
    count = len(taken.seasons)
    names = ", ".join(f"{one.machine.name} ({one.title})" for one in taken.seasons[:NAMED])
    more = _(" and %(n)d more") % {"n": count - NAMED} if count > NAMED else ""
    words = ngettext(
        "It takes the place of the file before it. %(n)d season uses it; its tip plan is out of date until it is made "
        "again: %(names)s%(more)s.",
        "It takes the place of the file before it. %(n)d seasons use it; their tip plans are out of date until they "
        "are made again: %(names)s%(more)s.",
        count,
    )
    return words % {"n": count, "names": names, "more": more}


def _file(text: str, name: str, kind: str) -> HttpResponse:
    offered = content_disposition_header(as_attachment=True, filename=name.rpartition("/")[2])
    return HttpResponse(text, content_type=kind, headers={"Content-Disposition": offered, "Cache-Control": "private"})


addresses = [
    path("catalogues/import/", catalogue_import, name="catalogue-import"),
    path("catalogues/template.csv", catalogue_template_file, name="catalogue-template"),
    path("catalogues/<int:catalogue>/file.csv", catalogue_export, name="catalogue-export"),
    path("column-maps/import/", column_map_import, name="column-map-import"),
    path("column-maps/template.toml", column_map_template_file, name="column-map-template"),
    path("column-maps/<int:column_map>/file.toml", column_map_export, name="column-map-export"),
]
