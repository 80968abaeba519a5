"""Keeps the boxes of a row or a sheet that a device kept: the same forms as the page, without its way back."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.one_more import ROWS, keep_row
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.pages.wet_run_course import SEEN, RunForm
from wetrun.shop.pages.wet_run_rows import one_more_sheet
from wetrun.shop.pages.wet_run_sheet import sheet_of_test
from wetrun.shop.pages.wet_run_told import told_at_test
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.readings import RunProven
from wetrun.shop.typed.sheet import Sheet

NEVER_THE_SAME = 1_000_000
"""Rows seen: one that comes in under its own entry is kept beside another that reads the same."""


def keep_boxes(request: DeskRequest, wet_run: WetRun, test: YardTest) -> list[str]:
    """Keep what stood in the boxes of a test's page.

    Parameters
    ----------
    request : DeskRequest
        With the boxes as if the page had sent them.
    wet_run : WetRun
        As it is now, locked.
    test : YardTest
        Which.

    Returns
    -------
    list of str
        What is wrong, as sentences; empty once it is kept.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    if not wet_run.is_open:
        raise RunProven
    told = told_at_test(request, wet_run, test)
    if SEEN not in request.POST:
        page = sheet_of_test(request, told, test, sent=True)
        return [] if page.keeps() else list(_said(page.sheet)) or [_("Look at it once more, then send it again.")]
    if test.key == "course":
        return _keep_run(request, told["document"], wet_run, test)
    if test.key not in ROWS:
        return [_("This test has no rows.")]
    one = one_more_sheet(request, told["document"], test, sent=True)
    if not one.is_ok():
        return list(_said(one))
    keep_row(wet_run, request.desk, test, one.document, seen=NEVER_THE_SAME)
    return []


def _keep_run(request: DeskRequest, document: dict[str, object], wet_run: WetRun, test: YardTest) -> list[str]:
    form = RunForm(request.POST, document=document, system=request.desk.system)
    if not form.is_valid():
        labels = {name: str(field.label) for name, field in form.fields.items()}
        return [f"{labels.get(box, '')}: {said}" for box, all_said in form.errors.items() for said in all_said]
    keep_row(wet_run, request.desk, test, form.cleaned_data["row"], seen=NEVER_THE_SAME)
    return []


def _said(sheet: Sheet) -> Iterator[str]:
    for one in sheet.wrong:
        yield f"{one.where}: {one.words}" if one.where else str(one.words)
