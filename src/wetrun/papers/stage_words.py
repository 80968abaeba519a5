"""Two tip sets at once, in rows and sentences: what holds which speeds, and where to switch."""

from __future__ import annotations

from typing import Final

from wetrun.papers.reader import Reader, percent
from wetrun.papers.words import short_words
from wetrun.percent import per_cent
from wetrun.planning.stage_replay import StageAreas
from wetrun.planning.stages import StagedPass, StagePlan, Switch
from wetrun.quantity import Kind
from wetrun.spray.limits import Limit
from wetrun.units import Cm2, Frac

STAGE_CAUTION: Final = (
    "Two fans at one position are judged for flow and droplets only: catch a tray before you trust their evenness. "
    "Both tips must be allowed by the label."
)


def staged_words(staged: StagedPass | None, reader: Reader) -> list[str]:
    """Return what two sets at once do over a pass, in whole sentences; none where it names no two."""
    if staged is None:
        return []
    if staged.plan is None:
        return [f"Two sets at once: {staged.refused}"]
    return stage_sentences(staged.plan, staged.held_frac, reader)


def stage_sentences(plan: StagePlan, held_frac: Frac, reader: Reader) -> list[str]:
    """Return the stages of two sets, in whole sentences.

    Parameters
    ----------
    plan : StagePlan
        The stages.
    held_frac : float
        Share of the pass they hold at its speeds [frac].
    reader : Reader
        Whose units.

    Returns
    -------
    list of str
        Stages, switches, share, caution.
    """
    if not plan.stages:
        return ["No stage of the two sets holds any speed at this rate.", STAGE_CAUTION]
    told = []
    for number, stage in enumerate(plan.stages, start=1):
        window = stage.window
        low, high = reader.inward(window.low_mps, window.high_mps)
        ends = f"{_by(window.low_by)} below, {_by(window.high_by)} above"
        told.append(f"Stage {number}, {stage.words}: {low} to {high} {reader.unit(Kind.SPEED)} ({ends}).")
    told += [_switch_words(number, switch, reader) for number, switch in enumerate(plan.switches, start=1)]
    return [*told, f"With these stages about {percent(held_frac)} of the area is held at its speeds.", STAGE_CAUTION]


def stage_replay_sentences(areas: StageAreas, plan: StagePlan, *, tolerance_frac: Frac) -> list[str]:
    """Return what stages would have done over a log, in whole sentences; off by a tolerance [frac] counts as off."""
    parts = [
        f"{stage.words} {_share(area, areas.total_cm2)}"
        for stage, area in zip(plan.stages, areas.stage_cm2, strict=True)
    ]
    tolerance, total = per_cent(tolerance_frac, places=0), areas.total_cm2
    held, over, under = (_share(one, total) for one in (areas.held_cm2, areas.over_cm2, areas.under_cm2))
    return [
        f"Two sets at once over this log, settled: held {held} of the area, over by {tolerance} {over}, under {under}.",
        f"By stage: {'; '.join(parts)}. Switched {areas.switches:,} times; what happens meanwhile is in no figure.",
    ]


def _switch_words(number: int, switch: Switch, reader: Reader) -> str:
    up, down = (reader.speed(speed) for speed in (switch.up_mps, switch.down_mps))
    said = f"Switch from stage {number} to {number + 1} above {up}, and back below {down}"
    if switch.overlap_mps < 0.0:
        return f"{said}: {reader.speed(-switch.overlap_mps)} between the two is held by neither."
    overlap = f"both hold {reader.speed(switch.overlap_mps)} in common"
    return (
        f"{said}; {overlap}."
        if switch.wide_enough
        else f"{said}; {overlap}, less than the hysteresis: it leaves a window."
    )


def _by(limit: Limit | None) -> str:
    return "nothing" if limit is None else short_words(limit)


def _share(part_cm2: Cm2, whole_cm2: Cm2) -> str:
    return per_cent(part_cm2 / whole_cm2 if whole_cm2 else 0.0)
