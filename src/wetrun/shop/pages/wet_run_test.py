"""One test of a wet run: typed on a sheet of its own, or looked at as it was typed."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.one_more import ROWS
from wetrun.shop.answers.wet_run_tests import YardTest, yard_test_named
from wetrun.shop.pages.readings import CONFLICT, THERE, refusal_words
from wetrun.shop.pages.wet_run_catch import catch_page
from wetrun.shop.pages.wet_run_course import course_page
from wetrun.shop.pages.wet_run_rows import rows_page
from wetrun.shop.pages.wet_run_sheet import sheet_of_test, typed_rows
from wetrun.shop.pages.wet_run_told import told_at_test
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.readings import RunProven


@asks(Act.LOOK, to_post=Act.ENTER, wet_run=WetRun)
def wet_run_test(request: DeskRequest, wet_run: WetRun, test: str) -> HttpResponse:
    """Type one test of a wet run; whoever may not, or comes after it was proven, sees it as it was typed."""
    found = yard_test_named(test)
    if found is None:
        raise Http404(_("A wet run has no such test."))
    if not wet_run.is_open or not request.desk.may_enter:
        return _typed(request, wet_run, found, refused=request.method == "POST")
    try:
        return PAGES.get(test, _sheet_page)(request, wet_run, found)
    except RunProven:
        return _typed(request, WetRun.objects.get(pk=wet_run.pk), found, refused=True)


def _sheet_page(request: DeskRequest, wet_run: WetRun, test: YardTest) -> HttpResponse:
    told = told_at_test(request, wet_run, test)
    page = sheet_of_test(request, told, test, sent=request.method == "POST")
    if page.keeps():
        messages.success(request, _("%(test)s: kept.") % {"test": test.title})
        return redirect("wet-run", wet_run=wet_run.pk)
    return render(request, "wet_runs/test.html", told | {"page": page, "sheet": page.sheet})


def _typed(request: DeskRequest, wet_run: WetRun, test: YardTest, *, refused: bool) -> HttpResponse:
    """The test as it was typed, and why nothing is taken any more."""
    told = {
        "wet_run": wet_run,
        "test": test,
        "rows": list(typed_rows(request, wet_run, test)),
        "refused": refusal_words(RunProven()) if refused else "",
    }
    return render(request, "wet_runs/typed.html", told, status=CONFLICT if refused else THERE)


PAGES = {**dict.fromkeys(ROWS, rows_page), "catch": catch_page, "low-duty": catch_page, "course": course_page}
"""Tests with more on their page than a sheet."""

addresses = [path("wet-runs/<int:wet_run>/<str:test>/", wet_run_test, name="wet-run-test")]
