"""One sentence on what is wrong: the cross-check's where it can tell, else the worst that was found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet

from wetrun.percent import more_or_less, off_per_cent, per_cent
from wetrun.proving.catch_diagnosis import TipFault, TipFinding
from wetrun.proving.catch_pulse import PulseFinding
from wetrun.proving.faults import FaultKind
from wetrun.proving.session_result import Asked, Evidence, Findings, Part
from wetrun.proving.session_rows import METER_THING, positions, speed_thing
from wetrun.proving.verdict import Verdict
from wetrun.units import FRACTION, RATIO, Ratio

_NAMED_TIPS = 4
"""More odd tips than this are counted in the sentence, not named. Our choice."""
_HOW = {TipFault.NO_FLOW: "gives nothing", TipFault.PLUMBING: "is short of pressure"}


def sentence_of(
    found: Findings, evidence: Sequence[Evidence], tips: Sequence[TipFinding], questions: Sequence[Asked]
) -> str:
    """Return what is wrong, in one sentence.

    Parameters
    ----------
    found : Findings
        The tests' results.
    evidence : sequence of Evidence
        The table.
    tips : sequence of TipFinding
        Tips to change.
    questions : sequence of Asked
        What has to be answered first.

    Returns
    -------
    str
        A fault is named only where a verdict or the cross-check stands behind it.
    """
    held = [line for line in evidence if line.counts and line.verdict is not None]
    if not held:
        return "Nothing was tested yet." if found.start.started else found.start.words
    wrong = [*_instruments(found, held, tips=bool(tips)), *_odd_tips(tips), *_solenoids(found)]
    if wrong:
        said = "; and ".join([part for part in ("; ".join(wrong[:-1]), wrong[-1]) if part])
    else:
        said = _nothing_wrong(found, held)
    asked = sum(question.first for question in questions)
    if asked:
        said += f"; but {asked} question{'s' if asked > 1 else ''} about the readings must be answered first"
    return f"{said[:1].upper()}{said[1:]}."


def _instruments(found: Findings, held: Sequence[Evidence], *, tips: bool) -> Iterator[str]:
    """What the cross-check names, else the line furthest beyond its limit; and numbers that are off all the same.

    Odd tips make a boom uneven, so evenness is not told beside them as a thing of its own.
    """
    explained = () if found.check is None else found.check.named
    named = {sized.fault for each in explained for sized in each.faults}
    if named and found.answer is not None:
        said = found.answer.sentence.removesuffix(".")
        yield said[:1].lower() + said[1:]
    failed = [line for line in held if line.verdict is Verdict.FAIL and not line.place.startswith("tip ")]
    failed = [line for line in failed if line.part is not Part.LOW_DUTY or not found.low_duty]
    failed = [line for line in failed if not (tips and line.part is Part.EVENNESS)]
    failed = [line for line in failed if line.part is not Part.CROSSCHECK] or failed
    if failed and not named:
        yield _line_words(max(failed, key=_excess))
    told = {line.thing for line in failed if not named}
    yield from _numbers(found, {(fault.kind, fault.name) for fault in named}, told)


def _numbers(found: Findings, named: AbstractSet[tuple[FaultKind, str]], told: AbstractSet[str]) -> Iterator[str]:
    """Instruments whose number is better changed, also those inside their limit; none is told twice."""
    meter, sources = found.meter, () if found.course is None else found.course.sources
    untold = (FaultKind.METER, "") not in named and METER_THING not in told
    if meter is not None and meter.new_number is not None and untold:
        error = _read(meter.error_ratio, meter.judged.expanded)
        yield f"the flow meter reads {error} and takes a new number"
    for each in sources:
        name = each.source.name
        if each.new_number is None or (FaultKind.SPEED, name) in named or speed_thing(name) in told:
            continue
        error = _read(each.error_ratio, each.judged.expanded)
        yield f"the speed source {name} reads {error} and takes a new number"


def _read(error_ratio: Ratio, expanded_ratio: Ratio) -> str:
    return f"{per_cent(abs(error_ratio))} {'high' if error_ratio > 0.0 else 'low'} (± {per_cent(expanded_ratio)})"


def _excess(line: Evidence) -> float:
    limit = line.high if line.high is not None and line.value > line.high else line.low
    return abs(line.value - (limit or 0.0)) / (abs(limit or 0.0) or 1.0)


def _line_words(line: Evidence) -> str:
    if line.unit in (RATIO, FRACTION):
        off = off_per_cent(line.value) if line.unit is RATIO else per_cent(line.value)
        doubt = "" if line.expanded is None else f" (± {per_cent(line.expanded)})"
        return f"{line.thing}: {off}{doubt}, beyond its limit"
    return f"{line.thing}: {line.value:.0f}" if line.unit is None else f"{line.thing} is beyond its limit"


def _odd_tips(tips: Sequence[TipFinding]) -> Iterator[str]:
    if len(tips) > _NAMED_TIPS:
        yield f"tips {positions(tip.caught.tip for tip in tips)} are off"
    elif tips:
        yield " and ".join(_tip_words(tip) for tip in tips)


def _solenoids(found: Findings) -> Iterator[str]:
    """Tips that pulse unlike their boom; one that is odd at full duty too is named there as well."""
    weak = found.low_duty or ()
    if len(weak) > _NAMED_TIPS:
        yield f"{len(weak)} tips pulse unlike their boom at low duty"
    elif weak:
        yield " and ".join(_weak_words(each) for each in weak)


def _weak_words(each: PulseFinding) -> str:
    though = ", though it passes at full duty" if each.passes_full else ""
    return f"tip {each.tip} gives {more_or_less(each.change_ratio - 1.0, places=0)} than expected at low duty{though}"


def _tip_words(tip: TipFinding) -> str:
    off = f"gives {more_or_less(tip.to_boom_ratio - 1.0, places=0)} than its boom"
    sizes = f", like size {' or '.join(tip.other_sizes)}" if tip.other_sizes else f" ({tip.fault.value})"
    how = _HOW.get(tip.fault, f"{off}{sizes}")
    return f"tip {tip.caught.tip} {how}"


def _nothing_wrong(found: Findings, held: Sequence[Evidence]) -> str:
    open_lines = [line for line in held if line.verdict is Verdict.UNDECIDED]
    agree = "all readings agree within their uncertainties, and " if found.check is not None else ""
    if not open_lines:
        return f"{agree}nothing that was tested is beyond its limit"
    named = "; ".join(f"{line.part.value}, {line.thing}" for line in open_lines[:2])
    more = f" and {len(open_lines) - 2} more" if len(open_lines) > 2 else ""
    return f"{agree}nothing that was tested is surely beyond its limit, but undecided: {named}{more}"
