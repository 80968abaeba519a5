"""The plan as a person reads it in a terminal: the field's own speeds first, then what holds, then why not."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from wetrun.cli.telling import say
from wetrun.papers.reader import Reader, bracket, listed, money, percent
from wetrun.papers.words import (
    CAUTIONS,
    GENERIC_CAUTION,
    long_words,
    place_words,
    refusal_words,
    short_words,
    thing_words,
)
from wetrun.planning.evidence import Evidence, EvidenceKind
from wetrun.planning.judging import Judgement
from wetrun.planning.label_limits import Conflict
from wetrun.planning.over_label import TRIFLE_FRAC, OverLabel
from wetrun.planning.passes import Pass
from wetrun.planning.report import PassNotes, PlanReport
from wetrun.planning.season import PassPlan, SetsOption
from wetrun.planning.tip_set import TipSet
from wetrun.planning.whatif import OneSet
from wetrun.planning.window import point_at
from wetrun.quantity import Kind, System
from wetrun.spray.droplets import probability_within
from wetrun.spray.limits import Side
from wetrun.units import Frac, Pa

BAR_WIDTH: Final = 24
TALLY_CELLS: Final = 12
SAID_FRAC: Final[Frac] = 0.001
"""Less area than this behind a reason is not worth a line."""


def tell_plan(report: PlanReport, system: System) -> None:
    """Print a plan.

    Parameters
    ----------
    report : PlanReport
        The plan with its notes.
    system : System
        The reader's unit system.
    """
    reader = Reader(system)
    for line in _lines(report, reader):
        say(line)


def set_words(tip_set: TipSet) -> str:
    """Return a set in a few words: ident, what it is, owned or to buy, worn or not.

    Parameters
    ----------
    tip_set : TipSet
        The set.

    Returns
    -------
    str
        Such as "iso-11006-pre (110-06 pre-orifice flat fan, generic; to buy)".
    """
    tip = tip_set.tip
    wear = "" if tip.wear_ratio == 1.0 else f", {tip.wear_ratio - 1:+.0%} worn"
    return f"{tip.ident} ({tip.words}{wear}; {'owned' if tip_set.owned else 'to buy'})"


def _lines(report: PlanReport, reader: Reader) -> Iterator[str]:
    plan, chosen = report.plan, report.plan.proposed
    area_m2 = sum(one.planned.area_m2 for one in chosen.passes)
    yield f"{plan.season.title} – {plan.season.customer}, {plan.season.sprayer.name}"
    yield _answer(chosen, reader.area(area_m2))
    found = dict.fromkeys(f.words for notes in report.notes.values() for f in notes.density_findings)
    yield from (f"Check before anything else: {words}" for words in found)
    yield from _season_lines(report)
    for one in chosen.passes:
        yield ""
        yield from _pass_lines(one, report.notes[one.planned.ident], reader)
    yield ""
    yield from _trade_off(report)
    yield from _what_ifs(report, reader)
    yield ""
    yield from _cautions(chosen)


def _season_lines(report: PlanReport) -> Iterator[str]:
    """What the whole plan owes the reader: the budget's price, sets that were left out."""
    plan = report.plan
    if plan.without_budget is not None and plan.season.budget_cents is not None:
        held, free = plan.proposed.held.lower_frac, plan.without_budget.lower_frac
        binds = f"it costs {percent(free - held)} of the acres" if free > held + SAID_FRAC else "it costs no acres"
        yield f"Budget {money(plan.season.budget_cents)}: {binds}. Tips without a known price were left out."
    for owned in plan.owned_left_out:
        places = plan.season.sprayer.boom.tips - plan.season.sprayer.boom.excepted
        yield f"Left out: the {owned.count} {owned.tip} you own do not fill {places} positions."


def _answer(chosen: SetsOption, area: str) -> str:
    count = len(chosen.tip_sets)
    if not count:
        return f"No tip set holds any of your {area}. Why not stands under each pass."
    sets = "One set holds" if count == 1 else f"{count} sets hold"
    refit = " The nozzle bodies hold fewer sets than that: each change is a refit by hand." if chosen.refits else ""
    return f"{sets} {percent(chosen.held.lower_frac)} of your {area} ({bracket(chosen.held)}).{refit}"


def _pass_lines(one: PassPlan, notes: PassNotes, reader: Reader) -> Iterator[str]:
    planned = one.planned
    yield f"== {planned.ident}: {planned.crop}, {reader.area(planned.area_m2)}, {planned.carrier.name} =="
    yield from _tally_lines(one.evidence, reader)
    yield from notes.log_doubts
    if one.trial is None or one.window is None:
        yield from _nothing_lines(one, reader)
        return
    yield f"Held: {percent(one.held.lower_frac)} of the acres ({bracket(one.held)})."
    yield f"Tip set: {set_words(one.trial.tip_set)}, at {reader.rate(one.rate_m3pm2)}{_why_moved(one, reader)}."
    yield from _window_lines(one, reader)
    for judgement in one.judgements:
        yield from _judgement_lines(judgement, one, reader)
    yield from _note_lines(one, notes, reader)


