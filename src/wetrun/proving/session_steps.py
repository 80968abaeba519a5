"""What follows from a wet run: questions to answer, numbers to enter, tips to change, and what to do first."""

from __future__ import annotations

from collections.abc import Iterator

from wetrun.proving.catch_diagnosis import ODD_FAULTS, TipFault, TipFinding
from wetrun.proving.catch_questions import Trouble
from wetrun.proving.catch_remedy import Remedy
from wetrun.proving.meter_result import MeterResult
from wetrun.proving.monitor import Rounded, Setting
from wetrun.proving.number_form import NumberForm
from wetrun.proving.ramp_findings import Seen
from wetrun.proving.rule import NextStep
from wetrun.proving.session_answers import name_of
from wetrun.proving.session_pulse import weak_words
from wetrun.proving.session_record import WetRun
from wetrun.proving.session_result import Asked, Evidence, Findings, NewNumber, Part
from wetrun.proving.settings import Agreement
from wetrun.proving.slips import Question
from wetrun.proving.verdict import Verdict

_NAMED = ODD_FAULTS | {TipFault.BODY}
_TOLD_BY_TIP = frozenset({Remedy.NOTHING, Remedy.TIPS, Remedy.BODIES})
"""Each tip's own line says what to do with it, and says it once."""
_BEFORE_LEAVING = frozenset({Seen.STILL_SIMULATED, Seen.DENSITY_NOT_RESTORED})


def questions_of(found: Findings) -> tuple[Asked, ...]:
    """Return every question the readings raise, part by part; none is answered here."""
    asked: list[Asked] = []
    for part, result in ((Part.COURSE, found.course), (Part.METER, found.meter)):
        asked += () if result is None else [_by_row(part, q) for q in result.questions]
    for part, caught in ((Part.CATCH, found.catch), (Part.LOW_DUTY, found.low_catch)):
        for question in () if caught is None else caught.questions:
            if part is Part.LOW_DUTY and question.trouble is Trouble.NO_FLOW:
                continue  # a tip that does not pulse at low duty is found by name
            words = f"At low duty: {question.words}" if part is Part.LOW_DUTY else question.words
            names, first = tuple(name_of(part, name) for name in question.names), question.trouble is not Trouble.BLANK
            asked.append(Asked(part, _tips_row(question.tips), words, first=first, names=names))
    # A swap test that cannot be judged holds no other verdict up.
    swaps = (swap for swap in found.swaps if swap.verdict is None)
    asked += [Asked(Part.CATCH, f"swap of tip {swap.odd}", swap.words, first=False) for swap in swaps]
    asked += [Asked(part, q.row, q.words, names=_named(part, q.name)) for part, q in found.typed]
    solenoids = (swap for swap in found.low_swaps if swap.verdict is None)
    asked += [Asked(Part.LOW_DUTY, f"swap at tip {swap.odd}", swap.words, first=False) for swap in solenoids]
    for moment, settings in (("as found", found.settings_found), ("as left", found.settings_left)):
        for each in settings:
            if each.slips:
                words = f"{each.wanted.setting.value}, {moment}: was it {' or '.join(each.slips)}?"
                setting = each.wanted.setting.value
                asked.append(Asked(Part.SETTINGS, setting, words, names=_named(Part.SETTINGS, setting)))
    return tuple(asked)


def _by_row(part: Part, question: Question) -> Asked:
    """A question of a table whose rows obey one law: which column slipped is a guess, so the row is answered for."""
    return Asked(part, question.row, question.words, names=_named(part, question.row if question.name else ""))


def _named(part: Part, row: str) -> tuple[str, ...]:
    return (name_of(part, row),) if row else ()


def _tips_row(tips: tuple[int, ...]) -> str:
    if not tips:
        return "whole boom"
    return f"tip {tips[0]}" if len(tips) == 1 else f"{len(tips)} tips"


def tips_of(found: Findings) -> tuple[TipFinding, ...]:
    """Return the tips to change or to swap, along the boom; those in question are asked about instead."""
    tips = () if found.catch is None else found.catch.tips
    return tuple(tip for tip in tips if tip.fault in _NAMED and tip.question is None)


def numbers_of(run: WetRun, found: Findings) -> tuple[NewNumber, ...]:
    """Return the new calibration numbers.

    Parameters
    ----------
    run : WetRun
        For the numbers as they stood, and how the monitor keeps them.
    found : Findings
        The tests' results.

    Returns
    -------
    tuple of NewNumber
        Meter, then speed sources; only those a test offers.
    """
    return (*_meter_number(run, found.meter), *_speed_numbers(run, found))


