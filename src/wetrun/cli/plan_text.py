"""The plan as a person reads it in a terminal: the field's own speeds first, then what holds, then why not.

Sentences come from `wetrun.papers`, so that screen and paper say the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from wetrun.cli.telling import say
from wetrun.papers.along_words import along_words, uneven_words
from wetrun.papers.answer import answer_words, aside_words, cost_words, lost_words, pass_what_if_words, what_if_words
from wetrun.papers.changeover_words import changeover_data
from wetrun.papers.label_words import conflict_rows
from wetrun.papers.over_words import over_label_words
from wetrun.papers.pass_data import end_words, window_words
from wetrun.papers.pass_reasons import nothing_words, odd_words, rate_words
from wetrun.papers.pulse_words import pulse_words
from wetrun.papers.reader import Reader, bracket, listed, percent
from wetrun.papers.stage_words import staged_words
from wetrun.papers.words import CAUTIONS, GENERIC_CAUTION, place_words, short_words
from wetrun.percent import off_per_cent
from wetrun.planning.evidence import Evidence, EvidenceKind
from wetrun.planning.judging import Judgement
from wetrun.planning.report import PassNotes, PlanReport
from wetrun.planning.season_result import PassPlan, SetsOption
from wetrun.planning.speed_point import point_at
from wetrun.planning.tip_set import TipSet
from wetrun.planning.window import Trial
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
        Such as "iso-11006-pre (generic 110-06 pre-orifice flat fan; to buy)".
    """
    tip = tip_set.tip
    wear = "" if tip.wear_ratio == 1.0 else f", {off_per_cent(tip.wear_ratio - 1, places=0)} worn"
    return f"{tip.ident} ({tip.words}{wear}; {'owned' if tip_set.owned else 'to buy'})"


def _lines(report: PlanReport, reader: Reader) -> Iterator[str]:
    plan, chosen = report.plan, report.plan.proposed
    yield f"{plan.season.title} – {plan.season.customer}, {plan.season.sprayer.name}"
    yield f"{answer_words(plan, reader)} {lost_words(chosen, reader)}"
    if chosen.refits:
        yield "The nozzle bodies hold fewer sets than that: each change is a refit by hand."
    found = dict.fromkeys(f.words for notes in report.notes.values() for f in notes.density_findings)
    yield from (f"Check before anything else: {words}" for words in found)
    yield from aside_words(plan)
    for one in chosen.passes:
        yield ""
        yield from _pass_lines(one, report, reader)
    yield ""
    yield from _trade_off(report)
    yield from what_if_words(report, reader)
    yield from _changeovers(report)
    yield ""
    yield from CAUTIONS
    if any(tip_set.tip.generic for tip_set in chosen.tip_sets):
        yield GENERIC_CAUTION


def _pass_lines(one: PassPlan, report: PlanReport, reader: Reader) -> Iterator[str]:
    planned, notes = one.planned, report.notes[one.planned.ident]
    yield f"== {planned.ident}: {planned.crop}, {reader.area(planned.area_m2)}, {planned.carrier.name} =="
    yield from _tally_lines(one.evidence, reader)
    yield from notes.log_doubts
    yield from staged_words(report.staged.get(planned.ident), reader)
    if one.trial is None:
        yield from _nothing_lines(one, reader)
        return
    yield f"Held: {percent(one.held.lower_frac)} of the area ({bracket(one.held)})."
    yield f"Tip set: {set_words(one.trial.tip_set)}."
    yield from odd_words(planned, report.plan.season.sprayer)
    yield from filter(None, [rate_words(one, reader)])
    yield from _window_lines(one, one.trial, reader)
    yield from pulse_words(one, report.plan.season.sprayer, reader)
    yield from along_words(notes.along, reader)
    yield from (f"Check: {words}" for words in uneven_words(notes.along))
    for judgement in one.judgements:
        yield from _judgement_lines(judgement, one, reader)
    yield from _note_lines(one, notes, reader)


def _tally_lines(evidence: Evidence, reader: Reader) -> Iterator[str]:
    """The field's own speeds: area by speed, drawn with blocks and read as numbers."""
    source = ", ".join(evidence.names) if evidence.kind is EvidenceKind.LOG else "stated speeds, spread as a triangle"
    yield f"Speeds by area ({source}):"
    low, high = (float(value) for value in evidence.speed.percentiles([0.005, 0.995])[0])
    shown_low, shown_high = reader.number(low, Kind.SPEED), reader.number(high, Kind.SPEED)
    step = next(s for s in (0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 1e9) if (shown_high - shown_low) / s <= TALLY_CELLS)
    edges = np.arange(np.floor(shown_low / step), np.floor(shown_high / step) + 2) * step
    areas = evidence.speed.areas_between(np.array([reader.inside(edge, Kind.SPEED) for edge in edges]))
    shares = areas / max(evidence.speed.total_cm2, 1)
    for left, right, share in zip(edges[:-1], edges[1:], shares, strict=True):
        blocks = "█" * round(BAR_WIDTH * share / max(shares.max(), 1e-9))
        bar = f"{blocks:<{BAR_WIDTH}}"
        yield f"  {left:5.1f}–{right:<5.1f} {reader.unit(Kind.SPEED)}  {bar} {100 * share:3.0f} %"


