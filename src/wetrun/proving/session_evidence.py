"""The evidence table of a wet run: every verdict with value, doubt, limit, rule and next step."""

from __future__ import annotations

from collections.abc import Iterator

from wetrun.proving.course_result import CourseResult
from wetrun.proving.meter_result import MeterResult
from wetrun.proving.pressure import PressureResult, gauge_judged
from wetrun.proving.pressure_plumbing import LossAgainst
from wetrun.proving.pressure_sentence import gauge_rule_words, loss_words
from wetrun.proving.rule import METER_REPEATS_1, METER_SPAN_2, METER_TAG_5
from wetrun.proving.sentence import Words, pascals
from wetrun.proving.session_evidence_boom import boom_lines
from wetrun.proving.session_evidence_catch import catch_lines
from wetrun.proving.session_record import WetRun
from wetrun.proving.session_result import Evidence, Findings, Part
from wetrun.proving.session_rows import (
    METER_THING,
    About,
    Held,
    counted,
    line_of,
    speed_thing,
    told,
)
from wetrun.proving.verdict import Verdict
from wetrun.units import METRE_PER_SECOND, PASCAL


def evidence_of(run: WetRun, found: Findings, pressure_words: Words = pascals) -> tuple[Evidence, ...]:
    """Return every line of evidence of a wet run.

    Parameters
    ----------
    run : WetRun
        As written down.
    found : Findings
        The tests' results.
    pressure_words : callable
        Makes words of a pressure in pascal, for rules and next steps.

    Returns
    -------
    tuple of Evidence
        In the order of the report. Of a boom of tips the lines are the set, the tips that stand out, and the farthest
        of the rest; all tips are in the catch's own result.
    """
    lines: list[Evidence] = []
    lines += () if found.course is None else _course(found.course)
    lines += () if found.meter is None else _meter(found.meter)
    lines += catch_lines(found)
    lines += () if found.pressure is None else _pressure(run, found.pressure, pressure_words)
    lines += _plumbing(found.plumbing)
    lines += boom_lines(found)
    lines += _agreement(found)
    return tuple(lines)


def _course(course: CourseResult) -> Iterator[Evidence]:
    speed_mps = course.speed_mps
    doubt = course.budget.expanded() * speed_mps
    yield told(About(Part.COURSE, "true speed of the course"), speed_mps, doubt, unit=METRE_PER_SECOND)
    for each in course.sources:
        about = About(Part.COURSE, speed_thing(each.source.name), each.next_step.value)
        yield line_of(about, each.judged, Held(each.rule.name, each.rule.source_key))


def _meter(meter: MeterResult) -> Iterator[Evidence]:
    reasons = "; ".join(reason.value for reason in meter.withheld)
    step = f"{meter.next_step.value} ({reasons})" if reasons else meter.next_step.value
    yield line_of(About(Part.METER, METER_THING, step), meter.judged, Held(meter.rule.name, meter.rule.source_key))
    if meter.span is not None:
        about = About(Part.METER, "change of its error from slow to fast flow")
        yield line_of(about, meter.span, Held(METER_SPAN_2.name, METER_SPAN_2.source_key))
    if meter.tag is not None:
        about = About(Part.METER, "proven number against the meter's tag")
        yield line_of(about, meter.tag, Held(METER_TAG_5.name, METER_TAG_5.source_key))
    if meter.repeat_cv_ratio is not None:
        thing = f"scatter of catches at one flow ({METER_REPEATS_1.name})"
        yield told(About(Part.METER, thing), meter.repeat_cv_ratio)
    for marks in meter.beside:
        yield told(About(Part.METER, f"tank marks, {marks.name}, never to set a meter by"), marks.marks_off_ratio)


def _pressure(run: WetRun, pressure: PressureResult, pressure_words: Words) -> Iterator[Evidence]:
    pairs = () if run.pressure is None else run.pressure.pairs
    highest_pa = max(pair.cab_pa for pair in pairs)
    found, _ = gauge_judged(highest_pa, highest_pa - pressure.offset_pa, pressure.offset_doubt)
    off = abs(pressure.offset_pa) > found.expanded
    step = "set the cab sensor's zero, then read again" if off else ""
    held = Held(gauge_rule_words(pressure_words), "iso-16122-2")
    yield line_of(About(Part.PRESSURE, "cab sensor against the gauge, no flow", step), found, held, unit=PASCAL)
    odd = [loss for loss in pressure.sections if loss.unlike]
    step = " ".join(loss_words(loss, pressure_words) for loss in odd)
    about = About(Part.PRESSURE, "sections that lose otherwise than the rest", step)
    yield counted(
        about,
        len(odd),
        Held("no section unlike the middle of the others, 1 % of false alarms", "gum-jcgm-100", of_trade=False),
    )


def _plumbing(plumbing: tuple[LossAgainst, ...]) -> Iterator[Evidence]:
    if not plumbing:
        return
    for loss in plumbing:
        thing = f"section {loss.section}, loss above what its plumbing predicts"
        yield told(About(Part.PRESSURE, thing, loss.words), loss.over_pa, loss.expanded_pa, unit=PASCAL)
    beyond = [loss for loss in plumbing if loss.beyond]
    thing, words = "sections that lose more than their plumbing predicts", " ".join(loss.words for loss in beyond)
    held = Held("no section above its plumbing by more than the doubt of both", "darcy-weisbach", of_trade=False)
    yield counted(About(Part.PRESSURE, thing, words), len(beyond), held)


def _agreement(found: Findings) -> Iterator[Evidence]:
    check = found.check
    if check is None:
        return
    further = None if found.answer is None else found.answer.further
    step = "" if further is None else f"read {further.words}"
    yield Evidence(
        part=Part.CROSSCHECK,
        thing="disagreement of all readings (global test)",
        value=check.statistic,
        expanded=None,
        low=None,
        high=check.limit,
        unit=None,
        rule="readings agree within their uncertainties, 5 % of false alarms",
        source_key="narasimhan-jordache-2000",
        verdict=Verdict.FAIL if check.alarm else Verdict.PASS,
        next_step=step,
    )
