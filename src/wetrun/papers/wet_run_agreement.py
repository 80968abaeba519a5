"""The cross-check on paper: each reading and each balance by itself, the second way, and what was not seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import measured
from wetrun.percent import off_per_cent
from wetrun.proving.crosscheck import CrossCheck
from wetrun.proving.readings_evidence import BalanceEvidence, ReadingEvidence, balances_evidence, readings_evidence
from wetrun.proving.redundant import Kind, Reading
from wetrun.proving.sentence import Answer
from wetrun.units import CUBIC_METRE_PER_SECOND, METRE_PER_SECOND, PASCAL, RATIO

_UNITS = {
    Kind.COURSE: METRE_PER_SECOND,
    Kind.SPEED: METRE_PER_SECOND,
    Kind.METER: CUBIC_METRE_PER_SECOND,
    Kind.CATCH: CUBIC_METRE_PER_SECOND,
    Kind.TANK: CUBIC_METRE_PER_SECOND,
    Kind.CAB: PASCAL,
    Kind.GAUGE: PASCAL,
}


def agreement_data(check: CrossCheck | None, answer: Answer | None, reader: Reader) -> dict[str, Any]:
    """Return what stands behind a cross-check's sentence as plain data.

    Parameters
    ----------
    check : CrossCheck or None
        The cross-check; None gives empty parts.
    answer : Answer or None
        Its words.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        What it answers, readings in the order they were taken, balances, their limits, the second way, and what was
        not seen. ``agrees`` is None where nothing was held against anything.
    """
    readings = () if check is None or check.scene.found.redundancy == 0 else readings_evidence(check.scene)
    balances = () if check is None else balances_evidence(check.scene)
    return {
        "cross_check": "" if answer is None else answer.sentence,
        "agrees": None if check is None else not check.alarm,
        "readings": [_reading(each, reader) for each in readings],
        "readings_limit": f"{readings[0].limit:.2f}" if readings else "",
        "balances": [_balance(each) for each in balances],
        "balances_limit": f"{balances[0].limit:.2f}" if balances else "",
        "second": "" if answer is None or answer.second is None else answer.second.words,
        "unseen": [] if answer is None else [each.sentence for each in answer.hidden],
    }


def _reading(each: ReadingEvidence, reader: Reader) -> dict[str, str | bool]:
    reading = each.reading
    unit, less = (_UNITS[reading.kind], 0.0) if reading.kind in _UNITS else (RATIO, 1.0)
    shown = measured(reading.value - less, reading.budget.expanded(), unit, reader)
    becomes = measured(each.reconciled - less, reading.budget.expanded(), unit, reader)
    checked = each.adjustability_frac > 0.0
    return {
        "words": reading.words,
        "value": shown.text,
        "becomes": f"{becomes.value} {becomes.unit}".rstrip() if checked else "nothing checks it",
        "off": off_per_cent(each.off_ratio, places=2) if checked else "",
        "deviate": f"{each.deviate:.1f}" if checked else "",
        "out": each.stands_out,
    }


def _balance(each: BalanceEvidence) -> dict[str, str | bool]:
    return {
        "words": each.reading.words,
        "others": _together(each.others),
        "off": off_per_cent(each.off_ratio, places=2),
        "deviate": f"{each.deviate:.1f}",
        "out": each.stands_out,
    }


def _together(readings: Sequence[Reading]) -> str:
    """Name readings; those of many sections are one thing to say."""
    count = Counter((reading.kind, reading.point) for reading in readings)
    said = dict.fromkeys(
        reading.words if count[reading.kind, reading.point] == 1 else _of_sections(reading, count)
        for reading in readings
    )
    return ", ".join(said)


def _of_sections(reading: Reading, count: Counter[tuple[Kind, int]]) -> str:
    many = count[reading.kind, reading.point]
    if not reading.section:
        return reading.words
    where = f" at pressure {reading.point}" if reading.point else ""
    return f"{reading.kind.value}{where}, {many} of them"
