"""Takes readings of a wet run, one by one: from a page, or as JSON from a device that may send them twice."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.readings import (
    EntryTaken,
    KeptReading,
    ReadingRefused,
    RunProven,
    TypedReading,
    keep_reading,
)

FORMAT_VERSION: Final = 1
BAD, CONFLICT, MADE, THERE = 400, 409, 201, 200


class MomentField(forms.CharField):
    """A moment as a device writes it, with its offset: 2027-03-12T07:40:05-06:00."""

    def clean(self, value: Any) -> datetime | None:  # noqa: ANN401 - Django's own
        """Return the moment; None if none was told."""
        text = super().clean(value)
        if not text:
            return None
        try:
            moment = parse_datetime(text)
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo is None:
            raise ValidationError(_("“%(text)s” is no moment; write 2027-03-12T07:40:05-06:00.") % {"text": text})
        return moment


class ReadingForm(forms.Form):
    """One reading."""

    entry = forms.UUIDField(widget=forms.HiddenInput)
    place = forms.CharField(label=gettext_lazy("What was read"), max_length=120)
    typed = forms.CharField(label=gettext_lazy("Reading"), max_length=200, required=False)
    at = MomentField(widget=forms.HiddenInput, max_length=40, required=False)

    @property
    def reading(self) -> TypedReading:
        """The reading, once the form is valid."""
        given = self.cleaned_data
        return TypedReading(given["entry"], given["place"], given["typed"], given["at"] or timezone.now())


@asks(Act.ENTER, posts=True, wet_run=WetRun)
def readings(request: DeskRequest, wet_run: WetRun) -> HttpResponseBase:
    """Take one reading."""
    if request.method != "POST":
        return _page(request, wet_run, ReadingForm(initial={"entry": uuid.uuid4()}), THERE)
    form = ReadingForm(request.POST)
    if not form.is_valid():
        return _page(request, wet_run, form, BAD)
    try:
        kept = keep_reading(wet_run, form.reading, request.user)
    except ReadingRefused as refused:
        form.add_error(None, refusal_words(refused))
        return _page(request, wet_run, form, CONFLICT)
    return _told(request, kept)


def refusal_words(refused: ReadingRefused) -> str:
    """Return why a reading was not kept, and what to do.

    Parameters
    ----------
    refused : ReadingRefused
        From `keep_reading`.

    Returns
    -------
    str
        In the reader's language.
    """
    if isinstance(refused, RunProven):
        return _("This wet run is proven and takes no more readings. Begin another one that supersedes it.")
    if isinstance(refused, EntryTaken):
        return _(
            "Under this entry “%(typed)s” was kept for %(place)s. Load the page anew, then enter the reading once more."
        ) % {"typed": refused.kept.typed, "place": refused.kept.place}
    raise TypeError(type(refused).__name__)


def _wants_json(request: HttpRequest) -> bool:
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


def _page(request: DeskRequest, wet_run: WetRun, form: ReadingForm, status: int) -> HttpResponse:
    if _wants_json(request):
        problems = {name: [str(error) for error in errors] for name, errors in form.errors.items()}
        return JsonResponse({"format_version": FORMAT_VERSION, "problems": problems}, status=status)
    last = wet_run.readings.order_by("-number")[:10]
    shown = {"wet_run": wet_run, "form": form, "last": last}
    return render(request, "readings/page.html", shown, status=status)


def _told(request: DeskRequest, kept: KeptReading) -> HttpResponseBase:
    reading = kept.reading
    if not _wants_json(request):
        return redirect("readings", wet_run=reading.wet_run_id)
    told = {
        "format_version": FORMAT_VERSION,
        "entry": str(reading.entry),
        "number": reading.number,
        "kept_at": reading.kept_at.isoformat(),
        "again": kept.again,
    }
    return JsonResponse(told, status=THERE if kept.again else MADE)


addresses = [
    path("wet-runs/<int:wet_run>/readings/", readings, name="readings"),
]
