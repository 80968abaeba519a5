"""One pass of the tip plan as plain data: the set, the speeds it holds, what is lost and why, findings, evidence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from wetrun.machine.sprayer import Sprayer
from wetrun.papers.along_words import along_words, uneven_words
from wetrun.papers.answer import pass_what_if_words, speeds_words
from wetrun.papers.extras import Extras
from wetrun.papers.label_words import class_words, conflict_rows, label_lines, product_words
from wetrun.papers.ladder import named_rows
from wetrun.papers.over_words import over_label_words
from wetrun.papers.pass_reasons import nothing_words, odd_words, rate_words
from wetrun.papers.pulse_words import pulse_words
from wetrun.papers.reader import Reader, bracket, day, listed, percent
from wetrun.papers.words import long_words, place_words, short_words, what_to_do
from wetrun.percent import off_per_cent, per_cent
from wetrun.planning.evidence import EvidenceKind
from wetrun.planning.judging import Judgement, Reading
from wetrun.planning.report import PassNotes
from wetrun.planning.season_result import PassPlan
from wetrun.planning.tip_set import TipSet
from wetrun.planning.window import SpeedWindow, Trial
from wetrun.quantity import Kind
from wetrun.spray.limits import Side
from wetrun.units import Frac

Data = dict[str, Any]
SAID_FRAC: Final[Frac] = 0.001
"""A limit that costs less of a pass than this is not worth a line."""
SAID_GAIN: Final[Frac] = 0.002


def pass_data(plan: PassPlan, notes: PassNotes, sprayer: Sprayer, reader: Reader) -> Data:
    """Return one pass as plain data for a template.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    notes : PassNotes
        What is said of it.
    sprayer : Sprayer
        The machine.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        Texts in the reader's units; evidence and pictures are added by `wetrun.papers.plan_data`.
    """
    planned = plan.planned
    data: Data = {
        "name": planned.ident,
        "crop": planned.crop,
        "dates": f"{day(plan.limits.first_day)} to {day(plan.limits.last_day)}",
        "area": reader.area(planned.area_m2),
        "rate": reader.rate(plan.rate_m3pm2),
        "carrier": carrier_words(plan, reader),
        "products": [product_words(product, reader) for product in planned.products],
        "classes": class_words(plan.limits.classes) if plan.limits.classes else "",
        "held": percent(plan.held.lower_frac),
        "held_bracket": bracket(plan.held),
        "held_area": reader.area(plan.held.lower_frac * planned.area_m2),
        "conflicts": [conflict_rows(conflict, reader) for conflict in plan.limits.conflicts],
        "nothing": list(nothing_words(plan)),
        "moved": rate_words(plan, reader),
        "label-lines": label_lines(planned.products, reader),
        "set": None,
    }
    if plan.trial is not None and plan.window is not None:
        data |= _with_set(plan, plan.trial, plan.window, reader)
        data |= {
            "odd": odd_words(planned, sprayer),
            "along": along_words(notes.along, reader),
            "over": list(over_label_words(plan, plan.window, reader, notes)),
            "density": listed([place_words(place) for place in notes.density_places]),
            "findings": finding_words(notes),
            "pulse": pulse_words(plan, sprayer, reader),
            "what_ifs": pass_what_if_words(plan, notes, reader),
        }
    return data


def set_data(tip_set: TipSet) -> Data:
    """Return a tip set as plain data."""
    tip = tip_set.tip
    wear = "" if tip.wear_ratio == 1.0 else f"worn {off_per_cent(tip.wear_ratio - 1, places=0)} in flow"
    return {
        "words": tip.words,
        "ident": tip.ident,
        "size": tip.size,
        "owned": tip_set.owned,
        "wear": wear,
        "generic": tip.generic,
        "origin": tip.origin,
        "height_note": tip.height_note,
    }


def carrier_words(plan: PassPlan, reader: Reader) -> str:
    """Return the carrier with its density."""
    carrier = plan.planned.carrier
    return f"{carrier.name}, {reader.density(carrier.density_kgpm3)}"


def end_words(window: SpeedWindow, reader: Reader) -> list[str]:
    """Return what closes each end of a window, in whole sentences."""
    if window.empty:
        both = [short_words(limit) for limit in (window.low_by, window.high_by) if limit is not None]
        return [f"No speed is held: {' against '.join(dict.fromkeys(both))}."]
    sentences = []
    low, high = reader.inward(window.low_mps, window.high_mps)
    if window.low_by is not None:
        what = f"{long_words(window.low_by)}. {what_to_do(Side.LOW)}"
        sentences.append(f"Below {low} {reader.unit(Kind.SPEED)} {what}")
    if window.high_by is not None:
        what = f"{long_words(window.high_by)}. {what_to_do(Side.HIGH)}"
        sentences.append(f"Above {high} {reader.unit(Kind.SPEED)} {what}")
    if abs(window.gain_ratio - 1.0) > SAID_GAIN:
        off = f"{per_cent(window.gain_ratio, places=0)} of the target goes on at every speed"
        sentences.append(f"{off}: flow is worked out from pressure, and wear or density puts it off.")
    return sentences


def finding_words(notes: PassNotes) -> list[str]:
    """Return what was found to be wrong or worth knowing: density, wear, a boom its plumbing makes uneven."""
    found = [f"Density {finding.fault.value}. {finding.words}" for finding in notes.density_findings]
    return [*found, *([notes.wear.words] if notes.wear is not None else []), *uneven_words(notes.along)]


def evidence_words(plan: PassPlan, reader: Reader, extras: Extras) -> Iterator[str]:
    """Return what a pass's speeds rest on."""
    if plan.evidence.kind is EvidenceKind.LOG:
        ends = f"{speeds_words(plan.evidence, reader)} but for 2.5 % of the area at either end"
        yield f"Speeds from the field: {', '.join(plan.evidence.names)}; {ends}."
        if plan.evidence.log_rate_m3pm2 is not None:
            yield f"That log was driven at {reader.rate(plan.evidence.log_rate_m3pm2)} (median by area)."
    else:
        said = f"Speeds as {speeds_words(plan.evidence, reader)}, not measured"
        yield f"{said}; they know no headlands, half booms or waterways. A log would."
    yield from extras.log_notes.get(plan.planned.ident, ())


