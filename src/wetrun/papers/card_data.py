"""The cab card as plain data: one page per pass with the numbers the monitor must hold."""

from __future__ import annotations

from typing import Any, Final

from wetrun.machine.boom import Boom
from wetrun.machine.sprayer import Sprayer
from wetrun.papers.along_words import along_words
from wetrun.papers.control_rows import Monitor, limit_rows
from wetrun.papers.entered import Entered
from wetrun.papers.extras import Extras
from wetrun.papers.label_words import label_rows, limit_rows_to_see, product_words
from wetrun.papers.ladder import window_rows
from wetrun.papers.pass_data import (
    authority_words,
    carrier_words,
    end_words,
    finding_words,
    set_data,
    window_words,
)
from wetrun.papers.pass_reasons import odd_words, rate_words
from wetrun.papers.plan_data import unit_words
from wetrun.papers.pulse_words import pulse_words
from wetrun.papers.reader import Reader, day
from wetrun.papers.stage_words import staged_words
from wetrun.planning.passes import Season
from wetrun.planning.report import PassNotes, PlanReport
from wetrun.planning.season_result import PassPlan
from wetrun.planning.window import SpeedWindow, Trial
from wetrun.quantity import Kind
from wetrun.spray.feedback import flow_is_metered

CARD_CAUTIONS: Final = (
    "The label is the law; read it before mixing. Wear what it asks for.",
    "Clean water first: every tip running, strainers clean, pressure at the tip checked.",
    "Shut off, boom pressure released, before anybody touches a tip. Keep people away from a folding boom.",
    "Droplet classes are for clean water, not for the tank mix.",
)


def card_data(plan: PassPlan, report: PlanReport, reader: Reader, extras: Extras) -> dict[str, Any] | None:
    """Return one pass's cab card as plain data, or None if no set was found for it.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    report : PlanReport
        The machine, and what is said of the pass.
    reader : Reader
        Whose units.
    extras : Extras
        Texts as typed.

    Returns
    -------
    dict or None
        Strings, lists and dicts only; whoever knows what is not proven on the machine fills ``unproven``.
    """
    trial, window, sprayer = plan.trial, plan.window, report.plan.season.sprayer
    notes: PassNotes = report.notes[plan.planned.ident]
    if trial is None or window is None:
        return None
    return {
        "name": plan.planned.ident,
        "crop": plan.planned.crop,
        "machine": sprayer.name,
        "dates": f"{day(plan.limits.first_day)} to {day(plan.limits.last_day)}",
        "set": set_data(trial.tip_set),
        "odd": odd_words(plan.planned, sprayer),
        "unproven": [],
        "window": window_words(window, reader),
        "usual": reader.speed(plan.evidence.usual_mps),
        "monitor": monitor_rows(plan, report.plan.season, Entered(extras.typed, reader)),
        "ladder": window_rows(plan, trial, window, reader) if not window.empty else [],
        "pulsed": trial.setup.pulse is not None,
        "ends": [
            *end_words(window, reader),
            *along_words(notes.along, reader)[:1],
            *pulse_words(plan, sprayer, reader),
        ],
        "floor": floor_words(plan, window, reader),
        "stages": staged_words(report.staged.get(plan.planned.ident), reader),
        "findings": finding_words(notes),
        "products": [product_words(product, reader) for product in plan.planned.products],
        "authority": authority_words(trial),
        "label": [
            *label_rows(plan.planned.products, reader),
            *limit_rows_to_see(plan.planned.products, reader),
        ],
        "units": unit_words(reader),
        "cautions": list(CARD_CAUTIONS),
    }


def monitor_rows(plan: PassPlan, season: Season, entered: Entered) -> list[dict[str, str]]:
    """Return the numbers the monitor must hold, each with where it is typed or measured.

    Parameters
    ----------
    plan : PassPlan
        The pass; without a set there is nothing to type.
    season : Season
        Machine, and the passes in the order of their file.
    entered : Entered
        What the user typed, and whose units.

    Returns
    -------
    list of rows
        Name, value and note.
    """
    if plan.trial is None:
        return []
    key = f"pass[{[one.ident for one in season.passes].index(plan.planned.ident) + 1}]"
    rows = [
        ("Target rate", *_target(plan, key, entered)),
        *_tip_rows(plan, plan.trial, key, entered),
        *_boom_rows(season.sprayer, entered),
        *limit_rows(season.sprayer, entered),
    ]
    return [{"name": name, "value": value, "note": note} for name, value, note in rows]


