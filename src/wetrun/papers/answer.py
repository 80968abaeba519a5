"""The season's answer in one sentence, and the sentences that follow it: what is lost, and what one set would need."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from wetrun.papers.reader import Reader, listed, money, percent
from wetrun.papers.words import short_words
from wetrun.planning.evidence import Evidence, EvidenceKind
from wetrun.planning.report import PassNotes, PlanReport
from wetrun.planning.season import places_to_fill
from wetrun.planning.season_result import PassPlan, SeasonPlan, SetsOption
from wetrun.planning.tip_set import TipSet
from wetrun.planning.whatif import GOAL_FRAC, OneSet, SpeedChange
from wetrun.quantity import Kind
from wetrun.units import M2, Frac

MOST_CAUSES: Final = 3
WORTH_SAYING_FRAC: Final[Frac] = 0.002
WORTH_A_CHANGE_FRAC: Final[Frac] = 0.01
"""Another rate must hold this much more of a pass to be worth a line."""
_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def answer_words(plan: SeasonPlan, reader: Reader) -> str:
    """Return the season's answer: how many sets hold how much of the acres.

    Parameters
    ----------
    plan : SeasonPlan
        The plan.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        One sentence.
    """
    option, area = plan.proposed, reader.area(season_area_m2(plan.proposed))
    number = len(option.tip_sets)
    if not number:
        return f"No set of tips on the list holds any of your {area}; the reasons stand pass by pass."
    sets = f"{_number(number)} tip set{'s hold' if number > 1 else ' holds'}"
    return f"{sets.capitalize()} {percent(option.held.lower_frac)} of your {area}."


def lost_words(option: SetsOption, reader: Reader) -> str:
    """Return how many acres are not held, and the limits that cost most of them."""
    total_m2 = season_area_m2(option)
    held_m2 = option.held.lower_frac * total_m2
    if total_m2 - held_m2 < 1e-3 * total_m2:
        return "Nothing worth naming is lost."
    causes: dict[str, M2] = {}
    for plan in option.passes:
        if plan.trial is None:
            causes[f"no set possible for {plan.planned.ident}"] = plan.planned.area_m2
            continue
        for lost in min(plan.judgements, key=lambda found: found.held.lower_frac).lost:
            cause = short_words(lost.limit)
            causes[cause] = causes.get(cause, 0.0) + lost.share_frac * plan.planned.area_m2
    ordered = sorted(causes.items(), key=lambda found: -found[1])
    worst = [f"{cause} ({reader.area(area)})" for cause, area in ordered[:MOST_CAUSES]]
    return f"Not held: {reader.area(total_m2 - held_m2)}, most of it for {listed(worst)}."


def sets_words(option: SetsOption) -> list[dict[str, str | bool]]:
    """Return each set of an option with the passes it is for."""
    return [
        {
            "words": one.tip.words,
            "size": one.tip.size,
            "owned": one.owned,
            "passes": listed([plan.planned.ident for plan in option.passes if _uses(plan, one)]),
        }
        for one in option.tip_sets
    ]


def trade_off_rows(plan: SeasonPlan, reader: Reader) -> list[dict[str, str | bool]]:
    """Return the trade-off by number of sets as rows of text."""
    return [
        {
            "sets": str(len(option.tip_sets)),
            "tips": "; ".join(one.tip.words for one in option.tip_sets),
            "held": percent(option.held.lower_frac),
            "lost": reader.area((1.0 - option.held.lower_frac) * season_area_m2(option)),
            "buy": str(option.tips_to_buy),
            "cost": cost_words(option),
            "changes": f"{option.changes}{', refitting by hand' if option.refits else ''}",
            "proposed": option is plan.proposed or option == plan.proposed,
        }
        for option in plan.options
    ]


def cost_words(option: SetsOption) -> str:
    """Return what new tips cost, and how many of them have no known price.

    Parameters
    ----------
    option : SetsOption
        The sets.

    Returns
    -------
    str
        Such as "658.00, 70 tips without a known price".
    """
    new = [one for one in option.tip_sets if not one.owned]
    unknown = sum(one.needed for one in new if one.cost_cents is None)
    known = [one.cost_cents for one in new if one.cost_cents is not None]
    parts = [money(sum(known))] if known or not new else []
    return ", ".join([*parts, *([f"{unknown} tips without a known price"] if unknown else [])])


def part_rows(option: SetsOption) -> list[dict[str, str]]:
    """Return the tips to order: owned sets are left out."""
    return [
        {
            "tip": one.tip.words,
            "ident": one.tip.ident,
            "count": str(one.needed),
            "each": money(one.tip.price_cents),
            "total": money(one.cost_cents),
        }
        for one in option.tip_sets
        if not one.owned
    ]


def what_if_words(report: PlanReport, reader: Reader) -> list[str]:
    """Return what would let one set do the season, in sentences."""
    evidence = {one.planned.ident: one.evidence for one in report.plan.proposed.passes}
    return [_one_set(one, evidence, reader) for one in (report.by_rate, report.by_speed) if one is not None]


def pass_what_if_words(plan: PassPlan, notes: PassNotes, reader: Reader) -> list[str]:
    """Return the nearest rate, and the speeds to keep to, with which a pass's own set would do it.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    notes : PassNotes
        What is said of it.
    reader : Reader
        Whose units.

    Returns
    -------
    list of str
        Whole sentences.
    """
    found, rate, speed = [], notes.rate_change, notes.speed_change
    if rate is not None and rate.held_frac > plan.held.lower_frac + WORTH_A_CHANGE_FRAC:
        found.append(f"At {reader.rate(rate.rate_m3pm2)} this set holds {percent(rate.held_frac)} of the pass.")
    if speed is not None and speed.size > 0:
        found.append(f"Kept {_kept(speed, plan.evidence, reader)} this set does the pass.")
    return found


def speeds_words(evidence: Evidence, reader: Reader) -> str:
    """Return the slow and the fast end of a pass's speeds, and whether they were driven or only stated.

    Parameters
    ----------
    evidence : Evidence
        Speeds of a pass.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        Such as "driven 9.8 to 15.1 mph".
    """
    how = "driven" if evidence.kind is EvidenceKind.LOG else "stated"
    return f"{how} {reader.digits(evidence.slow_mps, Kind.SPEED)} to {reader.speed(evidence.fast_mps)}"


def aside_words(plan: SeasonPlan) -> list[str]:
    """Return what the budget costs in acres, and which owned sets could not be used.

    Parameters
    ----------
    plan : SeasonPlan
        The plan.

    Returns
    -------
    list of str
        Whole sentences; often none.
    """
    places = places_to_fill(plan.season)
    found = [
        f"Left out: {owned.count} of {owned.tip} are fewer than the {places} tips a set needs here."
        for owned in plan.owned_left_out
    ]
    free = plan.without_budget
    if free is not None and free.lower_frac > plan.proposed.held.lower_frac + WORTH_SAYING_FRAC:
        budget = money(plan.season.budget_cents)
        found.append(f"Without the budget of {budget} {percent(free.lower_frac)} could be held.")
    if plan.season.budget_cents is not None:
        found.append("There is a budget, so tips without a known price were left out.")
    return found


def season_area_m2(option: SetsOption) -> M2:
    """Return the area of all passes [m2]; ground sprayed twice counts twice."""
    return sum(plan.planned.area_m2 for plan in option.passes)


def _kept(change: SpeedChange, evidence: Evidence, reader: Reader) -> str:
    low, high = reader.inward(change.slow_to_mps, change.fast_to_mps)
    return f"between {low} and {high} {reader.unit(Kind.SPEED)} ({speeds_words(evidence, reader)})"


def _one_set(one: OneSet, evidence: Mapping[str, Evidence], reader: Reader) -> str:
    opened = f"One set of {one.tip_set.tip.words} would hold {percent(GOAL_FRAC)} of every pass"
    rates = [
        f"{change.planned.ident} ran at {reader.rate(change.rate_m3pm2)} "
        f"instead of {reader.rate(change.planned.rate_m3pm2)}"
        for change in one.rates
    ]
    speeds = [
        f"{change.planned.ident} were kept {_kept(change, evidence[change.planned.ident], reader)}"
        for change in one.speeds
    ]
    changes = [*rates, *speeds]
    return f"{opened} if {listed(changes)}." if changes else f"{opened} as planned."


def _uses(plan: PassPlan, one: TipSet) -> bool:
    return plan.trial is not None and plan.trial.tip_set.key == one.key


def _number(number: int) -> str:
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)
