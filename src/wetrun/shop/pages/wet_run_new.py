"""Beginning a wet run: typed here or taken from a file; and handing it out as a file again."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _

from wetrun.quantity import System
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.files import keep_test, wet_run_text
from wetrun.shop.answers.wet_run_begun import new_run
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.pages.uploads import takes_files
from wetrun.shop.pages.wet_run_forms import NewRunForm, RunFileForm
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, WetRun
from wetrun.shop.records.models.base import Changed


@asks(Act.ENTER, posts=True, machine=Machine)
def wet_run_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Begin a wet run."""
    form = NewRunForm(request.POST or None, machine=machine, desk=request.desk)
    if request.method == "POST" and form.is_valid():
        run = new_run(machine, form.season, form.head, System(form.cleaned_data["units"]))
        kept(run, request.desk, _("begun"))
        return redirect("wet-run", wet_run=run.pk)
    return render(request, "wet_runs/new.html", {"form": form, "machine": machine})


@asks(Act.ENTER, posts=True, machine=Machine)
@takes_files("MOST_TEXT_BYTES")
def wet_run_import(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Take a wet run in from a file; what it would change of the machine is shown first."""
    form = RunFileForm(request.POST or None, request.FILES or None, machine=machine, desk=request.desk)
    if request.method == "POST" and form.is_valid() and form.proposal is not None:
        try:
            run = keep_test(form.proposal, request.desk)
        except Changed as changed:
            form.add_error(None, changed_words(changed.now))
        else:
            messages.success(request, _("“%(name)s” is taken in.") % {"name": run})
            return redirect("wet-run", wet_run=run.pk)
    return render(request, "wet_runs/import.html", {"form": form, "machine": machine})


@asks(Act.LOOK, wet_run=WetRun)
def wet_run_export(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Hand a wet run out as the command line's own file."""
    del request
    offered = content_disposition_header(as_attachment=True, filename="wetrun.toml")
    headers = {"Content-Disposition": offered, "Cache-Control": "private"}
    return HttpResponse(wet_run_text(wet_run), content_type="application/toml; charset=utf-8", headers=headers)


addresses = [
    path("machines/<int:machine>/wet-runs/new/", wet_run_new, name="wet-run-new"),
    path("machines/<int:machine>/wet-runs/import/", wet_run_import, name="wet-run-import"),
    path("wet-runs/<int:wet_run>/wetrun.toml", wet_run_export, name="wet-run-export"),
]