def _why_moved(one: PassPlan, reader: Reader) -> str:
    if not one.rate_moved:
        return ""
    return f" (your target is {reader.rate(one.planned.rate_m3pm2)}; this holds more of the acres)"


def _tally_lines(evidence: Evidence, reader: Reader) -> Iterator[str]:
    """The field's own speeds: area by speed, drawn with blocks and read as numbers."""
    source = ", ".join(evidence.names) if evidence.kind is EvidenceKind.LOG else "stated speeds, spread as a triangle"
    yield f"Speeds by area ({source}):"
    low, high = (float(value) for value in evidence.speed.percentiles([0.005, 0.995])[0])
    shown_low, shown_high = reader.number(low, Kind.SPEED), reader.number(high, Kind.SPEED)
    step = next(s for s in (0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 1e9) if (shown_high - shown_low) / s <= TALLY_CELLS)
    edges = np.arange(np.floor(shown_low / step), np.ceil(shown_high / step) + 1) * step
    areas = evidence.speed.areas_between(np.array([reader.inside(edge, Kind.SPEED) for edge in edges]))
    shares = areas / max(evidence.speed.total_cm2, 1)
    for left, right, share in zip(edges[:-1], edges[1:], shares, strict=True):
        blocks = "█" * round(BAR_WIDTH * share / max(shares.max(), 1e-9))
        yield f"  {left:5.1f}–{right:<5.1f} {reader.unit(Kind.SPEED)}  {blocks:<{BAR_WIDTH}} {share:4.0%}"


def _window_lines(one: PassPlan, reader: Reader) -> Iterator[str]:
    window, trial = one.window, one.trial
    if window is None or trial is None:
        return
    low = f" (below: {long_words(window.low_by)})" if window.low_by else ""
    high = f" (above: {long_words(window.high_by)})" if window.high_by else ""
    if window.empty:
        yield "No speed is held with all sections on."
    else:
        yield f"Holds from {reader.speed(window.low_mps)}{low} to {reader.speed(window.high_mps)}{high}."
    usual = point_at(trial, speed_mps=one.evidence.usual_mps, rate_m3pm2=one.rate_m3pm2)
    duty = "" if usual.duty_frac is None else f", duty {percent(usual.duty_frac)}"
    yield (
        f"At the usual {reader.speed(usual.speed_mps)}: {reader.pressure(usual.tip_pa)} at the tip, "
        f"{reader.pressure(usual.cab_pa)} at the cab sensor, {reader.flow(usual.boom_flow_m3s)} boom flow{duty}."
    )
    if usual.droplets is not None:
        yield f"Droplets: {usual.droplets.words}{_allowed_words(one, usual.tip_pa)}."


def _allowed_words(one: PassPlan, tip_pa: Pa) -> str:
    """How sure an allowed class is, where one is asked for."""
    trial, classes = one.trial, one.limits.classes
    if trial is None or classes is None or trial.tip_set.tip.pattern is None:
        return ""
    return f"; inside what is allowed with {percent(probability_within(trial.tip_set.tip.pattern, tip_pa, classes))}"


def _judgement_lines(judgement: Judgement, one: PassPlan, reader: Reader) -> Iterator[str]:
    if len(one.judgements) > 1:
        yield f"If the operator keeps the {judgement.reading.value}: {bracket(judgement.held)} held."
    for lost in judgement.lost:
        if lost.share_frac >= SAID_FRAC:
            where = "too slow" if lost.side is Side.LOW else "too fast"
            area = reader.area(lost.share_frac * one.planned.area_m2)
            yield f"  Lost: {percent(lost.share_frac)} ({area}), {where} – {short_words(lost.limit)}."


def _note_lines(one: PassPlan, notes: PassNotes, reader: Reader) -> Iterator[str]:
    over = notes.over_label
    if over is not None:
        yield from _over_label_lines(over, one, reader)
    for turns in notes.turns:
        total = max(turns.total_cm2, 1)
        yield (
            f"Turns: {percent(turns.turning_cm2 / total)} of the area is sprayed in turns, "
            f"{percent(turns.off_by_a_tenth_cm2 / total)} is off by more than a tenth there"
            + (f", {percent(turns.over_label_cm2 / total)} above the label's maximum." if _has_label(one) else ".")
        )
    if not one.planned.carrier.is_water:
        yield f"Density of {one.planned.carrier.name} applied {listed([place_words(p) for p in notes.density_places])}."
    if notes.wear is not None:
        yield f"Wear: {notes.wear.words}"
    if notes.rate_change is not None:
        rate = reader.rate(notes.rate_change.rate_m3pm2)
        yield f"What if: at {rate} this set does {percent(notes.rate_change.held_frac)} of the pass."
    change = notes.speed_change
    if change is not None and change.size > 0:
        yield (
            f"What if: kept between {reader.speed(change.slow_to_mps)} and {reader.speed(change.fast_to_mps)} "
            f"(now {reader.speed(change.slow_mps)} to {reader.speed(change.fast_mps)}) this set does the pass."
        )


