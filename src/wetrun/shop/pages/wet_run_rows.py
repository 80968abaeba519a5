"""A test that is typed row by row: the rows so far, one more in a few boxes, and the sheet of the whole test."""

from __future__ import annotations

from typing import Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.one_more import ROWS, keep_row, next_row, row_table
from wetrun.shop.answers.wet_run_pieces import PIECES
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.pages.wet_run_sheet import FILE, sheet_of_test
from wetrun.shop.pages.wet_run_told import told_at_test
from wetrun.shop.records.models import WetRun
from wetrun.shop.typed.sheet import Sheet

SEEN: Final = "seen"
"""Name of the box that holds how many rows the page showed; one more row is known by it."""
PREFIX: Final = "one"
MOST_DIGITS: Final = 4


def rows_page(request: DeskRequest, wet_run: WetRun, test: YardTest) -> HttpResponse:
    """Type a test row by row.

    Parameters
    ----------
    request : DeskRequest
        What was sent: one more row, or the whole sheet.
    wet_run : WetRun
        An open one.
    test : YardTest
        One of those that have rows.

    Returns
    -------
    HttpResponse
        The page; anew once what was sent is kept.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    told, one_more = told_at_test(request, wet_run, test), SEEN in request.POST
    one = one_more_sheet(request, told["document"], test, sent=one_more)
    if one_more and _keeps(request, wet_run, test, one):
        return redirect("wet-run-test", wet_run=wet_run.pk, test=test.key)
    page = sheet_of_test(request, told, test, sent=request.method == "POST" and not one_more)
    if page.keeps():
        messages.success(request, _("%(test)s: kept.") % {"test": test.title})
        return redirect("wet-run", wet_run=wet_run.pk)
    told |= {"page": page, "sheet": page.sheet, "one": one, "table": row_table(told["document"], test)}
    return render(request, "wet_runs/rows.html", told)


def one_more_sheet(request: DeskRequest, document: dict[str, object], test: YardTest, *, sent: bool) -> Sheet:
    """Return the sheet of one more row, with what was sent laid over it if it was."""
    return Sheet(
        ROWS[test.key].entry,
        raw=next_row(document, test),
        layout=PIECES[test.key].layout,
        system=request.desk.system,
        posted=request.POST if sent else None,
        prefix=PREFIX,
        file=FILE,
    )


def _keeps(request: DeskRequest, wet_run: WetRun, test: YardTest, one: Sheet) -> bool:
    if not one.is_ok():
        return False
    if not one.root.touched:
        messages.info(request, _("Nothing was typed."))
        return True
    seen = request.POST[SEEN]
    count = int(seen) if seen.isascii() and seen.isdigit() and len(seen) <= MOST_DIGITS else 0
    new = keep_row(wet_run, request.desk, test, one.document, seen=count)
    messages.success(request, _("Kept.") if new else _("That was kept before."))
    return True
