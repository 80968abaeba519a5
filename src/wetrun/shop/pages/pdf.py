"""Hands out papers in the reader's units and the branch's size of page."""

from __future__ import annotations

from collections.abc import Callable

from django.http import FileResponse, Http404, HttpResponseBase

from wetrun.errors import NotDefined
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.papers import File, Record, paper_of


def pdf_answer(request: DeskRequest, record: Record, which: str, of_pass: str = "") -> HttpResponseBase:
    """Return a paper as a file to be opened or saved.

    Parameters
    ----------
    request : DeskRequest
        Whose units.
    record : TipPlan, Season, WetRun or Changeover
        What the paper is of.
    which : str
        Which paper.
    of_pass : str
        Name of the pass, for a paper of one pass.

    Returns
    -------
    HttpResponseBase
        PDF, or SVG for a picture.

    Raises
    ------
    Http404
        If the record has no such paper.
    """
    desk = request.desk
    shop = "" if desk.branch is None else desk.branch.name
    return file_answer(lambda: paper_of(record, which, system=desk.system, size=desk.paper, shop=shop, of_pass=of_pass))


def file_answer(make: Callable[[], File]) -> HttpResponseBase:
    """Return a paper as a file, as `pdf_answer`; `make` gives its name and what is in it."""
    try:
        name, content = make()
    except NotDefined as none:
        raise Http404(str(none)) from none
    kind = "image/svg+xml" if name.endswith(".svg") else "application/pdf"
    return FileResponse(iter([content]), filename=name, content_type=kind, headers={"Cache-Control": "private"})