def _target(plan: PassPlan, key: str, entered: Entered) -> tuple[str, str]:
    moved = rate_words(plan, entered.reader)
    rate = plan.rate_m3pm2
    return entered.reader.rate(rate) if moved else entered.text(f"{key}.rate.target", rate, Kind.RATE), moved


def _tip_rows(plan: PassPlan, trial: Trial, key: str, entered: Entered) -> Monitor:
    tip, height_m = trial.tip_set.tip, plan.planned.height_m
    rows = [
        ("Tips", tip.words, f"size {tip.size}"),
        ("Tip pressure", *tip_pressures(trial, entered.reader)),
        ("Carrier", carrier_words(plan, entered.reader), ""),
        ("Liquid density", *density_setting(trial, entered.reader)),
    ]
    if height_m is not None or tip.height_note:
        height = "see note" if height_m is None else entered.text(f"{key}.height", height_m, Kind.HEIGHT)
        rows.append(("Boom height", height, tip.height_note))
    return rows


def tip_pressures(trial: Trial, reader: Reader) -> tuple[str, str]:
    """Return the pressures a set may be run at, and whose limit the upper one is.

    Parameters
    ----------
    trial : Trial
        The set and the pass; a label that names the tip may allow it less than its maker does.
    reader : Reader
        Whose units.

    Returns
    -------
    tuple of str
        Range and note.
    """
    tip_set, note = trial.tip_set, "at the tip, not at the cab sensor"
    low_pa, high_pa = tip_set.low_pa, tip_set.high_pa
    permitted = trial.limits.permitted or {}
    named = [label_pa for tip in (tip_set.tip, *tip_set.odd) if (label_pa := permitted.get(tip.ident)) is not None]
    if named and min(named) <= high_pa:
        high_pa, note = min(named), f"{note}; the upper one is the label's for this tip"
    return f"{reader.pressure(low_pa)} to {reader.pressure(high_pa)}", note


def _boom_rows(sprayer: Sprayer, entered: Entered) -> Monitor:
    boom = sprayer.boom
    return [
        ("Tip spacing", entered.text("machine.boom.spacing", boom.spacing_m, Kind.SPACING), "as measured"),
        ("Boom width", entered.reader.exact(boom.width_m, Kind.WIDTH), sections_words(boom)),
    ]


def density_setting(trial: Trial, reader: Reader) -> tuple[str, str]:
    """Return what the monitor's density must say, and why."""
    if flow_is_metered(trial.setup):
        return "leave at water", "the flow meter counts volume, whatever the liquid weighs"
    return reader.density(trial.setup.density_kgpm3), "flow is worked out from pressure; back to water for a water test"


def sections_words(boom: Boom) -> str:
    """Return the sections of a boom with their tips.

    Example
    -------
    >>> sections_words(Boom(spacing_m=0.5, section_tips=(8, 8, 8)))
    '3 sections of 8 tips'
    >>> sections_words(Boom(spacing_m=0.5, section_tips=(8, 6, 8)))
    '3 sections: 8 · 6 · 8 tips'
    """
    tips = boom.section_tips
    if len(set(tips)) == 1:
        return f"{len(tips)} section{'s' if len(tips) > 1 else ''} of {tips[0]} tips"
    return f"{len(tips)} sections: {' · '.join(map(str, tips))} tips"


def floor_words(plan: PassPlan, window: SpeedWindow, reader: Reader) -> list[str]:
    """Return the speed of the hold and the speed below which a label's maximum is passed, in sentences."""
    found = []
    if window.floor_by is not None and 0.0 < window.floor_mps < float("inf"):
        found.append(f"H  Below {reader.at_least(window.floor_mps)} the rate climbs: {window.floor_by.value}.")
    if window.over_label_mps:
        owner = plan.limits.label_owner
        below = f"L  Below {reader.at_least(window.over_label_mps)}"
        found.append(f"{below} more {owner} goes on than its label's maximum: shut off.")
    return found
