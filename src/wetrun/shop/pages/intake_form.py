"""What a customer fills in behind a link: step by step on a phone, kept as typed, until it is handed in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.defaultfilters import filesizeformat
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.answers.intake_draft import MOST_PASSES, passes_in, typed_in, with_order, with_part, with_pass
from wetrun.shop.answers.intake_entries import PART_OF, PARTS
from wetrun.shop.answers.intake_keeping import DraftTooLong, hand_in, intake_of, keep_typed, keep_units
from wetrun.shop.answers.intake_logs import MOST_LOGS, log_taken, log_taken_back, logs_in, why_not
from wetrun.shop.answers.intake_sheets import part_sheet, title_of, told_passes
from wetrun.shop.intake.models import Intake
from wetrun.shop.links.door import asks_link
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.pages.field_log_forms import SeveralFilesField
from wetrun.shop.pages.field_logs import ROOM, ask_reading
from wetrun.shop.pages.uploads import Upload, takes_files
from wetrun.shop.records.models import FieldLog


class HandInForm(forms.Form):
    """Who filled it in, and what the forms did not ask."""

    filled_in_by = forms.CharField(label=gettext_lazy("Your name"), max_length=120)
    remarks = forms.CharField(
        label=gettext_lazy("Anything else we should know"),
        max_length=4000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )


class LinkLogForm(forms.Form):
    """Field logs as the terminal wrote them."""

    sent = SeveralFilesField(label=gettext_lazy("Files"))

    def __init__(self, *args: Any, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **more)
        words = _("Up to %(count)s files, each up to %(most)s; a folder or shapefile as one zip.")
        most = filesizeformat(settings.MOST_LINK_LOG_BYTES)
        self.fields["sent"].help_text = words % {"count": MOST_LOGS, "most": most}


@asks_link(Purpose.INTAKE, posts=True)
def intake_open(request: HttpRequest, link: Link) -> HttpResponse:
    """Show what was typed so far; add a pass, put passes in order, or choose the units."""
    intake = intake_of(link)
    token = _token(request)
    if request.method == "POST":
        return redirect(_ordered(request, intake, token))
    told = {"passes": told_passes(intake), "logs": logs_in(intake), "most": MOST_PASSES}
    return _page(request, "intake/open.html", intake, **told)


def _ordered(request: HttpRequest, intake: Intake, token: str) -> str:
    """Do what a button asked; return where to go on."""
    what, _colon, key = request.POST.get("do", "").partition(":")
    here = reverse("intake-open", kwargs={"token": token})
    if what == "units":
        keep_units(intake, request.POST.get("units", ""))
        return here
    if what == "add":
        before = {one["key"] for one in passes_in(intake)}
        now = keep_typed(intake, lambda draft: with_pass(draft, {}), _("pass added over the link"))
        new = [one["key"] for one in passes_in(now) if one["key"] not in before]
        return _part_address(token, new[-1], PARTS[0].key) if new else here
    if key.isascii() and key.isdigit() and len(key) < 6:
        keep_typed(intake, lambda draft: with_order(draft, int(key), what), _("passes ordered over the link"))
    return here


@asks_link(Purpose.INTAKE, posts=True)
def intake_pass(request: HttpRequest, link: Link, key: int, part: str) -> HttpResponse:
    """Take one form of one pass: kept as typed whatever is wrong with it, then said what cannot be read."""
    intake, form = intake_of(link), PART_OF.get(part)
    typed = typed_in(intake, key)
    if form is None or typed is None:
        raise Http404(_("There is no such step. Go back to the first page of the link."))
    sheet = part_sheet(intake, typed, form, request.POST if request.method == "POST" else None)
    if request.method == "POST":
        what = _("%(part)s of %(name)s typed over the link") % {"part": form.title, "name": title_of(typed, key)}
        try:
            keep_typed(intake, lambda draft: with_part(draft, key, form, sheet.document), what)
        except DraftTooLong as too_long:
            sheet.problems.append(str(too_long))
        if sheet.is_ok():
            return redirect(_next(request, key, part))
    elif typed:
        sheet.check()
    told = {"sheet": sheet, "part": form, "parts": PARTS, "key": key, "name": title_of(typed, key)}
    return _page(request, "intake/pass.html", intake, **told)


def _next(request: HttpRequest, key: int, part: str) -> str:
    names = [one.key for one in PARTS]
    at = names.index(part) + 1
    token = _token(request)
    last = at == len(names) or "back" in request.POST
    return reverse("intake-open", kwargs={"token": token}) if last else _part_address(token, key, names[at])


@asks_link(Purpose.INTAKE, posts=True)
@takes_files("MOST_LINK_LOG_BYTES")
def intake_logs(request: HttpRequest, link: Link) -> HttpResponse:
    """Take field logs in; the worker reads them, and what it finds is said on this page."""
    intake = intake_of(link)
    drop = request.POST.get("drop", "")
    if drop.isascii() and drop.isdigit() and len(drop) < 19:
        log_taken_back(intake, int(drop))
        return redirect("intake-logs", token=_token(request))
    form = LinkLogForm(*((request.POST, request.FILES) if request.method == "POST" else ()))
    if form.is_valid():
        wrong = [words for upload in request.FILES.getlist("sent") if (words := _taken(intake, upload))]
        if not wrong:
            return redirect("intake-logs", token=_token(request))
        form.add_error("sent", wrong)
    return _page(request, "intake/logs.html", intake, form=form, logs=logs_in(intake))


def _taken(intake: Intake, upload: object) -> str:
    """Keep one file; return why not if it is not taken."""
    if not isinstance(upload, Upload):
        return _("The file did not come in whole. Choose it again.")
    name, size = upload.name or "log", upload.size or 0
    if words := why_not(intake, name, size, upload.sha256):
        return words
    log = FieldLog(name=name, size=size, sha256=upload.sha256, stored=upload.keep(ROOM))
    with transaction.atomic():
        ask_reading(log_taken(intake, log), None)
    return ""


@asks_link(Purpose.INTAKE, posts=True)
def intake_hand_in(request: HttpRequest, link: Link) -> HttpResponse:
    """Look over what was typed, and hand it in: the link then opens nothing any more."""
    intake = intake_of(link)
    form = HandInForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        hand_in(intake, link, **form.cleaned_data)
        return _page(request, "intake/thanks.html", intake)
    return _page(request, "intake/hand_in.html", intake, form=form, passes=told_passes(intake), logs=logs_in(intake))


def _page(request: HttpRequest, template: str, intake: Intake, **told: object) -> HttpResponse:
    return render(request, template, {"intake": intake, "token": _token(request), **told})


def _token(request: HttpRequest) -> str:
    return str(request.resolver_match.kwargs["token"]) if request.resolver_match is not None else ""


def _part_address(token: str, key: int, part: str) -> str:
    return reverse("intake-pass", kwargs={"token": token, "key": key, "part": part})


addresses = [
    path("intake/<str:token>/", intake_open, name="intake-open"),
    path("intake/<str:token>/passes/<int:key>/<slug:part>/", intake_pass, name="intake-pass"),
    path("intake/<str:token>/logs/", intake_logs, name="intake-logs"),
    path("intake/<str:token>/hand-in/", intake_hand_in, name="intake-hand-in"),
]
