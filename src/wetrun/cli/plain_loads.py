"""Tank loads as plain data for `--json`: SI values, whole steps, and the sheet as it is printed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from wetrun.documents.season_file import SeasonFile
from wetrun.planning.load_parts import LoadPart
from wetrun.planning.loads import LoadPlan
from wetrun.planning.mix_order import OrderConflict

FORMAT_VERSION: Final = 1


def plain_loads(
    season_file: SeasonFile, plans: Sequence[LoadPlan], sheets: Sequence[dict[str, Any]], papers: Iterable[Path]
) -> dict[str, Any]:
    """Return tank loads as plain data.

    Parameters
    ----------
    season_file : SeasonFile
        Where they come from.
    plans : sequence of LoadPlan
        The loads, pass by pass.
    sheets : sequence of dict
        The same as printed.
    papers : iterable of Path
        Files written.

    Returns
    -------
    dict
        Ready for JSON.
    """
    return {
        "format_version": FORMAT_VERSION,
        "title": season_file.season.title,
        "machine": season_file.season.sprayer.name,
        "passes": [_plain(plan, sheet) for plan, sheet in zip(plans, sheets, strict=True)],
        "papers": [str(path) for path in papers],
    }


def _plain(plan: LoadPlan, sheet: dict[str, Any]) -> dict[str, Any]:
    split, order = plan.split, plan.order
    return {
        "pass": plan.planned.ident,
        "method": plan.method,
        "method_number": plan.method_number,
        "rate_m3pm2": plan.recipe.rate_m3pm2,
        "density_kgpm3": plan.recipe.density_kgpm3,
        "field_m2": plan.planned.area_m2,
        "treated_m2": plan.treated_m2,
        "made_m3": split.made_m3,
        "sprayed_m3": split.sprayed_m3,
        "carry_in_m3": split.carry_in_m3,
        "undrainable_m3": split.undrainable_m3 if plan.room.undrainable_known else None,
        "left_over_m3": split.left_over_m3,
        "limit": plan.binding.limit,
        "gauge_m3": split.gauge_m3,
        "loads": [asdict(load) | {"fill_steps": fill} for load, fill in zip(plan.loads, split.fills, strict=True)],
        "parts": [_part(part) for part in plan.parts],
        "order": {
            "published": order.published.name.value,
            "source": order.published.source_key,
            "names": list(order.names),
            "by_label": sorted(order.by_label),
            "not_placed": list(order.not_placed),
            "labels_agree": order.labels_agree,
            "conflicts": [_conflict(each) for each in order.conflicts],
        },
        "jar": asdict(plan.jar),
        "conditioner": None if plan.conditioner is None else asdict(plan.conditioner),
        "agitation": None if plan.agitation is None else asdict(plan.agitation),
        "sheet": sheet,
    }


def _part(part: LoadPart) -> dict[str, Any]:
    return {
        "name": part.name,
        "carrier": part.product is None,
        "step_m3": part.step_m3,
        "step_kg": part.step_kg,
        "steps": list(part.steps),
        "total_steps": part.total_steps,
        "exact_steps": part.exact_steps,
        "held_at_label": part.at_label,
    }


def _conflict(conflict: OrderConflict) -> dict[str, Any]:
    return {"one": asdict(conflict.one), "other": asdict(conflict.other), "among_labels": conflict.among_labels}
