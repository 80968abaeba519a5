"""A set on pulses, in sentences: gaps on the ground, room for turns, what to ask before it is pulsed."""

from __future__ import annotations

import math
from typing import Final

from wetrun.machine.sprayer import Sprayer
from wetrun.papers.reader import Reader, percent
from wetrun.planning.pulse_outlook import PulseCaution, PulseOutlook, pulse_outlook
from wetrun.planning.season_result import PassPlan
from wetrun.quantity import Kind
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import M

_REMEDIES: Final = {
    PulseCaution.BARRED: "A plan leaves it out; its row in the tip file may say otherwise, on the maker's word.",
    PulseCaution.NOBODY_SAID: "Ask the maker of the tip and of the machine before it is pulsed.",
    PulseCaution.INDUCTION_LOW: "Such tips are generally not pulsed there: drive faster, or take a smaller tip.",
    PulseCaution.STREAMS: "Ask whether the label and the maker allow it; more pulses a second shorten the gap.",
    PulseCaution.LITTLE_ROOM: "60 to 80 % is planned for: take a larger tip, or slow down in turns.",
    PulseCaution.LOW_DUTY: "60 to 80 % is planned for: a smaller tip is open longer.",
}


def pulse_words(plan: PassPlan, sprayer: Sprayer, reader: Reader) -> list[str]:
    """Return what a pass's set does on a pulse-width machine, in whole sentences; none on any other machine.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    sprayer : Sprayer
        The machine.
    reader : Reader
        Whose units.

    Returns
    -------
    list of str
        Gaps, turns, cautions.
    """
    if plan.trial is None or plan.window is None:
        return []
    outlook = pulse_outlook(plan.trial, plan.evidence, plan.rate_m3pm2, sprayer)
    return [] if outlook is None else [_gaps(outlook, reader), _turns(outlook, reader), *caution_words(outlook)]


def caution_words(outlook: PulseOutlook) -> list[str]:
    """Return what to look up or to change, each with what to do."""
    return [f"{one.value[0].upper()}{one.value[1:]}. {_REMEDIES[one]}" for one in outlook.cautions]


def gap_words(gap_m: M, reader: Reader) -> str:
    """Return a gap [m] as finely as anybody could see it on the ground."""
    return f"{reader.number(gap_m, Kind.SPACING):.0f} {reader.unit(Kind.SPACING)}"


def _gaps(outlook: PulseOutlook, reader: Reader) -> str:
    parts = [
        f"{row.name} {percent(row.duty_frac)} duty and {gap_words(row.gap_m, reader)} shut" for row in outlook.rows
    ]
    shut = f"Between two pulses a tip passes ground shut: {', '.join(parts)}."
    return f"{shut} Neighbours and the fan's depth fill part of it."


def _turns(outlook: PulseOutlook, reader: Reader) -> str:
    if math.isinf(outlook.least_radius_m):
        room = "no tip has duty left to follow a turn with"
    else:
        room = f"every tip can follow turns of {reader.text(outlook.least_radius_m, Kind.LENGTH)} and wider"
    if outlook.turns is TurnCompensation.NONE:
        return f"At the usual speed {room}, if the machine compensates turns; nobody said that it does."
    return (
        f"At the usual speed {room}, compensated by {outlook.turns.value}; the plan's figures for turns leave that out."
    )
