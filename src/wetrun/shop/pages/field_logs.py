"""Field logs: handed in as they come, read by the worker, told with every repair and doubt."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.models import User
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.seasons import recount
from wetrun.shop.jobs.asking import asked
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.pages.field_log_forms import MOST_FILES, LogUseForm, NewLogForm
from wetrun.shop.pages.replays import job_of as replay_under_way
from wetrun.shop.pages.tip_plans import shown_to
from wetrun.shop.pages.uploads import Upload, takes_files
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import FieldLog, Machine
from wetrun.shop.records.models.base import Changed
from wetrun.shop.records.readiness import stand_of

ROOM = "logs"


@asks(Act.ENTER, posts=True, machine=Machine)
@takes_files("MOST_LOG_BYTES")
def log_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Take field logs in."""
    usual = {"season": stand_of(machine, request.desk).season}
    form = NewLogForm(request.POST or None, request.FILES or None, initial=usual, machine=machine)
    if request.method == "POST" and form.is_valid():
        taken = list(_taken(request, machine, form.cleaned_data))
        recount(machine)
        if len(taken) == 1:
            return redirect("fieldlog", fieldlog=taken[0].pk)
        return redirect("machine", machine=machine.pk)
    return render(request, "logs/new.html", {"form": form, "machine": machine})


def _taken(request: DeskRequest, machine: Machine, use: dict[str, Any]) -> Iterator[FieldLog]:
    """Keep the files that came in, each once; a file that is there already is named and left out."""
    files = [one for one in request.FILES.getlist("sent") if isinstance(one, Upload)]
    if len(files) > MOST_FILES:
        words = _("Of %(count)s files the first %(most)s were taken; hand the others in again, or as one zip.")
        messages.warning(request, words % {"count": len(files), "most": MOST_FILES})
    for upload in files[:MOST_FILES]:
        twin = FieldLog.objects.filter(machine=machine, sha256=upload.sha256, taken_away_at=None).first()
        if twin is not None:
            words = _("“%(name)s” is here already, as “%(twin)s”: it would count its acres twice.")
            messages.warning(request, words % {"name": upload.name, "twin": twin.name})
            continue
        yield _kept(request, machine, upload, use)


def _kept(request: DeskRequest, machine: Machine, upload: Upload, use: dict[str, Any]) -> FieldLog:
    log = FieldLog(
        machine=machine,
        name=upload.name or "log",
        season=use["season"],
        passes=list(use["passes"]),
        column_map=use["column_map"],
        size=upload.size or 0,
        sha256=upload.sha256,
        stored=upload.keep(ROOM),
    )
    with transaction.atomic():
        kept(log, request.desk, _("handed in"))
        ask_reading(log, request.desk.user)
    messages.success(request, _("“%(name)s” is kept and will be read.") % {"name": log.name})
    return log


def ask_reading(log: FieldLog, by: User | None) -> Job:
    """Ask for a log to be read; asked twice while it waits, it is read once."""
    return asked(
        log.branch,
        "field log",
        by=by,
        words=_("Reading %(log)s of %(machine)s") % {"log": log.name, "machine": log.machine},
        args={"log": log.pk, "map": log.column_map, "passes": log.passes},
        subject=log,
    )


@asks(Act.LOOK, to_post=Act.ENTER, fieldlog=FieldLog)
def log_page(request: DeskRequest, fieldlog: FieldLog) -> HttpResponse:
    """Show what a log holds, and say which passes it stands for."""
    initial = {"season": fieldlog.season, "passes": fieldlog.passes, "column_map": fieldlog.column_map}
    form = LogUseForm(request.POST or None, initial=initial, machine=fieldlog.machine)
    if request.method == "POST" and form.is_valid() and _use_changed(request, fieldlog, form):
        return redirect("fieldlog", fieldlog=fieldlog.pk)
    told = {
        "log": fieldlog,
        "form": form,
        "job": _job_of(fieldlog),
        "replaying": replay_under_way(fieldlog),
        "shown": None if fieldlog.in_us is None else shown_to(request, fieldlog),
    }
    return render(request, "logs/page.html", told)


def _use_changed(request: DeskRequest, log: FieldLog, form: LogUseForm) -> bool:
    use = form.cleaned_data
    log.season, log.passes, log.column_map = use["season"], list(use["passes"]), use["column_map"]
    log.state = "waiting"
    try:
        with transaction.atomic():
            kept(log, request.desk, _("stands for other passes, or is read by another map"))
            ask_reading(log, request.desk.user)
    except Changed:
        form.add_error(None, _("Somebody else changed this log in the meantime. Look at it again."))
        return False
    recount(log.machine)
    messages.success(request, _("Kept. It will be read again."))
    return True


def _job_of(log: FieldLog) -> Job | None:
    found = Job.objects.filter(branch=log.branch_id, kind="field log", subject_key=str(log.pk)).order_by("-pk").first()
    return found if found is not None and found.state not in {State.DONE, State.CANCELLED} else None


@asks(Act.PLAN, posts=True, fieldlog=FieldLog)
def log_take_away(request: DeskRequest, fieldlog: FieldLog) -> HttpResponse:
    """Take a log away: no plan counts it any more; the file stays until the branch's records are cleared."""
    if request.method == "POST" and fieldlog.taken_away_at is None:
        fieldlog.taken_away_at = timezone.now()
        kept(fieldlog, request.desk, _("taken away"))
        recount(fieldlog.machine)
        messages.success(request, _("“%(name)s” is taken away.") % {"name": fieldlog.name})
    return redirect("machine", machine=fieldlog.machine_id)


@asks(Act.LOOK, fieldlog=FieldLog)
def log_file(_request: DeskRequest, fieldlog: FieldLog) -> HttpResponseBase:
    """Hand a log out as it was handed in."""
    place = settings.UPLOADS / fieldlog.stored
    if not place.is_file():
        raise Http404(_("The file of this log is no longer kept; what was found in it is."))
    return FileResponse(
        place.open("rb"), as_attachment=True, filename=fieldlog.name, content_type="application/octet-stream"
    )


addresses = [
    path("machines/<int:machine>/logs/new/", log_new, name="log-new"),
    path("logs/<int:fieldlog>/", log_page, name="fieldlog"),
    path("logs/<int:fieldlog>/take-away/", log_take_away, name="fieldlog-take-away"),
    path("logs/<int:fieldlog>/file/", log_file, name="fieldlog-file"),
]
