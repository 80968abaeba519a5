"""What a wet run says: the evidence, the cross-check, the paper."""

from __future__ import annotations

from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.urls import path

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.wet_run_standing import brought_up_to_date
from wetrun.shop.pages.pdf import pdf_answer
from wetrun.shop.pages.wet_run_told import told_of
from wetrun.shop.records.models import WetRun


@asks(Act.LOOK, wet_run=WetRun)
def wet_run_result(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Show everything the evidence sheet of a wet run shows."""
    return render(request, "wet_runs/result.html", told_of(request, wet_run))


@asks(Act.LOOK, wet_run=WetRun)
def cross_check(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Show whether a wet run's readings agree, and if not, which one is off."""
    return render(request, "wet_runs/cross_check.html", told_of(request, wet_run))


@asks(Act.LOOK, wet_run=WetRun)
def wet_run_pdf(request: DeskRequest, wet_run: WetRun) -> HttpResponseBase:
    """Hand out the evidence sheet of a wet run."""
    return pdf_answer(request, brought_up_to_date(wet_run), "wet run")


addresses = [
    path("wet-runs/<int:wet_run>/result/", wet_run_result, name="wet-run-result"),
    path("wet-runs/<int:wet_run>/cross-check/", cross_check, name="cross-check"),
    path("wet-runs/<int:wet_run>/pdf/", wet_run_pdf, name="wet-run-pdf"),
]