def _with_set(plan: PassPlan, trial: Trial, window: SpeedWindow, reader: Reader) -> Data:
    return {
        "set": set_data(trial.tip_set),
        "window": window_words(window, reader),
        "ends": end_words(window, reader),
        "ladder": named_rows(plan, trial, window, reader),
        "pulsed": trial.setup.pulse is not None,
        "authority": authority_words(trial),
        "readings": [_reading(judgement, plan, reader) for judgement in plan.judgements],
        "lost": _lost(plan, reader),
    }


def window_words(window: SpeedWindow, reader: Reader) -> str:
    """Return the speeds a set holds, as text."""
    if window.empty:
        return "no speed"
    low, high = reader.inward(window.low_mps, window.high_mps)
    if window.high_mps == float("inf"):
        return f"{low} {reader.unit(Kind.SPEED)} and faster"
    return f"{low} to {high} {reader.unit(Kind.SPEED)}"


def authority_words(trial: Trial) -> str:
    """Return on whose word a droplet class stands, and what the per cent beside it mean."""
    tip = trial.tip_set.tip
    if tip.pattern is None:
        return "Streams have no droplet class."
    if tip.pattern.rows:
        return "Droplet class from the maker's own rows, on clean water."
    asked = trial.limits.classes
    likely = f"a class that is allowed ({class_words(asked)})" if asked else "the printed classes"
    words = f"the per cent say how likely {likely} {'is' if asked else 'are'}"
    return f"Droplet class is a family estimate on clean water; {words}. Ask for the maker's rows."


def _reading(judgement: Judgement, plan: PassPlan, reader: Reader) -> Data:
    kept = "driven at the same boom flow (slower when the rate is up)"
    if judgement.reading is Reading.SAME_SPEED:
        kept = "driven at the same speeds" if plan.evidence.kind is EvidenceKind.LOG else "at the speeds stated"
    return {
        "name": kept,
        "held": bracket(judgement.held),
        "area": reader.area(judgement.held.lower_frac * plan.planned.area_m2),
    }


def _lost(plan: PassPlan, reader: Reader) -> list[Data]:
    """Why acres are lost, by the reading that holds least."""
    worst = min(plan.judgements, key=lambda judgement: judgement.held.lower_frac)
    return [
        {
            "why": short_words(lost.limit),
            "end": "too slow" if lost.side is Side.LOW else "too fast",
            "share": percent(lost.share_frac),
            "area": reader.area(lost.share_frac * plan.planned.area_m2),
        }
        for lost in worst.lost
        if lost.share_frac >= SAID_FRAC
    ]
