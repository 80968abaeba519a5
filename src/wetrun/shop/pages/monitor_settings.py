"""The numbers of a machine's monitor: as they stand, against what the wet run proved, and how they came to be."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.documents.wetrun_monitor_entry import MonitorEntry
from wetrun.quantity import System
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.monitor_history import against_run, history_line, numbers_told, run_to_stand_by
from wetrun.shop.pages.listing import page_of
from wetrun.shop.pages.wet_run_forms import DayInput
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, MonitorSettings
from wetrun.shop.typed.sheet import Sheet

ROWS = 20


class SnapshotForm(forms.Form):
    """When the numbers were read, by whom, and why."""

    on = forms.DateField(label=gettext_lazy("Day"), widget=DayInput)
    by = forms.CharField(label=gettext_lazy("Read by"), max_length=200)
    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=300,
        required=False,
        help_text=gettext_lazy("Such as: new monitor, customer called, numbers lost."),
    )


@asks(Act.LOOK, machine=Machine)
def monitor_settings(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Show a monitor's numbers and their history."""
    found = MonitorSettings.objects.filter(machine=machine).select_related("wet_run", "made_by")
    page = page_of(request, found, ROWS)
    latest, run = found.first(), run_to_stand_by(machine)
    told = {
        "machine": machine,
        "latest": latest,
        "numbers": () if latest is None else numbers_told(latest),
        "run": run,
        "rows": [] if latest is None or run is None else against_run(latest, run, request.desk.reader),
        "page": page,
        "lines": [history_line(one) for one in page],
    }
    return render(request, "monitor_settings/page.html", told)


@asks(Act.ENTER, posts=True, machine=Machine)
def monitor_settings_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Take down what a monitor shows now, and what it was left with."""
    latest = MonitorSettings.objects.filter(machine=machine).first()
    form = SnapshotForm(request.POST or None, initial={"on": request.desk.today, "by": request.desk.user.name})
    sheet = _sheet(request, latest)
    # Both are looked at, so that whoever sends them back is told everything at once.
    good = sheet.is_ok()
    if request.method == "POST" and not sheet.wants_more and form.is_valid() and good:
        settings = MonitorSettings(machine=machine, units=request.desk.system.value, document=sheet.document)
        settings.on, settings.by, settings.why = (form.cleaned_data[key] for key in ("on", "by", "why"))
        kept(settings, request.desk, _("taken down"))
        messages.success(request, _("Taken down."))
        return redirect("monitor-settings", machine=machine.pk)
    told: dict[str, Any] = {"machine": machine, "form": form, "sheet": sheet, "latest": latest}
    told["numbers"] = () if latest is None else numbers_told(latest)
    return render(request, "monitor_settings/new.html", told)


def _sheet(request: DeskRequest, latest: MonitorSettings | None) -> Sheet:
    """The sheet of the monitor known last, without its numbers: those are read off the monitor, never copied."""
    raw = {} if latest is None else latest.document
    return Sheet(
        MonitorEntry,
        raw={key: raw[key] for key in ("name", "scales_meter_by_density", "profile") if key in raw} | {"as_found": {}},
        system=request.desk.system,
        written_in=None if latest is None else System(latest.units),
        posted=request.POST if request.method == "POST" else None,
        file="monitor",
    )


addresses = [
    path("machines/<int:machine>/monitor-settings/", monitor_settings, name="monitor-settings"),
    path("machines/<int:machine>/monitor-settings/new/", monitor_settings_new, name="monitor-settings-new"),
]
