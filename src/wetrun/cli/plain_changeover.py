"""A clean-out as plain data for `--json`: SI values, every step's concentrations, and the sheet as it is printed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.question import TankUse
from wetrun.changeover.rinse import Rinse
from wetrun.changeover.same_water import WayOutcome
from wetrun.changeover.skipping import Skipped
from wetrun.changeover.yard_step import YardStep
from wetrun.documents.changeover_file import ChangeoverFile

FORMAT_VERSION: Final = 1


def plain_changeover(
    file: ChangeoverFile, answer: ChangeoverAnswer, sheet: dict[str, Any], papers: Iterable[Path]
) -> dict[str, Any]:
    """Return a clean-out as plain data.

    Parameters
    ----------
    file : ChangeoverFile
        Where it comes from.
    answer : ChangeoverAnswer
        The answer.
    sheet : dict
        The same as printed.
    papers : iterable of Path
        Files written.

    Returns
    -------
    dict
        Ready for JSON.
    """
    asked = answer.question
    return {
        "format_version": FORMAT_VERSION,
        "title": file.title,
        "machine": asked.machine,
        "on": None if asked.on is None else asked.on.isoformat(),
        "from": _use(asked.earlier),
        "to": _use(asked.later) | {"load_m3": asked.load_m3, "out_m3s": asked.out_m3s, "speed_mps": asked.speed_mps},
        "method": answer.method,
        "meaning": answer.meaning,
        "typed": dict(file.typed),
        "tolerated": _tolerated(answer),
        "plan": _plan(answer),
        "three_ways": [_way(way) for way in answer.three_ways],
        "skips": [_skip(skip) for skip in answer.skips],
        "circuits": [asdict(circuit) | {"measured": circuit.measured} for circuit in answer.circuits],
        "never_rinsed": [
            {"circuit": each.circuit, "why": each.why, "words": str(each)} for each in answer.never_rinsed
        ],
        "settings": [
            {"positions": dict(each.setting.positions), "flushes": list(each.flushes)} for each in answer.flush_settings
        ],
        "steps": _held(answer),
        "priming": asdict(answer.priming),
        "strength": asdict(answer.strength),
        "yard": [_step(step) for step in answer.yard.steps],
        "winter": [_step(step) for step in answer.winter],
        "spring": [_step(step) for step in answer.spring],
        "record": None if answer.record is None else asdict(answer.record),
        "cautions": list(answer.cautions),
        "sheet": {key: value for key, value in sheet.items() if key != "picture_svg"},
        "papers": [str(path) for path in papers],
    }


def _use(use: TankUse) -> dict[str, Any]:
    return {
        "name": use.name,
        "crop": use.crop,
        "contents": list(use.contents),
        "rate_m3pm2": use.rate_m3pm2,
        "first_day": None if use.first_day is None else use.first_day.isoformat(),
        "last_day": None if use.last_day is None else use.last_day.isoformat(),
    }


def _tolerated(answer: ChangeoverAnswer) -> dict[str, Any]:
    level = answer.question.tolerated
    return asdict(level) | {"status": level.status, "in_mix_frac": answer.plan.level_frac}


def _plan(answer: ChangeoverAnswer) -> dict[str, Any]:
    plan = answer.plan
    return {
        "method": plan.method,
        "reached": plan.reached,
        "rinses": _rinses(plan.rinses),
        "water_m3": plan.water_m3,
        "refills": plan.refills,
        "left_frac": plan.left_frac,
        "end_frac": plan.acres.end_frac,
        "worst_section": plan.acres.worst_section,
        "binding": plan.binding,
        "shares": [asdict(share) for share in plan.shares],
        "above_m2": dict(plan.above_m2),
        "next_step_frac": plan.next_step_frac,
        "remedies": [asdict(remedy) for remedy in plan.remedies],
    }


def _rinses(rinses: Sequence[Rinse]) -> list[dict[str, Any]]:
    return [{"way": rinse.way.value, "water_m3": rinse.water_m3} for rinse in rinses]


def _way(way: WayOutcome) -> dict[str, Any]:
    return {
        "way": way.key,
        "rinses": _rinses(way.rinses),
        "without": list(way.without),
        "water_m3": way.water_m3,
        "first_drop_frac": way.first_drop_frac,
        "peak_frac": way.peak_frac,
        "mean_frac": way.mean_frac,
        "end_frac": way.end_frac,
        "above_m2": way.above_m2,
        "worst_section": way.worst_section,
        "areas_m2": way.areas_m2.tolist(),
        "worst_curve_frac": way.worst_curve_frac.tolist(),
        "cannot": way.cannot,
    }


def _skip(skip: Skipped) -> dict[str, Any]:
    return {
        "circuit": skip.circuit,
        "possible": skip.possible,
        "left_frac": skip.left_frac,
        "load_frac": skip.load_frac,
        "worst_section": skip.worst_section,
        "above_m2": skip.above_m2,
    }


def _held(answer: ChangeoverAnswer) -> list[dict[str, Any]]:
    return [
        {
            "rinse": held.rinse,
            "last_of_rinse": held.last_of_rinse,
            "step": type(held.after.step).__name__,
            "water_m3": held.after.water_m3,
            "seconds_s": held.after.seconds_s,
            "concentrations_frac": dict(held.concentrations_frac),
        }
        for held in answer.steps
    ]


def _step(step: YardStep) -> dict[str, Any]:
    return asdict(step)
