"""The review of an intake: every value beside what the record has now, taken, changed or left out."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.intake_logs import logs_in
from wetrun.shop.answers.intake_review import NOWHERE, Review, document_after, review_of, taken_out
from wetrun.shop.answers.intake_settling import ALL, OUT, Settling, settle, settling_of
from wetrun.shop.answers.season_logs import plain_name
from wetrun.shop.answers.seasons import recount
from wetrun.shop.intake.models import Intake, Stand
from wetrun.shop.pages.field_logs import ask_reading
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.pages.sheet_keeping import UNFINISHED, read_version
from wetrun.shop.records.models.base import Changed


@asks(Act.PLAN, posts=True, intake=Intake)
def intake_review(request: DeskRequest, intake: Intake) -> HttpResponse:
    """Decide value by value; accepting puts what is taken into the season."""
    if intake.stand is not Stand.ANSWERED:
        messages.info(request, _("There is nothing to look through: it is not handed in, or settled already."))
        return redirect("intake", intake=intake.pk)
    review = review_of(intake, request.POST)
    version = read_version(request, review.season)
    problems: tuple[str, ...] = ()
    if request.method == "POST" and request.POST.get("do", "") == "accept":
        made = settling_of(review, intake)
        if (not made.problems or UNFINISHED in request.POST) and _settled(request, intake, review, made):
            return redirect("season", season=made.season.pk)
        problems = made.problems
    told = {"intake": intake, "review": review, "version": version, "problems": problems, "nowhere": NOWHERE}
    told["taken_out"] = taken_out(intake)
    return render(request, "intake/review.html", told | _logs(intake, review, request))


def _logs(intake: Intake, review: Review, request: DeskRequest) -> dict[str, object]:
    known = [plain_name(one) for one in document_after(review, intake)["pass"]]
    uses = [(ALL, _("every pass without a log of its own")), *((name, name) for name in known if name)]
    logs = [(log, request.POST.get(f"log.{log.pk}", ALL)) for log in logs_in(intake)]
    return {"logs": logs, "uses": [*uses, (OUT, _("leave it out"))]}


def _settled(request: DeskRequest, intake: Intake, review: Review, made: Settling) -> bool:
    names = {plain_name(one) for one in made.season.document["pass"] if isinstance(one, dict)} | {ALL, OUT}
    asked = {log.pk: request.POST.get(f"log.{log.pk}", ALL) for log in logs_in(intake)}
    logs = {key: use if use in names else ALL for key, use in asked.items()}
    try:
        version = read_version(request, made.season)
        counted = settle(request.desk, intake, review, made, version=version, logs=logs)
    except Changed as changed:
        messages.error(request, changed_words(changed.now))
        return False
    for log in counted:
        ask_reading(log, request.desk.user)
    recount(intake.machine)
    messages.success(request, _("Taken over into “%(season)s”.") % {"season": made.season})
    return True


addresses = [path("intakes/<int:intake>/review/", intake_review, name="intake-review")]
