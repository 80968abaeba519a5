"""A season of a machine: its page, a new one, its head, putting it away."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.models import UNITS
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.seasons import problems_of_season, settled
from wetrun.shop.answers.tip_plans import standing_plan
from wetrun.shop.pages.season_sheet import head_sheet, passes_of, with_head
from wetrun.shop.pages.sheet_keeping import SheetPage
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, Season


class NewSeasonForm(forms.Form):
    """What a season needs to be begun."""

    title = forms.CharField(label=gettext_lazy("Title"), max_length=200)
    units = forms.ChoiceField(
        label=gettext_lazy("Units it is written in"),
        choices=UNITS,
        help_text=gettext_lazy("For numbers typed without a unit, and for the file. Everybody reads it in their own."),
    )


@asks(Act.LOOK, season=Season)
def season_page(request: DeskRequest, season: Season) -> HttpResponse:
    """Show a season."""
    told = {
        "season": season,
        "passes": passes_of(season),
        "problems": [str(one) for one in problems_of_season(season, logs=True)],
        "plan": standing_plan(season),
    }
    return render(request, "seasons/page.html", told)


@asks(Act.PLAN, posts=True, machine=Machine)
def season_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Begin a season."""
    form = NewSeasonForm(request.POST or None, initial=_usual(request))
    if request.method == "POST" and form.is_valid():
        document = {"format_version": 1, **form.cleaned_data}
        season = settled(Season(branch=machine.branch, machine=machine, document=document))
        kept(season, request.desk, _("begun"))
        return redirect("season-pass", season=season.pk, nth=1)
    return render(request, "seasons/new.html", {"form": form, "machine": machine})


def _usual(request: DeskRequest) -> dict[str, Any]:
    return {"title": _("Season %(year)s") % {"year": request.desk.today.year}, "units": request.desk.system.value}


@asks(Act.PLAN, posts=True, season=Season)
def season_edit(request: DeskRequest, season: Season) -> HttpResponse:
    """Change a season's title, what the plan may use, and its water."""
    page = SheetPage(request, season, head_sheet(request, season))
    if page.may_keep():
        before, season.document = season.document, with_head(season.document, page.sheet.document)
        if page.keep(lambda: settled(season), _("title, plan or water changed"), before=before):
            return redirect("season", season=season.pk)
    return render(request, "seasons/edit.html", {"season": season, "page": page, "sheet": page.sheet})


@asks(Act.PLAN, posts=True, season=Season)
def season_put_away(request: DeskRequest, season: Season) -> HttpResponse:
    """Put a season away, or take it out again: nothing is lost."""
    if request.method == "POST":
        season.put_away_at = timezone.now() if season.put_away_at is None else None
        kept(season, request.desk, _("put away") if season.put_away_at else _("taken out again"))
        messages.success(request, _("Put away.") if season.put_away_at else _("Taken out again."))
    return redirect("season", season=season.pk)


addresses = [
    path("machines/<int:machine>/seasons/new/", season_new, name="season-new"),
    path("seasons/<int:season>/", season_page, name="season"),
    path("seasons/<int:season>/edit/", season_edit, name="season-edit"),
    path("seasons/<int:season>/put-away/", season_put_away, name="season-put-away"),
]
