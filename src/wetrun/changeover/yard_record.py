"""The signed record of a clean-out, and whether it is complete.

It says what was done, by whom and when. It never says that nothing is left.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final

from wetrun.changeover.yard_list import YardList
from wetrun.changeover.yard_step import StepKind, YardStep
from wetrun.percent import little_per_cent
from wetrun.units import M3, Frac

METHOD: Final = "changeover-record-1"
_RINSING: Final = frozenset({StepKind.LABEL, StepKind.EMPTYING, StepKind.RINSE, StepKind.CIRCUIT, StepKind.PARTS})
"""Kinds of step without which a computed dilution does not hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepEntry:
    """What somebody wrote down for one step.

    Attributes
    ----------
    step : str
        Ident of the step.
    done_by : str
        Who did it.
    begun_at, done_at : datetime or None
        When, with a time zone; the beginning is asked for where something has to stand.
    water_m3 : float or None
        Water used [m3].
    skipped_because : str
        Why it was left out; empty if it was done.
    """

    step: str
    done_by: str = ""
    begun_at: datetime | None = None
    done_at: datetime | None = None
    water_m3: M3 | None = None
    skipped_because: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeoverRecord:
    """A clean-out as it was done.

    Attributes
    ----------
    listed : YardList
        The list it was done by, with machine, products from and to, and cleaners.
    entries : tuple of StepEntry
        What was written down.
    signed_by : str
        Who answers for the machine.
    signed_at : datetime or None
        When, with a time zone.
    diluted_frac : float or None
        What the rinse plan computed for the first tank of the next crop, as a share of the old mix [frac].
    method : str
        What judges it.
    """

    listed: YardList
    entries: tuple[StepEntry, ...]
    signed_by: str = ""
    signed_at: datetime | None = None
    diluted_frac: Frac | None = None
    method: str = METHOD


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordState:
    """Whether a record is complete, and what may be said by it.

    Attributes
    ----------
    complete : bool
        Every step is done or its skipping explained, and it is signed.
    lacking : tuple of str
        What keeps it from that, in sentences.
    notes : tuple of str
        What to know besides.
    water_m3 : float
        Water written down, over all steps [m3].
    skipped : tuple of tuple of str
        Steps left out, each with its reason.
    result : str
        What may be said of the machine.
    """

    complete: bool
    lacking: tuple[str, ...]
    notes: tuple[str, ...]
    water_m3: M3
    skipped: tuple[tuple[str, str], ...]
    result: str


def record_state(record: ChangeoverRecord) -> RecordState:
    """Return whether a record is complete, what is lacking, and what may be said by it.

    Parameters
    ----------
    record : ChangeoverRecord
        What was written down.

    Returns
    -------
    RecordState
        With a sentence for everything that is lacking.

    Notes
    -----
    The result is “diluted to x if nothing is bound” and no more, and only where every step that the figure rests on was
    done with its water: what has bound to tank and hose, and the next load's adjuvants strip loose, is in no figure.

    References
    ----------
    unl-qa-2018, dtn-2018, osu-cleanout-2018
    """
    found = {entry.step: entry for entry in record.entries}
    lacking = (*_stray(record), *_open(record, found), *_signature(record))
    skipped = tuple((e.step, e.skipped_because) for e in record.entries if e.skipped_because)
    short = tuple(step.ident for step in record.listed.steps if _short_of_water(step, found.get(step.ident)))
    return RecordState(
        complete=not lacking,
        lacking=lacking,
        notes=(
            *record.listed.gaps,
            *_order_notes(record, found),
            *(f"{ident}: less water than the list asked for." for ident in short),
        ),
        water_m3=sum(entry.water_m3 or 0.0 for entry in record.entries),
        skipped=skipped,
        result=_result(record, lacking, short),
    )


def diluted_words(diluted_frac: Frac) -> str:
    """Return what a computed dilution may be called.

    Parameters
    ----------
    diluted_frac : float
        Share of the old mix [frac].

    Returns
    -------
    str
        One sentence, never more than is known.

    Example
    -------
    >>> diluted_words(0.00012)
    'Diluted to 0.012 % of the old mix if nothing is bound.'
    """
    return f"Diluted to {little_per_cent(diluted_frac)} of the old mix if nothing is bound."


