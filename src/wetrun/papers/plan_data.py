"""The tip plan as plain data: everything its template prints, already in the reader's units."""

from __future__ import annotations

import re
from typing import Any

from wetrun.papers.answer import (
    answer_words,
    aside_words,
    lost_words,
    part_rows,
    sets_words,
    trade_off_rows,
    what_if_words,
)
from wetrun.papers.changeover_words import changeover_data
from wetrun.papers.extras import Extras
from wetrun.papers.lane import lane_svg
from wetrun.papers.lane_data import Picture, lane_rows
from wetrun.papers.lane_making import lane_picture
from wetrun.papers.pass_data import evidence_words, pass_data
from wetrun.papers.reader import Reader
from wetrun.papers.stage_words import staged_words
from wetrun.papers.strip import share_svg, strip_svg
from wetrun.papers.words import CAUTIONS, GENERIC_CAUTION
from wetrun.planning.evidence import EvidenceKind
from wetrun.planning.report import PlanReport
from wetrun.planning.season_result import PassPlan, SeasonPlan
from wetrun.quantity import Kind
from wetrun.sources import source

_ALWAYS_CITED = (
    "orifice-law",
    "rate-identity",
    "minor-loss-quadratic",
    "iso-10625",
    "asabe-s572",
    "sheet-index",
    "osu-5-percent",
    "highs-milp",
)


def plan_data(report: PlanReport, reader: Reader, extras: Extras) -> dict[str, Any]:
    """Return the tip plan as plain data for its template.

    Parameters
    ----------
    report : PlanReport
        The plan and what is said of it.
    reader : Reader
        Whose units.
    extras : Extras
        Log notes, shop.

    Returns
    -------
    dict
        Strings, lists and dicts only.
    """
    plan, option, sprayer = report.plan, report.plan.proposed, report.plan.season.sprayer
    pictures = [lanes_of(plan, one, reader, others=False) for one in option.passes]
    top = max(picture.top for picture in pictures)
    passes = [
        pass_data(one, report.notes[one.planned.ident], sprayer, reader)
        | {"evidence": list(evidence_words(one, reader, extras))}
        | {"stages": staged_words(report.staged.get(one.planned.ident), reader)}
        | _pictures(one, picture, top)
        for one, picture in zip(option.passes, pictures, strict=True)
    ]
    _say_once(passes)
    generic = any(one.tip.generic for one in option.tip_sets)
    return {
        "title": plan.season.title,
        "customer": plan.season.customer,
        "machine": sprayer.name,
        "shop": extras.shop,
        "answer": answer_words(plan, reader),
        "lost": lost_words(option, reader),
        "sets": sets_words(option),
        "passes": passes,
        "asides": aside_words(plan),
        "trade_off": trade_off_rows(plan, reader),
        "prices_known": plan.prices_known,
        "parts": part_rows(option),
        "what_ifs": what_if_words(report, reader),
        "changeovers": changeover_data(report.order, option),
        "units": unit_words(reader),
        "turn_words": next((tally.words for note in report.notes.values() for tally in note.turns), ""),
        "cautions": [*CAUTIONS, *([GENERIC_CAUTION] if generic else [])],
        "method": f"{plan.method}, method {plan.method_number}",
        "sources": source_rows(plan),
    }


def lanes_of(plan: SeasonPlan, one: PassPlan, reader: Reader, *, others: bool = True) -> Picture:
    """Return the speed lanes of a pass: its own set first, then the plan's other sets that could be used for it.

    Parameters
    ----------
    plan : SeasonPlan
        The plan.
    one : PassPlan
        The pass.
    reader : Reader
        Whose units.
    others : bool
        Whether to draw the plan's other sets too.

    Returns
    -------
    Picture
        What the lanes show.
    """
    own = [one.trial] if one.trial is not None else []
    table = next(table for table in plan.tables if table.planned.ident == one.planned.ident)
    used = {tip_set.key for tip_set in plan.proposed.tip_sets} - {trial.tip_set.key for trial in own}
    usable = zip(table.trials, table.refused, strict=True)
    beside = [trial for trial, refused in usable if others and refused is None and trial.tip_set.key in used]
    return lane_picture(one, [*own, *beside], reader)


def unit_words(reader: Reader) -> dict[str, str]:
    """Return the unit of every column that prints bare numbers."""
    kinds = {
        "speed": Kind.SPEED,
        "pressure": Kind.PRESSURE,
        "flow": Kind.BOOM_FLOW,
        "rate": Kind.RATE,
        "gap": Kind.SPACING,
    }
    return {name: reader.unit(kind) for name, kind in kinds.items()}


def source_rows(plan: SeasonPlan) -> list[dict[str, str]]:
    """Return the sources a plan rests on, each with how far it was read."""
    keys = [*_ALWAYS_CITED, *(one.planned.carrier.source_key for one in plan.proposed.passes)]
    if any(one.evidence.kind is EvidenceKind.STATED for one in plan.proposed.passes):
        keys.append("gum-triangular")
    found = [source(key) for key in dict.fromkeys(keys)]
    return [{"citation": one.citation, "status": one.status} for one in found]


def _say_once(passes: list[dict[str, Any]]) -> None:
    """Shorten a finding that a pass further up has already told in full."""
    told: dict[str, str] = {}
    for one in passes:
        for at, finding in enumerate(one.get("findings", [])):
            first = told.setdefault(finding, one["name"])
            if first != one["name"]:
                one["findings"][at] = f"{re.split('[.:] ', finding)[0]}, as for {first}."


def _pictures(one: PassPlan, picture: Picture, top: float) -> dict[str, Any]:
    return {
        "strip_svg": strip_svg(picture, top),
        "share_svg": share_svg(one.planned.ident, one.held),
        "lane_svg": lane_svg(picture) if picture.lanes else "",
        "lane_words": picture.title,
        "lane_rows": [list(row) for row in lane_rows(picture)],
    }