def _over_label_lines(over: OverLabel, one: PassPlan, reader: Reader) -> Iterator[str]:
    area = f"{reader.area(over.area_m2)} ({percent(over.area_m2 / one.planned.area_m2)})"
    yield f"Above the label's maximum for {over.owner}: {area}, below {reader.speed(over.below_mps)}."
    if over.area_m2 <= TRIFLE_FRAC * one.planned.area_m2:
        return
    choices = ["drive no slower", "shut off below that speed and come back for those acres"]
    if over.other_set is not None:
        choices.append(f"put on {over.other_set.tip.ident}, which holds {percent(over.other_held_frac)} without it")
    if over.product_frac < 1.0:
        choices.append(f"mix {percent(over.product_frac)} of the planned product rate, if the label allows it")
    yield f"  Choices: {listed(choices, joint='or')}."


def _has_label(one: PassPlan) -> bool:
    return one.limits.label_ratio is not None


def _nothing_lines(one: PassPlan, reader: Reader) -> Iterator[str]:
    yield "No tip set can be proposed for this pass."
    for conflict in one.limits.conflicts:
        yield f"  The limits on {thing_words(conflict.thing)} leave nothing:"
        yield from (f"    {line}" for line in conflict_lines(conflict, reader))
    for refusal, count in one.refused.items():
        yield f"  {count} sets: {refusal_words(refusal)}."
    for limit, count in one.held_nothing.items():
        yield f"  {count} sets hold none of it: {long_words(limit)}."


def conflict_lines(conflict: Conflict, reader: Reader) -> Iterator[str]:
    """Yield a conflict product by product.

    Parameters
    ----------
    conflict : Conflict
        Limits that leave nothing.
    reader : Reader
        The reader's unit system.

    Yields
    ------
    str
        One line per product.
    """
    kinds = {"volume per area": Kind.RATE, "speed": Kind.SPEED, "length": Kind.HEIGHT}
    for part in conflict.parts:
        if part.unit is None:
            yield f"{part.owner}: {', '.join(part.names) or 'none'}"
            continue
        kind = kinds[part.unit.dimension]
        ends = [f"{word} {reader.text(end, kind)}" for word, end in (("from", part.low), ("to", part.high)) if end]
        yield f"{part.owner}: {' '.join(ends)}"


def _trade_off(report: PlanReport) -> Iterator[str]:
    yield "By number of sets:"
    for option in report.plan.options:
        mark = "→" if option is report.plan.proposed else " "
        cost = _cost_words(option)
        names = ", ".join(tip_set.tip.ident for tip_set in option.tip_sets)
        changes = f"{option.changes} change{'' if option.changes == 1 else 's'}"
        yield f" {mark} {len(option.tip_sets)}: {bracket(option.held)} held, {cost}, {changes}: {names}"


def _cost_words(option: SetsOption) -> str:
    """Money for the sets with a price, and how many tips have none."""
    if not option.tips_to_buy:
        return "nothing to buy"
    known = sum(tip_set.cost_cents or 0 for tip_set in option.tip_sets)
    unknown = sum(tip_set.needed for tip_set in option.tip_sets if tip_set.cost_cents is None)
    parts = [f"{money(known)} for new tips"] if known else []
    return " and ".join([*parts, *([f"{unknown} tips without a known price"] if unknown else [])])


def _what_ifs(report: PlanReport, reader: Reader) -> Iterator[str]:
    if report.by_rate is not None and report.by_rate.rates:
        changes = [f"{c.planned.ident} at {reader.rate(c.rate_m3pm2)}" for c in report.by_rate.rates]
        yield f"One set would do every pass: {_one(report.by_rate)} with {listed(changes)} – if the labels allow."
    if report.by_speed is not None and report.by_speed.speeds:
        changes = [_speeds(c.planned, c.slow_to_mps, c.fast_to_mps, reader) for c in report.by_speed.speeds]
        yield f"Or {_one(report.by_speed)}, keeping to {listed(changes)}."


def _one(option: OneSet) -> str:
    return option.tip_set.tip.ident


def _speeds(planned: Pass, slow_mps: float, fast_mps: float, reader: Reader) -> str:
    return f"{reader.speed(slow_mps)}–{reader.speed(fast_mps)} in {planned.ident}"


def _cautions(chosen: SetsOption) -> Iterator[str]:
    yield from CAUTIONS
    if any(tip_set.tip.generic for tip_set in chosen.tip_sets):
        yield GENERIC_CAUTION