def _stray(record: ChangeoverRecord) -> Iterator[str]:
    """Entries that fit no step, or a step twice."""
    idents = [step.ident for step in record.listed.steps]
    written = [entry.step for entry in record.entries]
    yield from (f"{name}: the list has no such step." for name in dict.fromkeys(written) if name not in idents)
    yield from (f"{name}: written down more than once." for name in idents if written.count(name) > 1)


def _open(record: ChangeoverRecord, found: dict[str, StepEntry]) -> Iterator[str]:
    for step in record.listed.steps:
        entry = found.get(step.ident)
        if entry is None:
            yield f"{step.ident}: still open."
        elif entry.skipped_because:
            yield from _skipping(step, entry)
        else:
            yield from _doing(step, entry)


def _skipping(step: YardStep, entry: StepEntry) -> Iterator[str]:
    if step.binding:
        yield f"{step.ident}: this step cannot be left out; see the label."
    if entry.done_at is not None or entry.begun_at is not None:
        yield f"{step.ident}: written down as done and as left out."


def _doing(step: YardStep, entry: StepEntry) -> Iterator[str]:
    if not entry.done_by:
        yield f"{step.ident}: nobody put a name to it."
    if entry.done_at is None:
        yield f"{step.ident}: no time was written down."
    if step.water_m3 is not None and entry.water_m3 is None:
        yield f"{step.ident}: the water used was not written down."
    if entry.water_m3 is not None and not 0.0 <= entry.water_m3 < float("inf"):
        yield f"{step.ident}: the water used cannot be below zero."
    times = [when for when in (entry.begun_at, entry.done_at) if when is not None]
    if any(when.utcoffset() is None for when in times):
        yield f"{step.ident}: a time without its time zone."
        return
    if entry.begun_at is not None and entry.done_at is not None and entry.done_at < entry.begun_at:
        yield f"{step.ident}: it ends before it begins."
    elif step.stand_s is not None:
        yield from _standing(step, entry)


def _standing(step: YardStep, entry: StepEntry) -> Iterator[str]:
    if entry.begun_at is None:
        yield f"{step.ident}: when the standing began was not written down."
    elif entry.done_at is not None and (entry.done_at - entry.begun_at).total_seconds() < (step.stand_s or 0.0):
        yield f"{step.ident}: it stood for less than the label's time."


def _signature(record: ChangeoverRecord) -> Iterator[str]:
    if not record.signed_by:
        yield "The record is not signed."
    if record.signed_at is None:
        yield "The record has no time of signing."
    elif record.signed_at.utcoffset() is None:
        yield "The time of signing has no time zone."
    elif any(when > record.signed_at for when in _times(record)):
        yield "It was signed before its last step was done."


def _times(record: ChangeoverRecord) -> Iterator[datetime]:
    for entry in record.entries:
        if entry.done_at is not None and entry.done_at.utcoffset() is not None:
            yield entry.done_at


def _order_notes(record: ChangeoverRecord, found: dict[str, StepEntry]) -> Iterator[str]:
    """Steps that were done before the one ahead of them in the list."""
    done = [(step.ident, found[step.ident].done_at) for step in record.listed.steps if step.ident in found]
    timed = [(ident, when) for ident, when in done if when is not None and when.utcoffset() is not None]
    for (first, early), (second, late) in pairwise(timed):
        if late < early:
            yield f"{second} was done before {first}, which stands ahead of it in the list."


def _short_of_water(step: YardStep, entry: StepEntry | None) -> bool:
    if step.water_m3 is None or entry is None or entry.water_m3 is None:
        return False
    return entry.water_m3 < step.water_m3


def _result(record: ChangeoverRecord, lacking: tuple[str, ...], short: tuple[str, ...]) -> str:
    kinds = {step.ident: step.kind for step in record.listed.steps}
    missed = [e.step for e in record.entries if e.skipped_because and kinds.get(e.step) in _RINSING]
    if record.diluted_frac is None:
        return "How far it is diluted was not computed."
    if lacking:
        return "How far it is diluted is not known: the record is not complete."
    if missed or short:
        return f"How far it is diluted is not known: not done as planned: {', '.join((*missed, *short))}."
    return diluted_words(record.diluted_frac)
