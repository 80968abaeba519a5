"""What if a pass were driven, mixed or tipped otherwise: answered while somebody types, kept nowhere."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.quantity import Kind, unit_text
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.what_ifs import CHANGES, SPEEDS, what_if
from wetrun.shop.pages.season_sheet import passes_of
from wetrun.shop.records.models import Season

MOST_TYPED = 60


@asks(Act.LOOK, season=Season)
def what_if_page(request: DeskRequest, season: Season) -> HttpResponse:
    """Show what a pass would be like with other numbers."""
    names = [" ".join(str(one.get("name", "")).split()) for one in passes_of(season)]
    if not names:
        raise Http404(_("The season has no pass yet."))
    chosen = request.GET.get("pass", names[0])
    if chosen not in names:
        raise Http404(_("The season has no such pass."))
    typed = {key: request.GET.get(key, "").strip()[:MOST_TYPED] for key in CHANGES}
    tip = request.GET.get("tip", "").strip()[:200]
    given = {key: with_unit(key, text, request) for key, text in typed.items()}
    answer = what_if(season, chosen, given, tip or None, reader=request.desk.reader)
    told = {
        "season": season,
        "names": names,
        "chosen": chosen,
        "fields": _fields(request, passes_of(season)[names.index(chosen)], typed),
        "tip": tip,
        "answer": answer,
    }
    return render(request, "plans/what_if.html", told)


def with_unit(key: str, text: str, request: DeskRequest) -> str:
    """Return a typed text; a bare number takes the unit printed at its field."""
    bare = text.replace(",", ".", 1).replace(".", "", 1).isdigit()
    return f"{text} {_unit(key, request)}" if bare and _unit(key, request) else text


def _unit(key: str, request: DeskRequest) -> str:
    kind = Kind.SPEED if key in SPEEDS else Kind.RATE if key == "rate" else None
    return "" if kind is None else unit_text(kind, request.desk.system)


def _fields(request: DeskRequest, one: dict[str, Any], typed: dict[str, str]) -> list[dict[str, str]]:
    stated = one.get("speeds")
    speeds: dict[str, Any] = stated if isinstance(stated, dict) else {}
    planned = {"rate": one.get("rate"), "carrier": one.get("carrier"), **{key: speeds.get(key) for key in SPEEDS}}
    labels = {
        "rate": _("Rate"),
        "carrier": _("Carrier"),
        "slow": _("Slow"),
        "usual": _("Usual speed"),
        "fast": _("Fast"),
    }
    return [
        {
            "key": key,
            "label": labels[key],
            "unit": _unit(key, request),
            "typed": typed[key],
            "planned": _one_line(planned[key]),
        }
        for key in CHANGES
    ]


def _one_line(value: object) -> str:
    if isinstance(value, dict):
        return _one_line(value.get("target") or value.get("name") or "")
    return "" if value is None else str(value)


addresses = [path("seasons/<int:season>/what-if/", what_if_page, name="what-if")]
