"""The parts of a season that are edited on a page of their own: its head, and one pass."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from wetrun.documents.entry import Entry
from wetrun.documents.load_entry import WaterEntry
from wetrun.documents.pass_entry import PassEntry
from wetrun.documents.plain_fields import Words
from wetrun.documents.season_entry import PlanEntry, SeasonEntry
from wetrun.quantity import System
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.seasons import problems_of_season
from wetrun.shop.pages.tip_names import tip_idents
from wetrun.shop.records.models import Season
from wetrun.shop.typed.faces import Layout
from wetrun.shop.typed.layouts import LAYOUT
from wetrun.shop.typed.sheet import Sheet

FILE: Final = "season.toml"
HEAD: Final = ("title", "plan", "water")


class SeasonHeadEntry(Entry):
    """What a season says besides its machine and its passes."""

    title: Words
    plan: PlanEntry = PlanEntry()
    water: WaterEntry | None = None


_LAYOUT: Final = LAYOUT.joined(Layout({SeasonHeadEntry: LAYOUT.face(SeasonEntry)}))


def head_sheet(request: DeskRequest, season: Season) -> Sheet:
    """Return the form of a season's title, plan and water."""
    raw = {key: season.document[key] for key in HEAD if key in season.document}
    return _sheet(request, season, SeasonHeadEntry, raw)


def with_head(document: Mapping[str, Any], head: Mapping[str, Any]) -> dict[str, Any]:
    """Return a season with another head, its other keys where they were."""
    kept = {key: head.get(key, value) for key, value in document.items() if key not in HEAD or key in head}
    passes = kept.pop("pass", None)
    kept |= {key: value for key, value in head.items() if key not in kept}
    return kept if passes is None else {**kept, "pass": passes}


def passes_of(season: Season) -> list[dict[str, Any]]:
    """Return a season's passes as typed; what is no table is left out."""
    passes = season.document.get("pass")
    return [one for one in passes if isinstance(one, dict)] if isinstance(passes, list) else []


def pass_sheet(request: DeskRequest, season: Season, nth: int) -> Sheet:
    """Return the form of a pass, counted from 1; one beyond the last is new."""
    passes = passes_of(season)
    return _sheet(request, season, PassEntry, passes[nth - 1] if nth <= len(passes) else {})


def with_pass(season: Season, nth: int, one: Mapping[str, Any]) -> dict[str, Any]:
    """Return a season's document with a pass in its place, at the end if it is new."""
    passes: list[Any] = passes_of(season)
    passes[nth - 1 : nth] = [dict(one)]
    return {**season.document, "pass": passes}


def lay_whole(sheet: Sheet, season: Season, at: str) -> None:
    """Put on a sheet what is wrong with its part once the whole season is looked at: names, days, tips, logs."""
    sheet.lay(one for one in problems_of_season(season, logs=True) if one.key.startswith(at))


def _sheet(request: DeskRequest, season: Season, entry: type[Entry], raw: Mapping[str, Any]) -> Sheet:
    return Sheet(
        entry,
        raw=raw,
        layout=_LAYOUT,
        system=request.desk.system,
        written_in=System(season.units),
        posted=request.POST if request.method == "POST" else None,
        file=FILE,
        offers={"tips": tip_idents(season.branch_id)},
    )
