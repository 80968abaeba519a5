"""What was done to a log and what it leaves open, as sentences for beside a plan."""

from __future__ import annotations

from wetrun.fieldlog.tallied import TalliedLog


def log_notes(log: TalliedLog) -> tuple[str, ...]:
    """Return what was done to a log, and what it leaves open, as sentences.

    Parameters
    ----------
    log : TalliedLog
        The log.

    Returns
    -------
    tuple of str
        Repairs, what was left out, doubts.
    """
    facts = log.facts
    repairs = [f"{facts.file}: {repair.words} ({repair.count:,})." for repair in facts.repairs]
    left_out = [f"{facts.file}: left out, {part.why} ({part.count:,} instants)." for part in facts.left_out]
    return (*repairs, *left_out, *(f"{facts.file}: {doubt.words}. {doubt.remedy}" for doubt in facts.doubts))
