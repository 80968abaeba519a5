"""Replays: a set driven over a log again, with its map and its worst places."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.papers.map_picture import map_rows, map_svg, squares_of
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.replays import ReplayAsked, digest_of
from wetrun.shop.jobs.asking import asked
from wetrun.shop.jobs.models import Job, State
from wetrun.shop.pages.field_log_forms import pass_names_of
from wetrun.shop.pages.tip_names import tip_idents
from wetrun.shop.pages.tip_plans import shown_to
from wetrun.shop.records.models import FieldLog, Replay, Season
from wetrun.shop.records.readiness import stand_of


class ReplayForm(forms.Form):
    """Which set is driven over a log, and how fast the machine follows."""

    pass_name = forms.ChoiceField(label=gettext_lazy("Pass"))
    tip = forms.CharField(
        label=gettext_lazy("Tip (ident)"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("Left empty: the set of the tip plan."),
        widget=forms.TextInput(attrs={"list": "replay-tips"}),
    )
    lag = forms.CharField(
        label=gettext_lazy("Lag of the rate controller"),
        required=False,
        max_length=40,
        help_text=gettext_lazy("Such as 0.8 s; left empty: what the machine's record says."),
    )
    delay = forms.CharField(label=gettext_lazy("Delay before the flow moves"), required=False, max_length=40)
    fit = forms.BooleanField(
        label=gettext_lazy("Find lag and delay in the log itself"),
        required=False,
        help_text=gettext_lazy("Only from a log that carries the rate that really came out."),
    )

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        self.fields["pass_name"].choices = [(one, one) for one in pass_names_of(season)]  # type: ignore[attr-defined]

    def question(self) -> ReplayAsked:
        """Return what was asked."""
        typed = self.cleaned_data
        return ReplayAsked(
            pass_name=typed["pass_name"], tip=typed["tip"], lag=typed["lag"], delay=typed["delay"], fit=typed["fit"]
        )


@asks(Act.ENTER, posts=True, fieldlog=FieldLog)
def replay_new(request: DeskRequest, fieldlog: FieldLog) -> HttpResponse:
    """Ask for a set to be driven over a log."""
    season = fieldlog.season or stand_of(fieldlog.machine, request.desk).season
    told: dict[str, Any] = {"log": fieldlog, "season": season}
    if season is None:
        return render(request, "replays/new.html", told)
    initial = {"pass_name": fieldlog.passes[0]} if fieldlog.passes else {}
    form = ReplayForm(request.POST or None, initial=initial, season=season)
    if request.method == "POST" and form.is_valid():
        _ask(request, fieldlog, season, form.question())
        return redirect("fieldlog", fieldlog=fieldlog.pk)
    return render(request, "replays/new.html", told | {"form": form, "tips": tip_idents(fieldlog.branch_id)})


def _ask(request: DeskRequest, log: FieldLog, season: Season, question: ReplayAsked) -> Job:
    args = {"log": log.pk, "season": season.pk, "digest": digest_of(log, season, question)}
    args |= {key: getattr(question, key) for key in ("pass_name", "tip", "lag", "delay", "fit")}
    words = _("%(tip)s over %(log)s") % {"tip": question.tip or _("The plan's set"), "log": log.name}
    with transaction.atomic():
        return asked(log.branch, "replay", by=request.desk.user, words=words, args=args, subject=log)


def job_of(log: FieldLog) -> Job | None:
    """Return the replay of a log that is under way or failed last, if there is one."""
    found = Job.objects.filter(branch=log.branch_id, kind="replay", subject_key=str(log.pk)).order_by("-pk").first()
    return found if found is not None and found.state not in {State.DONE, State.CANCELLED} else None


@asks(Act.LOOK, replay=Replay)
def replay_page(request: DeskRequest, replay: Replay) -> HttpResponse:
    """Show what a set would have done over a log."""
    drawn = replay.map or {}
    squares = squares_of(drawn) if drawn.get("features") else ()
    title = _("Rate over %(log)s with %(tip)s") % {"log": replay.log.name, "tip": replay.tip}
    reader = request.desk.reader
    told = {
        "replay": replay,
        "shown": shown_to(request, replay),
        "map_svg": map_svg(squares, title) if squares else "",
        "map_title": title,
        "map_rows": [{**row, "area": reader.area(row["area_m2"])} for row in map_rows(squares)] if squares else [],
        "missing": drawn.get("missing", []),
        "left_out": reader.area(drawn["left_out_m2"]) if drawn.get("left_out_m2") else "",
    }
    return render(request, "replays/page.html", told)


addresses = [
    path("logs/<int:fieldlog>/replays/new/", replay_new, name="replay-new"),
    path("replays/<int:replay>/", replay_page, name="replay"),
]
