"""What stands behind a cross-check as plain data for `--json`: each reading, each balance, the second way."""

from __future__ import annotations

from typing import Any

from wetrun.proving.further import Unseen
from wetrun.proving.readings_evidence import BalanceEvidence, ReadingEvidence, balances_evidence, readings_evidence
from wetrun.proving.second_route import SecondRoute
from wetrun.proving.session_result import Findings


def plain_agreement(found: Findings) -> dict[str, Any]:
    """Return the statistics under a cross-check's sentence.

    Parameters
    ----------
    found : Findings
        The tests' results.

    Returns
    -------
    dict
        Empty lists and None where nothing was checked. Readings and balances: standardised size beside its limit, false
        alarms counted over all of them.
    """
    check, answer = found.check, found.answer
    return {
        "unseen_shown_by": [] if answer is None else [_unseen(each) for each in answer.hidden],
        "second_route": None if answer is None or answer.second is None else _second(answer.second),
        "readings": [] if check is None else [_reading(each) for each in readings_evidence(check.scene)],
        "balances": [] if check is None else [_balance(each) for each in balances_evidence(check.scene)],
    }


def _unseen(each: Unseen) -> dict[str, Any]:
    return {"read": each.words or None, "shows": [fault.words for fault in each.faults]}


def _second(route: SecondRoute) -> dict[str, Any]:
    steps = [
        {"without": list(names), "statistic": step.statistic, "limit": step.limit, "relations": step.redundancy}
        for names, step in zip(route.dropped, route.steps, strict=True)
    ]
    return {"ends": route.ends.value, "words": route.words, "steps": steps}


def _reading(each: ReadingEvidence) -> dict[str, Any]:
    checked = each.adjustability_frac > 0.0
    return {
        "reading": each.reading.words,
        "value": each.reading.value,
        "standard": each.reading.budget.combined,
        "becomes": each.reconciled if checked else None,
        "off_ratio": each.off_ratio if checked else None,
        "deviate": each.deviate if checked else None,
        "limit": each.limit,
        "beyond": each.stands_out,
        "adjustability_frac": each.adjustability_frac,
    }


def _balance(each: BalanceEvidence) -> dict[str, Any]:
    return {
        "reading": each.reading.words,
        "checked_by": [other.words for other in each.others],
        "off_ratio": each.off_ratio,
        "deviate": each.deviate,
        "limit": each.limit,
        "beyond": each.stands_out,
    }
