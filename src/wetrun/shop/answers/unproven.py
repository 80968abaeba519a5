"""What the cab card says is not proven: proofs that lapsed, and tests that were put off."""

from __future__ import annotations

from wetrun.papers.reader import day
from wetrun.shop.records.readiness import MachineStand


def unproven_words(stand: MachineStand) -> tuple[str, ...]:
    """Return what is not proven on a machine, in a few words each.

    Parameters
    ----------
    stand : MachineStand
        How far the machine is.

    Returns
    -------
    tuple of str
        Proofs that lapsed, why and since when; then what was put off, and to which day. Nothing twice.
    """
    gone = [f"{one.proof.value} ({one.causes[0].words}, {day(one.causes[0].since)})" for one in stand.lapsed]
    off = [f"{words} (booked for {day(one.on)})" for one in stand.booked for words in one.unproven]
    return tuple(dict.fromkeys((*gone, *off)))
