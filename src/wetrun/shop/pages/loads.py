"""Tank loads of a season: what goes in, in which order, and where each load runs out."""

from __future__ import annotations

from django.http import Http404, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.errors import WetrunError
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.loads import load_sheets_of
from wetrun.shop.answers.problems import problem_rows
from wetrun.shop.pages.pdf import pdf_answer
from wetrun.shop.records.models import Season


@asks(Act.LOOK, season=Season)
def loads(request: DeskRequest, season: Season) -> HttpResponse:
    """Show the loads of every pass."""
    told: dict[str, object] = {"season": season, "sheets": [], "problems": []}
    try:
        told["sheets"] = load_sheets_of(season, request.desk.reader)
    except WetrunError as fault:
        told["problems"] = problem_rows(fault, request.desk.system)
    return render(request, "loads/page.html", told)


@asks(Act.LOOK, season=Season)
def load_sheet_pdf(request: DeskRequest, season: Season, nth: int) -> HttpResponseBase:
    """Hand out the load sheet of one pass."""
    passes = [str(one.get("name", "")) for one in season.document.get("pass", []) if isinstance(one, dict)]
    if not 1 <= nth <= len(passes):
        raise Http404(_("The season has no such pass."))
    try:
        return pdf_answer(request, season, "load sheet", passes[nth - 1])
    except WetrunError as fault:
        raise Http404(str(fault)) from fault


addresses = [
    path("seasons/<int:season>/loads/", loads, name="loads"),
    path("seasons/<int:season>/loads/<int:nth>.pdf", load_sheet_pdf, name="load-sheet-pdf"),
]
