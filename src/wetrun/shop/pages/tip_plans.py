"""Tip plans: the one that stands, the earlier ones, making one, agreeing on one, and its papers."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.papers.papers import Paper
from wetrun.quantity import System
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.papers import Print, cab_card
from wetrun.shop.answers.seasons import problems_of_season
from wetrun.shop.answers.tip_plans import digest_of, standing_plan, stands
from wetrun.shop.answers.unproven import unproven_words
from wetrun.shop.jobs.asking import asked
from wetrun.shop.jobs.models import OPEN, Job
from wetrun.shop.pages.listing import page_of
from wetrun.shop.pages.pdf import file_answer, pdf_answer
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Season, TipPlan
from wetrun.shop.records.readiness import stand_of


@asks(Act.LOOK, to_post=Act.PLAN, season=Season)
def tip_plan(request: DeskRequest, season: Season) -> HttpResponse:
    """Show the plan that stands, or ask for a new one."""
    posted = request.method == "POST"
    problems = problems_of_season(season, logs=True) if posted or season.problems else ()
    if posted and not problems:
        _ask(request, season)
        return redirect("tip-plan", season=season.pk)
    plan = standing_plan(season)
    told = {
        "season": season,
        "plan": plan,
        "problems": [{"words": str(one)} for one in problems],
        "job": _job_of(season),
        "standing": None if plan is None else stands(plan, season),
        "shown": None if plan is None else shown_to(request, plan),
    }
    return render(request, "plans/page.html", told)


def _ask(request: DeskRequest, season: Season) -> None:
    with transaction.atomic():
        asked(
            season.branch,
            "tip plan",
            by=request.desk.user,
            words=_("Tip plan for %(machine)s, %(season)s") % {"machine": season.machine, "season": season},
            args={"season": season.pk, "digest": digest_of(season)},
            subject=season,
        )


def _job_of(season: Season) -> Job | None:
    found = Job.objects.filter(branch=season.branch, kind="tip plan", subject_key=str(season.pk))
    latest = found.order_by("-pk").first()
    return latest if latest is not None and latest.state in {*OPEN, "failed"} else None


def shown_to(request: DeskRequest, record: Any) -> dict[str, Any]:  # noqa: ANN401 - any record with in_us and in_si
    """Return a record's data in the units of whoever looks at it."""
    shown: dict[str, Any] = record.in_si if request.desk.system is System.SI else record.in_us
    return shown


@asks(Act.LOOK, season=Season)
def tip_plans(request: DeskRequest, season: Season) -> HttpResponse:
    """Show every plan that was made for a season."""
    found = TipPlan.objects.filter(season=season).select_related("made_by").defer("in_us", "in_si", "inputs")
    return render(request, "plans/list.html", {"season": season, "page": page_of(request, found)})


@asks(Act.LOOK, tip_plan=TipPlan)
def tip_plan_kept(request: DeskRequest, tip_plan: TipPlan) -> HttpResponse:
    """Show a plan as it was made."""
    return render(request, "plans/kept.html", {"plan": tip_plan, "shown": shown_to(request, tip_plan)})


@asks(Act.PLAN, posts=True, tip_plan=TipPlan)
def tip_plan_agree(request: DeskRequest, tip_plan: TipPlan) -> HttpResponse:
    """Take down that the customer agrees with the plan that stands."""
    if request.method == "POST":
        if tip_plan.replaced_at is not None:
            raise PermissionDenied(_("This plan was replaced. Go through the one that stands."))
        if tip_plan.agreed_at is None:
            tip_plan.agreed_at, tip_plan.agreed_by = timezone.now(), request.desk.user
            kept(tip_plan, request.desk, _("agreed with the customer"))
            messages.success(request, _("Agreed."))
    return redirect("tip-plan", season=tip_plan.season_id)


@asks(Act.LOOK, tip_plan=TipPlan)
def tip_plan_pdf(request: DeskRequest, tip_plan: TipPlan) -> HttpResponseBase:
    """Hand out the tip plan."""
    return pdf_answer(request, tip_plan, "tip plan")


@asks(Act.LOOK, tip_plan=TipPlan)
def cab_card_pdf(request: DeskRequest, tip_plan: TipPlan, nth: int) -> HttpResponseBase:
    """Hand out the cab card of one pass."""
    passes = tip_plan.in_us.get("passes", [])
    if not 1 <= nth <= len(passes):
        raise Http404(_("The plan has no such pass."))
    desk = request.desk
    wanted = Print(
        system=desk.system,
        paper=Paper(desk.paper),
        shop=tip_plan.branch.name,
        of_pass=passes[nth - 1]["name"],
        unproven=unproven_words(stand_of(tip_plan.season.machine, desk)),
    )
    return file_answer(lambda: cab_card(tip_plan, wanted))


addresses = [
    path("seasons/<int:season>/tip-plan/", tip_plan, name="tip-plan"),
    path("seasons/<int:season>/tip-plans/", tip_plans, name="tip-plans"),
    path("tip-plans/<int:tip_plan>/", tip_plan_kept, name="tip-plan-kept"),
    path("tip-plans/<int:tip_plan>/agree/", tip_plan_agree, name="tip-plan-agree"),
    path("tip-plans/<int:tip_plan>/tip-plan.pdf", tip_plan_pdf, name="tip-plan-pdf"),
    path("tip-plans/<int:tip_plan>/cards/<int:nth>.pdf", cab_card_pdf, name="cab-card-pdf"),
]
