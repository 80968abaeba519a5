"""A log tallied once: its ledger, its rates, its turns and what was said of it. A plan needs no more of a log.

It is small whatever the length of the log, and made of whole numbers and of facts, so that it can be kept, sent from
one computer to another, and put together with others in any order to the same bits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import reduce
from hashlib import blake2b
from typing import Final

import numpy as np

from wetrun.fieldlog.joining import Told, told_by
from wetrun.fieldlog.ledger import Ledger
from wetrun.fieldlog.running import PiecedLedger
from wetrun.fieldlog.tally import Tally, merged_tallies, tally_of
from wetrun.fieldlog.trace import LogFacts, Trace, usable, with_columns_of
from wetrun.fieldlog.turns import TurnTally, turn_tally
from wetrun.units import M, Ratio

METHOD: Final = "log tallied for a plan"
METHOD_NUMBER: Final = 1
DRIVE_BYTES: Final = 16
DRIVE_COLUMNS: Final = ("time_s", "speed_mps", "width_m", "area_m2")
TURN_INSTANTS: Final = 1 << 18


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
    return tallied_in_pieces([trace], questions)


def tallied_in_pieces(pieces: Iterable[Trace], questions: Iterable[TurnQuestion] = ()) -> TalliedLog:
    """Return a log tallied that comes piece by piece, one of them in memory at a time.

    Parameters
    ----------
    pieces : iterable of Trace
        At least one, in their order, each telling of the whole log, or each of itself, which is then joined.
    questions : iterable of TurnQuestion
        Booms and label ratios its turns are asked for.

    Returns
    -------
    TalliedLog
        The same bits as of the whole, wherever it was cut.
    """
    asked = tuple(questions)
    columns = [blake2b(digest_size=DRIVE_BYTES) for _ in DRIVE_COLUMNS]
    grown = PiecedLedger()
    rates: list[Tally] = []
    turns: dict[TurnQuestion, TurnTally] = {}
    told: Told | None = None
    for piece in pieces:
        told = told_by(piece, told)
        for found, name in zip(columns, DRIVE_COLUMNS, strict=True):
            found.update(np.ascontiguousarray(getattr(piece, name)).data)
        grown.add(piece)
        rates = [merged_tallies([*rates, _rate_tally(piece)])]
        fresh = _turns_of(piece, asked)
        turns = {one: _added(turns[one], fresh[one]) for one in asked} if turns else fresh
    if told is None:
        raise ValueError("a log has at least one piece")
    return TalliedLog(
        drive=blake2b(b"".join(found.digest() for found in columns), digest_size=DRIVE_BYTES).hexdigest(),
        facts=told.facts,
        full_width_m=told.full_width_m,
        ledger=grown.ledger(),
        rate=rates[0],
        turns=turns,
    )


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


def instants_between(trace: Trace, start: int, stop: int) -> Trace:
    """Return some instants of a trace, with all that stands beside them.

    Parameters
    ----------
    trace : Trace
        The log.
    start, stop : int
        First instant, and the one after the last.

    Returns
    -------
    Trace
        Its columns are views; its facts are those of the whole, and it says so.
    """
    return replace(with_columns_of(trace, slice(start, stop)), told_of_whole=True)


def _turns_of(piece: Trace, questions: Iterable[TurnQuestion]) -> dict[TurnQuestion, TurnTally]:
    """The turns for every question; in parts, since every section of the boom takes a column of its own."""
    starts = range(0, max(piece.time_s.size, 1), TURN_INSTANTS)
    parts = [instants_between(piece, at, at + TURN_INSTANTS) for at in starts]
    return {
        asked: reduce(_added, (turn_tally(part, np.array(asked.edges_m), asked.label_ratio) for part in parts))
        for asked in questions
    }


def _added(first: TurnTally, then: TurnTally) -> TurnTally:
    counts = (field.name for field in fields(TurnTally) if field.name != "words")
    return replace(first, **{name: getattr(first, name) + getattr(then, name) for name in counts})


def _rate_tally(trace: Trace) -> Tally:
    rate = np.where(np.isfinite(trace.target_m3pm2), trace.target_m3pm2, trace.applied_m3pm2)
    known = usable(trace) & np.isfinite(rate) & (rate > 0)
    return tally_of(rate[known], trace.width_m[known], trace.area_m2[known])
