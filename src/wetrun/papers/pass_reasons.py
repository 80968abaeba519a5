"""Why a pass is planned as it is: odd positions, a rate beside the target, or no set at all."""

from __future__ import annotations

from collections.abc import Iterator

from wetrun.machine.sprayer import Sprayer
from wetrun.papers.label_words import class_words
from wetrun.papers.reader import Reader
from wetrun.papers.segments import CLASS_LIMITS
from wetrun.papers.words import refusal_words, short_words
from wetrun.planning.passes import Pass
from wetrun.planning.season_result import PassPlan


def odd_words(planned: Pass, sprayer: Sprayer) -> list[str]:
    """Return what the positions carry that usually have a tip of their own.

    Parameters
    ----------
    planned : Pass
        The pass, which may do without odd tips.
    sprayer : Sprayer
        The boom.

    Returns
    -------
    list of str
        One phrase per kind of position.
    """
    return [
        f"Position{'s' if len(odd.positions) > 1 else ''} {', '.join(map(str, odd.positions))} ({odd.kind.value}): "
        + (
            f"{odd.tip}, whatever the set"
            if planned.odd_positions
            else f"the set's own tip in this pass, not {odd.tip}"
        )
        for odd in sprayer.boom.exceptions
    ]


def rate_words(plan: PassPlan, reader: Reader) -> str:
    """Return why another rate than the target is set; empty if the target is.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        One sentence.
    """
    if not plan.rate_moved:
        return ""
    target, limits = plan.planned.rate_m3pm2, plan.limits
    low, high = reader.rate(limits.rate_low_m3pm2), reader.rate(limits.rate_high_m3pm2)
    why = f"it holds more of the pass, inside the {low} to {high} that labels and customer accept"
    if not limits.rate_low_m3pm2 <= target <= limits.rate_high_m3pm2:
        why = f"labels and customer together accept {low} to {high}"
    return f"Your target is {reader.rate(target)}; {reader.rate(plan.rate_m3pm2)} because {why}."


def nothing_words(plan: PassPlan) -> Iterator[str]:
    """Return why no set can be put on for a pass, by how many sets fall to what.

    Parameters
    ----------
    plan : PassPlan
        A pass without a set.

    Yields
    ------
    str
        Whole sentences, the commonest reason first.
    """
    for refusal, count in sorted(plan.refused.items(), key=lambda found: (-found[1], found[0])):
        yield f"{_sets(count)} {refusal_words(refusal)}."
    held_nothing = sorted(plan.held_nothing.items(), key=lambda found: (-found[1], found[0]))
    if plan.limits.classes and held_nothing and {limit for limit, _ in held_nothing} <= CLASS_LIMITS:
        yield f"No other tip in the catalogue makes {class_words(plan.limits.classes)} within its pressure range."
    for limit, count in held_nothing:
        yield f"{_sets(count)} left with no speed of the field: {short_words(limit)}."


def _sets(count: int) -> str:
    return "1 set is" if count == 1 else f"{count} sets are"
