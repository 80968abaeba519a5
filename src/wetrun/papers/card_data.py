"""The cab card as plain data: one page per pass with the numbers the monitor must hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from wetrun.machine.boom import Boom
from wetrun.machine.sprayer import Sprayer
from wetrun.papers.extras import Extras
from wetrun.papers.label_words import label_rows, product_words
from wetrun.papers.ladder import window_rows
from wetrun.papers.pass_data import carrier_words, end_words, finding_words, odd_words, set_data, window_words
from wetrun.papers.plan_data import unit_words
from wetrun.papers.reader import Reader, day
from wetrun.planning.report import PassNotes, PlanReport
from wetrun.planning.season import PassPlan
from wetrun.planning.window import SpeedWindow, Trial
from wetrun.quantity import Kind
from wetrun.spray.feedback import flow_is_metered
from wetrun.spray.supply import Hold

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
        Strings, lists and dicts only.
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
        "odd": odd_words(sprayer),
        "window": window_words(window, reader),
        "usual": reader.speed(plan.evidence.usual_mps),
        "monitor": monitor_rows(plan, sprayer, reader, extras.typed),
        "ladder": window_rows(plan, trial, window, reader) if not window.empty else [],
        "pulsed": trial.setup.pulse is not None,
        "ends": end_words(window, reader),
        "floor": floor_words(plan, window, reader),
        "findings": finding_words(notes),
        "products": [product_words(product, reader) for product in plan.planned.products],
        "label": label_rows(plan.planned.products, reader),
        "units": unit_words(reader),
        "cautions": list(CARD_CAUTIONS),
    }


def monitor_rows(plan: PassPlan, sprayer: Sprayer, reader: Reader, typed: Mapping[str, str]) -> list[dict[str, str]]:
    """Return the numbers the monitor must hold, each with where it is typed or measured.

    Parameters
    ----------
    plan : PassPlan
        The pass; without a set there is nothing to type.
    sprayer : Sprayer
        The machine.
    reader : Reader
        Whose units.
    typed : mapping of str to str
        What the user typed, by key.

    Returns
    -------
    list of rows
        Name, value and note.
    """
    if plan.trial is None:
        return []
    rows = [
        ("Target rate", reader.rate(plan.rate_m3pm2), ""),
        *_tip_rows(plan, plan.trial, reader),
        *_boom_rows(sprayer, reader),
        *_limit_rows(sprayer, reader, typed),
    ]
    return [{"name": name, "value": value, "note": note} for name, value, note in rows]


Monitor = list[tuple[str, str, str]]


def _tip_rows(plan: PassPlan, trial: Trial, reader: Reader) -> Monitor:
    tip_set, pulse = trial.tip_set, trial.setup.pulse
    rows = [
        ("Tips", tip_set.tip.words, f"size {tip_set.tip.size}"),
        ("Tip pressure", *tip_pressures(trial, reader)),
        ("Carrier", carrier_words(plan, reader), ""),
        ("Liquid density", *density_setting(trial, reader)),
    ]
    if pulse is not None:
        rows.append(("Held pressure", reader.pressure(pulse.set_pressure_pa), f"duty from {pulse.duty_from.value}"))
    height_m = plan.planned.height_m
    if height_m is not None or tip_set.tip.height_note:
        height = "see note" if height_m is None else reader.text(height_m, Kind.HEIGHT)
        rows.append(("Boom height", height, tip_set.tip.height_note))
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
    label_pa = (trial.limits.permitted or {}).get(tip_set.tip.ident)
    if label_pa is not None and label_pa <= high_pa:
        high_pa, note = label_pa, f"{note}; the upper one is the label's for this tip"
    return f"{reader.pressure(low_pa)} to {reader.pressure(high_pa)}", note


def _boom_rows(sprayer: Sprayer, reader: Reader) -> Monitor:
    boom = sprayer.boom
    return [
        ("Tip spacing", reader.text(boom.spacing_m, Kind.SPACING), "as measured"),
        ("Boom width", reader.text(boom.width_m, Kind.WIDTH), sections_words(boom)),
    ]


def _limit_rows(sprayer: Sprayer, reader: Reader, typed: Mapping[str, str]) -> Monitor:
    control = sprayer.control
    return [
        ("Minimum hold", *_hold(control.hold, reader, _typed_hold(typed))),
        ("Highest pressure", *_or_none(control.cab_high_pa, reader, "typed as pressure at the cab sensor")),
        ("Shut off below", *_off_below(control.off_below_mps, reader)),
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
        found.append(f"H  Below {reader.speed(window.floor_mps)} the rate climbs: {window.floor_by.value}.")
    if window.over_label_mps:
        owner = plan.limits.label_owner
        found.append(
            f"L  Below {reader.speed(window.over_label_mps)} more {owner} goes on than its label's maximum: shut off."
        )
    return found


def _typed_hold(typed: Mapping[str, str]) -> str:
    return next((text for key, text in typed.items() if key.startswith("machine.control.hold.")), "")


def _hold(hold: Hold | None, reader: Reader, typed: str) -> tuple[str, str]:
    if hold is None:
        return "none", "the rate follows down to the lowest flow"
    note = f"typed as {hold.kind.value}"
    if typed:
        return typed, note
    if hold.cab_pressure_pa is not None:
        return reader.pressure(hold.cab_pressure_pa), note
    if hold.boom_flow_m3s is not None:
        return reader.flow(hold.boom_flow_m3s), note
    return f"{hold.duty_frac or 0.0:.0%} duty".replace("%", " %"), note


def _or_none(pressure_pa: float | None, reader: Reader, note: str) -> tuple[str, str]:
    return ("none", "") if pressure_pa is None else (reader.pressure(pressure_pa), note)


def _off_below(speed_mps: float | None, reader: Reader) -> tuple[str, str]:
    return ("not set", "the machine sprays down to standing") if not speed_mps else (reader.speed(speed_mps), "")
