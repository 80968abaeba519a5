"""Tip plans of seasons: worked out as the command line does, kept as plain data, never changed, only followed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.fleet.parts import Order, orders_of
from wetrun.papers.card_data import card_data
from wetrun.papers.extras import Extras
from wetrun.papers.lane import lane_svg
from wetrun.papers.log_notes import log_notes
from wetrun.papers.plan_data import lanes_of, plan_data
from wetrun.papers.reader import Reader
from wetrun.planning.over_logs import report_over_logs
from wetrun.planning.report import PlanReport
from wetrun.quantity import System
from wetrun.shop.accounts.models import User
from wetrun.shop.answers.bench import bench
from wetrun.shop.answers.content import PLAN_METHODS, Parts, hash_of, season_parts, what_changed
from wetrun.shop.answers.file_names import name_at
from wetrun.shop.answers.laid_out import season_laid_out
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.season_logs import uses_of_logs
from wetrun.shop.answers.tally import Progress, SeasonLogs, silent, tallied_logs
from wetrun.shop.records.models import Catalogue, ColumnMap, FieldLog, Season, TipPlan
from wetrun.shop.records.trail import told

FORMAT_VERSION = 1


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether a plan still stands.

    Attributes
    ----------
    up_to_date : bool
        Whether everything it was worked out from is as it was.
    changed : tuple of str
        What is not, in sentences.
    """

    up_to_date: bool
    changed: tuple[str, ...] = ()


def parts_of_seasons(seasons: Iterable[Season]) -> dict[int, Parts]:
    """Return what the tip plans of seasons rest on, in three queries however many there are.

    Parameters
    ----------
    seasons : iterable of Season
        With machine and customer at hand.

    Returns
    -------
    dict of int to dict
        By key of the season, as `wetrun.shop.answers.content.season_parts`.
    """
    found = list(seasons)
    logs: dict[int, list[FieldLog]] = {}
    wanted = FieldLog.objects.filter(machine__in={one.machine_id for one in found}, taken_away_at=None)
    for log in wanted.defer("in_us", "in_si").order_by("-pk"):
        logs.setdefault(log.machine_id, []).append(log)
    uses = {one.pk: uses_of_logs(one, logs.get(one.machine_id, [])) for one in found}
    named = {one.pk: name_at(one.document, ("plan", "catalogue")) for one in found}
    catalogues = _hashes(Catalogue, found, set(named.values()))
    maps = _hashes(ColumnMap, found, {use.column_map for of_season in uses.values() for use in of_season})
    parts = {}
    for one in found:
        used = {use.column_map: maps.get((one.branch_id, use.column_map), "") for use in uses[one.pk] if use.column_map}
        tips = {named[one.pk]: catalogues.get((one.branch_id, named[one.pk]), "")} if named[one.pk] else {}
        parts[one.pk] = season_parts(one, tips | used, uses[one.pk])
    return parts


def digest_of(season: Season) -> str:
    """Return the hash of everything a season's tip plan rests on."""
    return hash_of(parts_of_seasons([season])[season.pk])


def stands(plan: TipPlan, season: Season) -> Standing:
    """Return whether a plan is up to date, and if not, what changed.

    Parameters
    ----------
    plan : TipPlan
        The plan.
    season : Season
        Its season as it is now.

    Returns
    -------
    Standing
        With sentences.
    """
    return standing_of(plan, parts_of_seasons([season])[season.pk])


def standing_of(plan: TipPlan, parts: Parts) -> Standing:
    """Return whether a plan is up to date; for lists, with parts from `parts_of_seasons`."""
    if plan.digest == hash_of(parts):
        return Standing(up_to_date=True)
    return Standing(up_to_date=False, changed=what_changed(plan.inputs.get("parts", {}), parts))