def _window_lines(one: PassPlan, trial: Trial, reader: Reader) -> Iterator[str]:
    window = one.window
    if window is None:
        return
    yield f"Holds {window_words(window, reader)} at {reader.rate(one.rate_m3pm2)}."
    yield from end_words(window, reader)
    usual = point_at(trial, speed_mps=one.evidence.usual_mps, rate_m3pm2=one.rate_m3pm2)
    duty = "" if usual.duty_frac is None else f", duty {percent(usual.duty_frac)}"
    yield (
        f"At the usual {reader.speed(usual.speed_mps)}: {reader.pressure(usual.tip_pa)} at the tip, "
        f"{reader.pressure(usual.cab_pa)} at the cab sensor, {reader.flow(usual.boom_flow_m3s)} boom flow{duty}."
    )
    if usual.droplets is not None:
        yield f"Droplets: {usual.droplets.words}{_allowed_words(one, trial, usual.tip_pa)}."


def _allowed_words(one: PassPlan, trial: Trial, tip_pa: Pa) -> str:
    """How sure an allowed class is, where one is asked for."""
    classes, pattern = one.limits.classes, trial.tip_set.tip.pattern
    if classes is None or pattern is None:
        return ""
    return f"; inside what is allowed: {percent(probability_within(pattern, tip_pa, classes))}"


def _judgement_lines(judgement: Judgement, one: PassPlan, reader: Reader) -> Iterator[str]:
    if len(one.judgements) > 1:
        yield f"If the operator keeps the {judgement.reading.value}: {bracket(judgement.held)} held."
    for lost in judgement.lost:
        if lost.share_frac >= SAID_FRAC:
            where = "too slow" if lost.side is Side.LOW else "too fast"
            area = reader.area(lost.share_frac * one.planned.area_m2)
            yield f"  Lost: {percent(lost.share_frac)} ({area}), {where} – {short_words(lost.limit)}."


def _note_lines(one: PassPlan, notes: PassNotes, reader: Reader) -> Iterator[str]:
    if one.window is not None:
        yield from over_label_words(one, one.window, reader, notes)
    if not one.planned.carrier.is_water:
        places = listed([place_words(place) for place in notes.density_places])
        yield f"The density of {one.planned.carrier.name} counts {places}."
    if notes.wear is not None:
        yield f"Wear: {notes.wear.words}"
    yield from (f"What if: {words[0].lower()}{words[1:]}" for words in pass_what_if_words(one, notes, reader))


def _nothing_lines(one: PassPlan, reader: Reader) -> Iterator[str]:
    yield "No tip set can be proposed for this pass."
    for conflict in one.limits.conflicts:
        rows = conflict_rows(conflict, reader)
        yield f"  The limits on {rows['thing']} leave nothing. {rows['remedy']}"
        yield from (f"    {row['owner']}: {row['says']}" for row in rows["parts"])
    yield from (f"  {words}" for words in nothing_words(one))


def _trade_off(report: PlanReport) -> Iterator[str]:
    yield "By number of sets:"
    for option in report.plan.options:
        yield _option_line(option, mark="→" if option is report.plan.proposed else " ")


def _changeovers(report: PlanReport) -> Iterator[str]:
    found = changeover_data(report.order, report.plan.proposed)
    if found["rows"] or found["after"]:
        yield ""
    yield from filter(None, [found["opening"]])
    yield from (f"  {row['change']} ({row['crop']}): {row['need']}. {row['why']}" for row in found["rows"])
    yield from found["after"]


def _option_line(option: SetsOption, *, mark: str) -> str:
    cost = f"{cost_words(option)} for new tips" if option.tips_to_buy else "nothing to buy"
    changes = f"{option.changes} change{'' if option.changes == 1 else 's'}"
    names = ", ".join(tip_set.tip.ident for tip_set in option.tip_sets)
    return f" {mark} {len(option.tip_sets)}: {bracket(option.held)} held, {cost}, {changes}: {names}"
