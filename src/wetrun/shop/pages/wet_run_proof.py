"""Closing a wet run: proving it, running it again in its place, and readings that stand as typed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.errors import WetrunError
from wetrun.quantity import sentence
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.proving import prove
from wetrun.shop.answers.wet_run_begun import successor
from wetrun.shop.answers.wet_run_stands import keep_standing
from wetrun.shop.pages.readings import refusal_words
from wetrun.shop.pages.wet_run_forms import ProofForm, SuccessorForm
from wetrun.shop.pages.wet_run_told import told_of
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.models.base import Changed, Frozen
from wetrun.shop.records.readings import RunProven


@asks(Act.PLAN, posts=True, wet_run=WetRun)
def wet_run_prove(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Ask whether a wet run is to be closed as it stands, and close it."""
    told = told_of(request, wet_run)
    form = ProofForm(request.POST if request.method == "POST" else None, stands=wet_run.digest)
    if request.method == "POST" and told["seconds"]:
        form.add_error(None, _("A tip has two readings. Decide on the page of the catch which one stands, then prove."))
    if request.method == "POST" and form.is_valid() and _proves(request, wet_run, form):
        messages.success(request, _("Proven: %(verdict)s.") % {"verdict": wet_run.verdict})
        return redirect("wet-run", wet_run=wet_run.pk)
    if not wet_run.is_open:
        messages.error(request, refusal_words(RunProven()))
        return redirect("wet-run", wet_run=wet_run.pk)
    return render(request, "wet_runs/prove.html", told | {"form": form})


def _proves(request: DeskRequest, wet_run: WetRun, form: ProofForm) -> bool:
    try:
        prove(wet_run, request.desk, wet_run.follows)
    except WetrunError as fault:
        form.add_error(None, sentence(fault, request.desk.system))
    except Frozen as frozen:
        form.add_error(None, str(frozen))
    except Changed:
        form.add_error(None, _("Somebody changed this run meanwhile. Look at the answer as it is now."))
    else:
        return True
    return False


@asks(Act.PLAN, posts=True, wet_run=WetRun)
def wet_run_supersede(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Begin a wet run in the place of a proven one."""
    if wet_run.is_open or wet_run.superseded_by_id is not None:
        messages.error(
            request, _("Only a proven run is superseded, and only once: an open one is simply gone on with.")
        )
        return redirect("wet-run", wet_run=wet_run.pk)
    form = SuccessorForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        following = successor(wet_run, request.desk, with_readings=form.cleaned_data["with_readings"])
        return redirect("wet-run", wet_run=following.pk)
    return render(request, "wet_runs/supersede.html", {"wet_run": wet_run, "form": form})


@asks(Act.ENTER, posts=True, wet_run=WetRun)
def wet_run_stands(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Take down that readings which were asked about stand as typed."""
    if request.method == "POST":
        readings, remark = request.POST.getlist("reading"), request.POST.get("remark", "")
        at = timezone.localtime().strftime("%Y-%m-%d %H:%M")
        try:
            count = keep_standing(wet_run, request.desk, readings, at=at, remark=remark)
        except RunProven as proven:
            messages.error(request, refusal_words(proven))
        else:
            messages.success(
                request, _("Taken down: it stands as typed.") if count else _("Nothing is asked about it.")
            )
    return redirect("wet-run", wet_run=wet_run.pk)


addresses = [
    path("wet-runs/<int:wet_run>/prove/", wet_run_prove, name="wet-run-prove"),
    path("wet-runs/<int:wet_run>/supersede/", wet_run_supersede, name="wet-run-supersede"),
    path("wet-runs/<int:wet_run>/stands/", wet_run_stands, name="wet-run-stands"),
]
