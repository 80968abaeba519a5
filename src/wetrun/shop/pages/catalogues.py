"""Tips: the branch's tip files, the built-in generic ones, one tip over its pressures; and maps of log columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _

from wetrun.errors import InputProblems, NotDefined, Problem
from wetrun.machine.catalogue import catalogue as generic_catalogue
from wetrun.machine.catalogue import tip_named
from wetrun.machine.tip import Tip
from wetrun.papers.tip_data import tip_data, tip_line
from wetrun.papers.tip_picture import class_svg
from wetrun.papers.words import CAUTIONS, GENERIC_CAUTION
from wetrun.quantity import Kind
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.shared_files import Shared, mapping_of, seasons_using, taken_away, tips_of
from wetrun.shop.pages.listing import page_of
from wetrun.shop.pages.tip_seeking import LiquidForm, TipSeekForm
from wetrun.shop.records.models import Catalogue, ColumnMap, TipPlan

MOST_NAMED: Final = 8
MOST_SHOWN: Final = 40


@asks(Act.LOOK)
def catalogues(request: DeskRequest) -> HttpResponse:
    """Show the branch's tip files and maps of columns."""
    files, maps = (kind.objects.of(request.desk).filter(replaced_at=None) for kind in (Catalogue, ColumnMap))
    told = {
        "files": files.select_related("made_by").defer("text"),
        "maps": maps.select_related("made_by").defer("text"),
        "generic_count": len(generic_catalogue()),
    }
    return render(request, "catalogues/list.html", told)


@asks(Act.LOOK, to_post=Act.PLAN, catalogue=Catalogue)
def catalogue_page(request: DeskRequest, catalogue: Catalogue) -> HttpResponse:
    """Show the tips of one file; sent back, it is taken out of use."""
    if request.method == "POST":
        return _away(request, catalogue)
    tips, problems = _read(catalogue)
    told = {"file": catalogue, "problems": problems, "earlier": _others(catalogue), "uses": _uses(catalogue)}
    return render(request, "catalogues/file.html", told | _sought(request, tips))


@asks(Act.LOOK)
def generic_tips(request: DeskRequest) -> HttpResponse:
    """Show the built-in generic tips."""
    told = {"caution": GENERIC_CAUTION}
    return render(request, "catalogues/generic.html", told | _sought(request, generic_catalogue()))


@asks(Act.LOOK, catalogue=Catalogue)
def catalogue_tip(request: DeskRequest, catalogue: Catalogue) -> HttpResponse:
    """Show one tip of a file over its pressures with a liquid."""
    tips, _problems = _read(catalogue)
    return render(request, "catalogues/tip.html", {"file": catalogue} | _tip_told(request, tips))


@asks(Act.LOOK)
def generic_tip(request: DeskRequest) -> HttpResponse:
    """Show one generic tip over its pressures with a liquid."""
    return render(request, "catalogues/tip.html", {"file": None} | _tip_told(request, generic_catalogue()))


@asks(Act.LOOK, to_post=Act.PLAN, column_map=ColumnMap)
def column_map_page(request: DeskRequest, column_map: ColumnMap) -> HttpResponse:
    """Show what the columns of a log mean; sent back, the map is taken out of use."""
    if request.method == "POST":
        return _away(request, column_map)
    told: dict[str, Any] = {"file": column_map, "earlier": _others(column_map), "uses": _uses(column_map)}
    try:
        mapping = mapping_of(column_map)
    except InputProblems as found:
        return render(request, "catalogues/map.html", told | {"problems": found.problems})
    width = mapping.full_width_m
    told["width"] = None if width is None else request.desk.reader.exact(width, Kind.WIDTH)
    return render(request, "catalogues/map.html", told | {"columns": mapping.columns.items()})


def _read(catalogue: Catalogue) -> tuple[tuple[Tip, ...], tuple[Problem, ...]]:
    """The tips of a file, or what is wrong in one that an older Wetrun took in."""
    try:
        return tips_of(catalogue), ()
    except InputProblems as found:
        return (), found.problems


def _sought(request: DeskRequest, tips: Sequence[Tip]) -> dict[str, Any]:
    """The page of a list of tips that was asked for."""
    seek = TipSeekForm(request.GET)
    page = page_of(request, [tip for tip in tips if seek.wants(tip)])
    reader = request.desk.reader
    return {"seek": seek, "page": page, "lines": [tip_line(tip, reader) for tip in page], "all": len(tips)}


def _tip_told(request: DeskRequest, tips: Sequence[Tip]) -> dict[str, Any]:
    try:
        tip = tip_named(tips, request.GET["tip"]) if "tip" in request.GET else next(iter(tips))
    except (NotDefined, StopIteration) as none:
        raise Http404(str(none)) from none
    form = LiquidForm(request.GET if "carrier" in request.GET else None, desk=request.desk)
    reader = request.desk.reader
    cautions = [*([GENERIC_CAUTION] if tip.generic else []), *(CAUTIONS[3:4] if tip.pattern else [])]
    picture = "" if tip.pattern is None else class_svg(tip, reader)
    return {"form": form, "told": tip_data(tip, form.liquid, reader), "picture": picture, "cautions": cautions}


def _others(record: Shared) -> list[dict[str, Any]]:
    """Every file of a name that stood before, and the one that stands where this one does not."""
    page, key = ("catalogue", "catalogue") if isinstance(record, Catalogue) else ("column-map", "column_map")
    found = type(record)._default_manager.filter(branch_id=record.branch_id, name=record.name).exclude(pk=record.pk)
    others = found.select_related("made_by").defer("text").order_by("-pk")
    return [{"file": one, "address": reverse(page, kwargs={key: one.pk})} for one in others]


def _uses(record: Shared) -> dict[str, Any]:
    """The seasons that use a file, those first whose standing tip plan was made before it."""
    seasons = () if record.replaced_at is not None else seasons_using(record)
    plans = TipPlan.objects.filter(season__branch_id=record.branch_id, replaced_at=None)
    made = dict(plans.values_list("season_id", "made_at"))
    rows = [{"season": one, "is_old": _is_old(record, made.get(one.pk))} for one in seasons]
    first = sorted(rows, key=lambda row: not row["is_old"])[:MOST_SHOWN]
    return {"rows": first, "count": len(rows), "more": len(rows) - len(first)}


def _is_old(record: Shared, plan_made_at: Any) -> bool:  # noqa: ANN401
    return plan_made_at is not None and plan_made_at < record.made_at


def _away(request: DeskRequest, record: Shared) -> HttpResponse:
    if record.replaced_at is not None:
        raise PermissionDenied(_("This file was replaced. Go to the one that stands."))
    users = taken_away(request.desk, record)
    if users:
        words = _("“%(name)s” stays, because it is in use. Name another file in these first: %(users)s.")
        messages.warning(request, words % {"name": record, "users": ", ".join(users[:MOST_NAMED])})
        return redirect(request.path)
    messages.success(request, _("“%(name)s” is out of use. It is kept as it was.") % {"name": record})
    return redirect("catalogues")


addresses = [
    path("catalogues/", catalogues, name="catalogues"),
    path("catalogues/generic/", generic_tips, name="generic-tips"),
    path("catalogues/generic/tip/", generic_tip, name="generic-tip"),
    path("catalogues/<int:catalogue>/", catalogue_page, name="catalogue"),
    path("catalogues/<int:catalogue>/tip/", catalogue_tip, name="catalogue-tip"),
    path("column-maps/<int:column_map>/", column_map_page, name="column-map"),
]
