"""The catch of a boom: how it was caught on a sheet, and what every tip gave along the boom."""

from __future__ import annotations

import json
import re
from typing import Any, Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.catch_keeping import LONGEST, SentCatch, dry, keep_catch
from wetrun.shop.answers.catch_sheet import CatchSheet, catch_sheet
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.answers.yard_marks import odd_limits
from wetrun.shop.pages.wet_run_sheet import PieceSheet, sheet_of_test
from wetrun.shop.pages.wet_run_told import told_at_test
from wetrun.shop.records.models import WetRun

NUMBER: Final = "number"
"""Name of the box that holds the last reading that was on the page; a sheet along the boom is known by it."""
LONGEST_UNIT: Final = 20


def catch_page(request: DeskRequest, wet_run: WetRun, test: YardTest) -> HttpResponse:
    """Type the catch of a boom.

    Parameters
    ----------
    request : DeskRequest
        What was sent: how it was caught, or what the tips gave.
    wet_run : WetRun
        An open one.
    test : YardTest
        The catch, or the one at low duty.

    Returns
    -------
    HttpResponse
        The page; anew once all that was sent is kept.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    told = told_at_test(request, wet_run, test)
    tips = catch_sheet(told, test, request.desk.system)
    if NUMBER in request.POST:
        tips, count = keep_catch(wet_run, request.desk, tips, _sent(request, tips))
        _say_kept(request, count, tips)
        if not tips.is_refused:
            return redirect("wet-run-test", wet_run=wet_run.pk, test=test.key)
    page = sheet_of_test(request, told, test, sent=request.method == "POST" and NUMBER not in request.POST)
    if page.keeps():
        messages.success(request, _("How it was caught is kept."))
        return redirect("wet-run-test", wet_run=wet_run.pk, test=test.key)
    told |= {"page": page, "sheet": page.sheet, "tips": tips, "longest": LONGEST, **_while_typing(tips, page)}
    return render(request, "wet_runs/catch.html", told)


def _sent(request: DeskRequest, shown: CatchSheet) -> SentCatch:
    """What was sent; where somebody else's reading was taken instead, it counts as not touched."""
    posted, taken = request.POST, set(request.POST.getlist("theirs"))
    typed = {row.place: posted[row.place].strip()[:LONGEST] for row in shown.rows if row.place in posted}
    nothing = {place: words for place, words in dry(posted.get("dry", ""), shown.test).items() if not typed.get(place)}
    number = posted.get(NUMBER, "")
    return SentCatch(
        typed={place: text for place, text in (typed | nothing).items() if place not in taken},
        number=int(number) if number.isascii() and number.isdigit() and len(number) < 10 else 0,
        unit=posted.get("unit", "").strip()[:LONGEST_UNIT] or shown.unit,
    )


def _while_typing(tips: CatchSheet, page: PieceSheet) -> dict[str, Any]:
    """What the page itself needs to mark readings as they are typed, and to time the jugs."""
    time = re.fullmatch(r"\s*([0-9]{1,4}(?:[.,][0-9]+)?)\s*s?\s*", str(page.sheet.document.get("time", "")))
    return {
        "odd_limits": json.dumps(odd_limits(len(tips.rows))),
        "seconds_caught": float(time[1].replace(",", ".")) if time else None,
        "figures": 0 if tips.unit.lower() == "ml" else 1,
    }


def _say_kept(request: DeskRequest, count: int, tips: CatchSheet) -> None:
    if count:
        words = ngettext("%(n)d reading kept.", "%(n)d readings kept.", count) % {"n": count}
        messages.success(request, words)
    elif not tips.is_refused:
        messages.info(request, _("Nothing was changed."))
