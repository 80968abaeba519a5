"""Cab against gauges in words: what a section loses, and the rule for a gauge, in the units of the door that asks."""

from __future__ import annotations

from wetrun.proving.pressure import GAUGE_LOW_PA, GAUGE_STEP_PA, SectionLoss
from wetrun.proving.sentence import Words, pascals


def loss_words(loss: SectionLoss, pressure_words: Words = pascals) -> str:
    """Return what one section loses, and what to look at if that is unlike the others.

    Parameters
    ----------
    loss : SectionLoss
        The section.
    pressure_words : callable
        Makes words of a pressure in pascal.

    Returns
    -------
    str
        One sentence.

    Example
    -------
    >>> loss_words(SectionLoss(5, 3.5e9, 1e7, 56000.0, 32000.0, True))
    'Section 5 loses 56000 Pa at the greatest flow, 32000 Pa more than the others: clean its strainer, look at valve \
and hose.'
    """
    said = f"Section {loss.section} loses {pressure_words(loss.drop_pa)} at the greatest flow"
    if not loss.unlike:
        return f"{said}."
    over = f"{said}, {pressure_words(abs(loss.over_rest_pa))}"
    if loss.over_rest_pa > 0.0:
        return f"{over} more than the others: clean its strainer, look at valve and hose."
    return f"{over} less than the others."


def gauge_rule_words(pressure_words: Words = pascals) -> str:
    """Return the rule for a gauge of a sprayer in use.

    Parameters
    ----------
    pressure_words : callable
        Makes words of a pressure in pascal.

    Returns
    -------
    str
        Both its limits.

    References
    ----------
    iso-16122-2

    Example
    -------
    >>> gauge_rule_words(lambda pressure_pa: f"{pressure_pa / 1e5:g} bar")
    'gauge within ±10 % of the reading, or 0.2 bar up to 2 bar'
    """
    low, step = pressure_words(GAUGE_LOW_PA), pressure_words(GAUGE_STEP_PA)
    return f"gauge within ±10 % of the reading, or {low} up to {step}"
