"""A plan as plain data for `--json`: names end in their SI unit, shares are brackets, everything has a reason."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from wetrun.cli.plain_order import plain_order
from wetrun.cli.plain_stages import plain_staged
from wetrun.machine.sprayer import Sprayer
from wetrun.planning.boom_along import BoomAlong
from wetrun.planning.label_limits import Conflict
from wetrun.planning.passes import Pass
from wetrun.planning.pulse_outlook import pulse_outlook
from wetrun.planning.report import PassNotes, PlanReport
from wetrun.planning.season_result import PassPlan, SetsOption
from wetrun.planning.speed_point import point_at
from wetrun.planning.tip_set import TipSet
from wetrun.planning.whatif import OneSet

FORMAT_VERSION: Final = 1


def plain_report(report: PlanReport, papers: Iterable[Path]) -> dict[str, Any]:
    """Return a plan as plain data.

    Parameters
    ----------
    report : PlanReport
        The plan with its notes.
    papers : iterable of Path
        Files written.

    Returns
    -------
    dict
        Ready for JSON but for infinities.
    """
    plan = report.plan
    return {
        "format_version": FORMAT_VERSION,
        "method": plan.method,
        "method_number": plan.method_number,
        "title": plan.season.title,
        "customer": plan.season.customer,
        "machine": plan.season.sprayer.name,
        "prices_known": plan.prices_known,
        "budget_cents": plan.season.budget_cents,
        "held_without_budget": None if plan.without_budget is None else asdict(plan.without_budget),
        "owned_left_out": [asdict(owned) for owned in plan.owned_left_out],
        "proposed_sets": plan.proposed.most_sets,
        "options": [_option(option) for option in plan.options],
        "passes": [_pass(one, report.notes[one.planned.ident], plan.season.sprayer) for one in plan.proposed.passes],
        "two_sets_at_once": {ident: plain_staged(staged) for ident, staged in report.staged.items()},
        "one_set_by_rate": _one_set(report.by_rate),
        "one_set_by_speed": _one_set(report.by_speed),
        "order_of_passes": plain_order(report.order, plan.proposed),
        "papers": [str(path) for path in papers],
    }


def _option(option: SetsOption) -> dict[str, Any]:
    return {
        "most_sets": option.most_sets,
        "held": asdict(option.held),
        "cost_cents": option.cost_cents,
        "tips_to_buy": option.tips_to_buy,
        "changes": option.changes,
        "refits": option.refits,
        "sets": [_set(tip_set) for tip_set in option.tip_sets],
        "set_of_pass": {one.planned.ident: one.trial and one.trial.tip_set.tip.ident for one in option.passes},
    }


def _set(tip_set: TipSet) -> dict[str, Any]:
    return {
        "tip": tip_set.tip.ident,
        "words": tip_set.tip.words,
        "owned": tip_set.owned,
        "wear_ratio": tip_set.tip.wear_ratio,
        "generic": tip_set.tip.generic,
        "origin": tip_set.tip.origin,
        "cost_cents": tip_set.cost_cents,
        "tips_to_buy": tip_set.needed,
    }


def _pass(one: PassPlan, notes: PassNotes, sprayer: Sprayer) -> dict[str, Any]:
    return {
        "pass": one.planned.ident,
        "area_m2": one.planned.area_m2,
        "carrier": {"name": one.planned.carrier.name, "density_kgpm3": one.planned.carrier.density_kgpm3},
        "rate_m3pm2": one.rate_m3pm2,
        "evidence": _evidence(one),
        "log_doubts": list(notes.log_doubts),
        "along_boom": _along(notes.along),
        "tip_set": None if one.trial is None else _set(one.trial.tip_set),
        "held": asdict(one.held),
        "window": None if one.window is None else asdict(one.window),
        "usual": _usual(one),
        "pulse": _pulse(one, sprayer),
        "readings": [asdict(judgement) for judgement in one.judgements],
        "conflicts": [_conflict(conflict) for conflict in one.limits.conflicts],
        "rate_moved_from_m3pm2": one.planned.rate_m3pm2 if one.rate_moved else None,
        "refused": {refusal.name.lower(): count for refusal, count in one.refused.items()},
        "held_nothing": {limit.name.lower(): count for limit, count in one.held_nothing.items()},
        "notes": _notes(notes),
    }


def _evidence(one: PassPlan) -> dict[str, Any]:
    percents = (0.05, 0.5, 0.95)
    low, high = one.evidence.speed.percentiles(percents)
    return {
        "kind": one.evidence.kind,
        "logs": list(one.evidence.names),
        "log_rate_m3pm2": one.evidence.log_rate_m3pm2,
        "speed_percentiles_mps": {
            f"p{round(100 * p)}": [float(a), float(b)] for p, a, b in zip(percents, low, high, strict=True)
        },
    }


def _pulse(one: PassPlan, sprayer: Sprayer) -> dict[str, Any] | None:
    outlook = None if one.trial is None else pulse_outlook(one.trial, one.evidence, one.rate_m3pm2, sprayer)
    if outlook is None:
        return None
    cautions = [caution.name.lower() for caution in outlook.cautions]
    return {**asdict(outlook), "cautions": cautions}


def _usual(one: PassPlan) -> dict[str, Any] | None:
    if one.trial is None:
        return None
    point = point_at(one.trial, speed_mps=one.evidence.usual_mps, rate_m3pm2=one.rate_m3pm2)
    return {
        "speed_mps": point.speed_mps,
        "tip_pa": point.tip_pa,
        "cab_pa": point.cab_pa,
        "duty_frac": point.duty_frac,
        "boom_flow_m3s": point.boom_flow_m3s,
        "droplets": None if point.droplets is None else point.droplets.words,
    }


def _conflict(conflict: Conflict) -> dict[str, Any]:
    parts = [
        {
            "owner": part.owner,
            "low": part.low,
            "high": part.high,
            "unit": None if part.unit is None else part.unit.symbol,
            "names": list(part.names),
        }
        for part in conflict.parts
    ]
    return {"thing": conflict.thing, "parts": parts}


def _notes(notes: PassNotes) -> dict[str, Any]:
    over = notes.over_label
    return {
        "turns": [asdict(turns) for turns in notes.turns],
        "over_label": None
        if over is None
        else {
            "product": over.owner,
            "below_mps": over.below_mps,
            "area_m2": over.area_m2,
            "other_tip": None if over.other_set is None else over.other_set.tip.ident,
            "other_held_frac": over.other_held_frac,
            "product_frac": over.product_frac,
        },
        "density_applied": list(notes.density_places),
        "density_findings": [asdict(finding) for finding in notes.density_findings],
        "wear": None if notes.wear is None else asdict(notes.wear),
        "rate_change_m3pm2": None if notes.rate_change is None else notes.rate_change.rate_m3pm2,
        "speed_change_mps": None
        if notes.speed_change is None
        else [notes.speed_change.slow_to_mps, notes.speed_change.fast_to_mps],
    }


def _along(along: BoomAlong | None) -> dict[str, Any] | None:
    if along is None:
        return None
    return {
        **asdict(along),
        "cause": along.cause.value,
        "losses": [{**asdict(loss), "place": loss.place.value} for loss in along.losses],
        "too_uneven": along.too_uneven,
    }


def _one_set(option: OneSet | None) -> dict[str, Any] | None:
    if option is None:
        return None

    def of_pass(planned: Pass, **values: float) -> dict[str, Any]:
        return {"pass": planned.ident, **values}

    return {
        "tip": option.tip_set.tip.ident,
        "largest_ratio": option.largest_ratio,
        "rates": [of_pass(c.planned, rate_m3pm2=c.rate_m3pm2, held_frac=c.held_frac) for c in option.rates],
        "speeds": [of_pass(c.planned, slow_mps=c.slow_to_mps, fast_mps=c.fast_to_mps) for c in option.speeds],
    }