def tip_plan_of(season: Season, *, progress: Progress = silent) -> TipPlan:
    """Return the tip plan of a season, not saved.

    Parameters
    ----------
    season : Season
        The record.
    progress : callable
        Is told the share that is done and what is being done.

    Returns
    -------
    TipPlan
        With ``in_us`` and ``in_si``: the data of the paper, ``cards`` (one per pass, None without a set), ``lanes``
        (pictures of every pass with the plan's other sets).

    Raises
    ------
    WetrunError
        Whatever is wrong with season, tip file or logs, in the loader's own sentences.
    """
    parts = parts_of_seasons([season])[season.pk]
    laid_out = season_laid_out(season, logs=True)
    with bench(laid_out) as laid:
        season_file = read_season(laid.file)
        logs = tallied_logs(laid, season_file, lambda share, words: progress(0.6 * share, words))
    progress(0.6, "choosing tips")
    report = report_over_logs(season_file.season, season_file.catalogue, logs.by_pass, file=laid_out.main)
    progress(0.9, "writing it down")
    shown = {system: standing_data(report, Reader(system), extras_of(season, season_file, logs)) for system in System}
    proposed = report.plan.proposed
    return TipPlan(
        branch=season.branch,
        season=season,
        digest=hash_of(parts),
        method=f"{report.plan.method}, method {report.plan.method_number}",
        answer=shown[System(season.branch.units)]["answer"],
        sets=len(proposed.tip_sets),
        held_low_frac=proposed.held.lower_frac,
        held_high_frac=proposed.held.upper_frac,
        parts=[_part(order) for order in orders_of(season.machine.name, report)],
        in_us=shown[System.US],
        in_si=shown[System.SI],
        inputs={
            "parts": parts,
            "files": dict(laid_out.texts),
            "methods": list(PLAN_METHODS),
            "ledgers": {str(pk): key for pk, key in logs.keys.items()},
            "sets": {one.planned.ident: one.trial and list(one.trial.tip_set.key) for one in proposed.passes},
        },
    )


def standing_data(report: PlanReport, reader: Reader, extras: Extras) -> dict[str, Any]:
    """Return everything a page or a paper shows of a plan, as plain data in the reader's units.

    Parameters
    ----------
    report : PlanReport
        The plan.
    reader : Reader
        Whose units.
    extras : Extras
        Texts as typed, notes on logs, the shop's name.

    Returns
    -------
    dict
        As `wetrun.papers.plan_data`, with ``cards``, ``lanes`` and ``format_version``.
    """
    plan = report.plan
    pictures = [lanes_of(plan, one, reader) for one in plan.proposed.passes]
    whole = plan_data(report, reader, extras) | {
        "format_version": FORMAT_VERSION,
        "cards": [card_data(one, report, reader, extras) for one in plan.proposed.passes],
        "lanes": [lane_svg(picture) if picture.lanes else "" for picture in pictures],
    }
    return dict(plain(whole))


def extras_of(season: Season, season_file: SeasonFile, logs: SeasonLogs) -> Extras:
    """Return what papers show besides the plan's own records."""
    notes = {
        planned.ident: (
            *logs.told.get(planned.ident, ()),
            *(note for log in logs.by_pass.get(planned.ident, ()) for note in log_notes(log)),
        )
        for planned in season_file.season.passes
    }
    return Extras(typed=season_file.typed, log_notes=notes, shop=season.branch.name)


def keep_plan(plan: TipPlan, by: User | None) -> TipPlan:
    """Keep a plan as the one that stands; the one before it is kept as it was, with the moment it was replaced.

    Parameters
    ----------
    plan : TipPlan
        As `tip_plan_of` gives it.
    by : User or None
        Who asked for it.

    Returns
    -------
    TipPlan
        Saved.
    """
    with transaction.atomic():
        # Whoever keeps a plan of the same season at the same moment waits here.
        season = Season.objects.select_for_update(of=("self",)).select_related("machine").get(pk=plan.season_id)
        TipPlan.objects.filter(season=season, replaced_at=None).update(replaced_at=timezone.now())
        plan.made_by = by
        plan.save()
        told(season, f"tip plan made: {plan.answer}", by)
    return plan


def standing_plan(season: Season) -> TipPlan | None:
    """Return the plan of a season that was not replaced, if there is one."""
    return TipPlan.objects.filter(season=season, replaced_at=None).first()


def _part(order: Order) -> dict[str, Any]:
    tip = order.tip
    return {
        "ident": tip.ident,
        "words": tip.words,
        "size": tip.size,
        "family": tip.family.value,
        "count": order.count,
        "cost_cents": order.cost_cents,
    }


def _hashes(
    kind: type[Catalogue | ColumnMap], seasons: Sequence[Season], names: set[str]
) -> Mapping[tuple[int, str], str]:
    branches = {one.branch_id for one in seasons}
    kept = kind._default_manager.filter(branch__in=branches, name__in=names - {""}, replaced_at=None)
    return {(branch, name): sha for branch, name, sha in kept.values_list("branch_id", "name", "sha256")}
