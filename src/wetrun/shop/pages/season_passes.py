"""One pass of a season: typed, copied, moved, taken out."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.seasons import settled
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.pages.season_sheet import lay_whole, pass_sheet, passes_of, with_pass
from wetrun.shop.pages.sheet_keeping import UNFINISHED, SheetPage, read_version
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Season
from wetrun.shop.records.models.base import Changed

MOST_PASSES = 200


@asks(Act.PLAN, posts=True, season=Season)
def season_pass(request: DeskRequest, season: Season, nth: int) -> HttpResponse:
    """Type a pass; the one after the last is a new one."""
    count = len(passes_of(season))
    if not 1 <= nth <= min(count + 1, MOST_PASSES):
        raise Http404(_("The season has no such pass."))
    page = SheetPage(request, season, pass_sheet(request, season, nth))
    if page.may_keep() and _kept(page, season, nth):
        return redirect("season", season=season.pk)
    told = {"season": season, "page": page, "sheet": page.sheet, "nth": nth, "is_new": nth > count}
    return render(request, "seasons/pass.html", told)


def _kept(page: SheetPage, season: Season, nth: int) -> bool:
    before, season.document = season.document, with_pass(season, nth, page.sheet.document)
    if UNFINISHED not in page.request.POST:
        lay_whole(page.sheet, season, f"pass[{nth}]")
        if page.sheet.wrong:
            return False
    name = page.sheet.document.get("name") or nth
    return page.keep(lambda: settled(season), _("pass %(name)s changed") % {"name": name}, before=before)


@asks(Act.PLAN, posts=True, season=Season)
def season_pass_move(request: DeskRequest, season: Season, nth: int) -> HttpResponse:
    """Move a pass up or down, copy it, or take it out."""
    passes = passes_of(season)
    if not 1 <= nth <= len(passes):
        raise Http404(_("The season has no such pass."))
    name, asked = passes[nth - 1].get("name") or nth, request.POST.get("do", "")
    changed = _changed(passes, nth - 1, asked) if request.method == "POST" else None
    if changed is not None:
        before, season.document = season.document, {**season.document, "pass": changed}
        _keep_order(request, season, f"{name}: {asked}", before)
    return redirect("season", season=season.pk)


def _changed(passes: list[dict[str, Any]], at: int, asked: str) -> list[dict[str, Any]] | None:
    """The passes after what was asked; None if it was nothing that can be done."""
    rest = [*passes[:at], *passes[at + 1 :]]
    if asked == "out":
        return rest
    if asked == "copy" and len(passes) < MOST_PASSES:
        twin = {**passes[at], "name": f"{passes[at].get('name', '')} 2".strip()}
        return [*passes[: at + 1], twin, *passes[at + 1 :]]
    to = {"up": at - 1, "down": at + 1}.get(asked, -1)
    if not 0 <= to < len(passes):
        return None
    return [*rest[:to], passes[at], *rest[to:]]


def _keep_order(request: DeskRequest, season: Season, what: str, before: dict[str, Any]) -> None:
    try:
        kept(settled(season), request.desk, what, expected=read_version(request, season), before=before)
    except Changed as changed:
        messages.error(request, changed_words(changed.now))


addresses = [
    path("seasons/<int:season>/passes/<int:nth>/", season_pass, name="season-pass"),
    path("seasons/<int:season>/passes/<int:nth>/move/", season_pass_move, name="season-pass-move"),
]
