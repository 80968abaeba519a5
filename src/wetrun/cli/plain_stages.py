"""Two tip sets at once as plain data, SI inside."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from wetrun.planning.stage_replay import StageAreas
from wetrun.planning.stages import METHOD, METHOD_NUMBER, StagedPass


def plain_staged(staged: StagedPass) -> dict[str, Any]:
    """Return two sets at once over a pass, or why there are none."""
    plan = staged.plan
    if plan is None:
        return {"method": METHOD, "method_number": METHOD_NUMBER, "refused": str(staged.refused)}
    stages = [{"tips": [tip.ident for tip in one.tips], "window": asdict(one.window)} for one in plan.stages]
    return {
        "method": METHOD,
        "method_number": METHOD_NUMBER,
        "stages": stages,
        "switches": [asdict(one) for one in plan.switches],
        "hysteresis_mps": plan.hysteresis_mps,
        "held_frac": staged.held_frac,
    }


def plain_stage_areas(areas: StageAreas) -> dict[str, Any]:
    """Return a log driven with stages."""
    return asdict(areas)