def _meter_number(run: WetRun, meter: MeterResult | None) -> Iterator[NewNumber]:
    if run.meter is not None and meter is not None and meter.new_number is not None:
        number = run.meter.meter.number
        yield NewNumber(
            part=Part.METER,
            thing="flow meter",
            found=number,
            new=meter.new_number,
            expanded_ratio=meter.judged.expanded / (1.0 + meter.error_ratio),
            enter=_kept(run, Setting.METER_NUMBER, number.form, meter.measured_pulsepm3),
        )


def _speed_numbers(run: WetRun, found: Findings) -> Iterator[NewNumber]:
    for each in () if found.course is None else found.course.sources:
        number = each.source.number
        if number is not None and each.new_number is not None:
            yield NewNumber(
                part=Part.COURSE,
                thing=each.source.name,
                found=number,
                new=each.new_number,
                expanded_ratio=each.judged.expanded / (1.0 + each.error_ratio),
                enter=_kept(run, Setting.SPEED_NUMBER, number.form, number.quantity * (1.0 + each.error_ratio)),
            )


def _kept(run: WetRun, setting: Setting, form: NumberForm, quantity: float) -> Rounded | None:
    """What the monitor takes, if its profile keeps the setting in the form of the number as found."""
    kept = None if run.monitor is None else run.monitor.profile.form_of(setting)
    return None if kept is None or kept.form != form else kept.rounded(quantity)


def next_steps_of(found: Findings, evidence: tuple[Evidence, ...], questions: tuple[Asked, ...]) -> tuple[str, ...]:
    """Return what to do, first things first.

    Parameters
    ----------
    found : Findings
        The tests' results.
    evidence : tuple of Evidence
        The table, for what its lines ask for.
    questions : tuple of Asked
        What has to be answered.

    Returns
    -------
    tuple of str
        Gates, what must not leave the yard, questions, what parts of the machine need, what is still to be read; each
        once.
    """
    steps = [f"{shut.gate.value}: {shut.why}" for shut in found.start.shut]
    ramp = () if found.ramp is None else found.ramp.findings
    steps += [finding.seen.value for finding in ramp if finding.seen in _BEFORE_LEAVING]
    steps += [f"{step.step.value}: put it right and sign" for step in found.density_missing]
    steps += [question.words for question in questions if question.first]
    steps += [line for part in Part for line in _of_part(part, found, evidence)]
    steps += [finding.seen.value for finding in ramp if finding.seen not in _BEFORE_LEAVING]
    steps += () if found.next_check is None else [found.next_check.words]
    return tuple(dict.fromkeys(_sentence(step) for step in steps if step))


def _of_part(part: Part, found: Findings, evidence: tuple[Evidence, ...]) -> Iterator[str]:
    if part is Part.CATCH and found.catch is not None:
        if found.catch.remedy not in _TOLD_BY_TIP:
            yield found.catch.words
        yield from (tip.words for tip in tips_of(found))
        yield from (finding.words for finding in found.catch.boom)
        return
    if part is Part.METER and found.meter is not None:
        yield from () if _is_left(found, Setting.METER_NUMBER) else _of_meter(found.meter)
        return
    if part is Part.EVENNESS and found.both is not None and not found.both.agree:
        yield found.both.words
    if part is Part.LOW_DUTY:
        yield from weak_words(found)
        return
    for line in evidence:
        wanted = line.counts and line.verdict is not Verdict.PASS
        new = line.part is Part.COURSE and line.next_step == NextStep.ENTER_NEW.value
        course = new and not _is_left(found, Setting.SPEED_NUMBER)
        if line.part is part and line.next_step and (wanted or course):
            yield f"{line.thing}: {line.next_step}"


def _of_meter(meter: MeterResult) -> Iterator[str]:
    if meter.next_step is not NextStep.KEEP:
        why = f" ({'; '.join(reason.value for reason in meter.withheld)})" if meter.withheld else ""
        look = f": {', '.join(meter.look_for)}" if meter.look_for else ""
        more = f"; {meter.more_catches} more catches would help" if meter.more_catches else ""
        yield f"flow meter: {meter.next_step.value}{why}{look}{more}"


def _is_left(found: Findings, setting: Setting) -> bool:
    """Whether the monitor was left with the number that the run wants."""
    left = [each for each in found.settings_left if each.wanted.setting is setting]
    return bool(left) and all(each.agreement in (Agreement.AGREES, Agreement.WITHIN_DOUBT) for each in left)


def _sentence(step: str) -> str:
    said = step[:1].upper() + step[1:]
    return said if said.endswith((".", "?", "!")) else f"{said}."
