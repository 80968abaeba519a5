"""A log tallied once: its ledger, its rates, its turns and what was said of it. A plan needs no more of a log.

It is small whatever the length of the log, and made of whole numbers and of facts, so that it can be kept, sent from
one computer to another, and put together with others in any order to the same bits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Final

import numpy as np

from wetrun.fieldlog.ledger import Ledger, ledger_of
from wetrun.fieldlog.tally import Tally, tally_of
from wetrun.fieldlog.trace import LogFacts, Trace, usable
from wetrun.fieldlog.turns import TurnTally, turn_tally
from wetrun.units import M, Ratio

METHOD: Final = "log tallied for a plan"
METHOD_NUMBER: Final = 1
DRIVE_BYTES: Final = 16


@dataclass(frozen=True, slots=True)
class TurnQuestion:
    """What the turns of a log are asked for: a boom, and how far the rate may rise.

    Attributes
    ----------
    edges_m : tuple of float
        Edges of the boom sections, left to right from the machine's centre [m].
    label_ratio : float
        The label's greatest rate over the rate applied [ratio]; infinite where none is known.
    """

    edges_m: tuple[M, ...]
    label_ratio: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class TalliedLog:
    """Everything a plan needs of one log.

    Attributes
    ----------
    drive : str
        What tells one drive from another: a hash of its times, speeds, widths and areas. The same drive exported twice
        has it twice.
    facts : LogFacts
        What was found while reading.
    full_width_m : float
        Width with every section on [m].
    ledger : Ledger
        Area by speed and by flow per width.
    rate : Tally
        Area by the rate driven at: the target, or what was applied where no target is logged.
    turns : mapping of TurnQuestion to TurnTally
        Area inside turns, by what was asked.
    """

    drive: str
    facts: LogFacts
    full_width_m: M
    ledger: Ledger
    rate: Tally
    turns: Mapping[TurnQuestion, TurnTally]


def tallied(trace: Trace, questions: Iterable[TurnQuestion] = ()) -> TalliedLog:
    """Return a log tallied, its turns for every question asked.

    Parameters
    ----------
    trace : Trace
        The log.
    questions : iterable of TurnQuestion
        Booms and label ratios its turns are asked for.

    Returns
    -------
    TalliedLog
        Its size does not grow with the log.
    """
    return TalliedLog(
        drive=drive_of(trace),
        facts=trace.facts,
        full_width_m=trace.full_width_m,
        ledger=ledger_of(trace),
        rate=_rate_tally(trace),
        turns=turns_of(trace, questions),
    )


def turns_of(trace: Trace, questions: Iterable[TurnQuestion]) -> dict[TurnQuestion, TurnTally]:
    """Return the turns of a log for every question asked.

    Parameters
    ----------
    trace : Trace
        The log.
    questions : iterable of TurnQuestion
        Booms and label ratios.

    Returns
    -------
    dict of TurnQuestion to TurnTally
        In the order asked.
    """
    return {asked: turn_tally(trace, np.array(asked.edges_m), asked.label_ratio) for asked in questions}


def drive_of(trace: Trace) -> str:
    """Return what tells one drive from another, as hexadecimal digits.

    Parameters
    ----------
    trace : Trace
        The log.

    Returns
    -------
    str
        Equal for two exports of the same records; two drives never share it.
    """
    found = blake2b(digest_size=DRIVE_BYTES)
    for column in (trace.time_s, trace.speed_mps, trace.width_m, trace.area_m2):
        found.update(np.ascontiguousarray(column).tobytes())
    return found.hexdigest()


def each_drive_once(logs: Sequence[TalliedLog]) -> tuple[tuple[TalliedLog, ...], tuple[str, ...]]:
    """Return logs without repeats, and a sentence for each that is left out.

    Parameters
    ----------
    logs : sequence of TalliedLog
        As given.

    Returns
    -------
    tuple
        The first of each drive, in the order given; and for every other which one it repeats. A terminal writes its
        old tasks again on every export: counted twice, the fields of spring would outweigh those of summer.
    """
    first: dict[str, TalliedLog] = {}
    twice: list[str] = []
    for log in logs:
        known = first.setdefault(log.drive, log)
        if known is not log:
            twice.append(f"{log.facts.file}: the same drive as {known.facts.file}; counted once.")
    return tuple(first.values()), tuple(twice)


def _rate_tally(trace: Trace) -> Tally:
    rate = np.where(np.isfinite(trace.target_m3pm2), trace.target_m3pm2, trace.applied_m3pm2)
    known = usable(trace) & np.isfinite(rate) & (rate > 0)
    return tally_of(rate[known], trace.width_m[known], trace.area_m2[known])
