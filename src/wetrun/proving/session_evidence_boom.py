"""Evidence of the boom and the monitor: evenness, ramp, sections, settings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wetrun.proving.evenness import TrayResult
from wetrun.proving.evenness_stack import StackResult, TrayAgainstStack
from wetrun.proving.monitor import Setting
from wetrun.proving.ramp import EndsSeen, RampResult
from wetrun.proving.ramp_check import Aspect, Checked
from wetrun.proving.sections import Opened
from wetrun.proving.session_result import Evidence, Findings, Part
from wetrun.proving.session_rows import About, Held, counted, farthest, line_of, positions, told
from wetrun.proving.settings import Agreement, Compared
from wetrun.proving.uncertainty import Verdict
from wetrun.spray.overlap import MODEL_MARGIN_FRAC, Standing, standing_of
from wetrun.units import CUBIC_METRE_PER_SECOND, FRACTION, METRE, RATIO, SECOND, Frac

_STANDINGS = {
    Standing.WITHIN: Verdict.PASS,
    Standing.UNDECIDED: Verdict.UNDECIDED,
    Standing.BEYOND: Verdict.FAIL,
}
_OWN_SWITCH = Held("every switch opens its own section and no other", "wet-run-gates")
_AS_WANTED = Held("stands as plan, tape and run say, to the monitor's last digit", "number-identity")


def boom_lines(found: Findings) -> Iterator[Evidence]:
    """Yield the evidence of boom and monitor.

    Parameters
    ----------
    found : Findings
        The tests' results.

    Yields
    ------
    Evidence
        Evenness, ramp, sections, settings as left before those as found.
    """
    if found.tray is not None:
        yield from _tray(found.tray)
    if found.stack is not None:
        yield from _stack(found.stack)
    if found.both is not None:
        yield _both(found.both)
    if found.ramp is not None:
        yield from _ramp(found.ramp)
    yield from _sections(found)
    yield from _edges(found)
    yield from _settings(found)


def _tray(tray: TrayResult) -> Iterator[Evidence]:
    held = Held(tray.limit.name, tray.limit.source_key)
    yield line_of(About(Part.EVENNESS, "variation over the tray's grooves"), tray.cv, held, unit=FRACTION)
    if tray.grooves:
        beyond = f", beyond it: {positions(tray.beyond)}" if tray.beyond else ""
        about = About(Part.EVENNESS, f"the {len(tray.grooves)} grooves, the farthest{beyond}")
        yield line_of(about, farthest(tray.grooves), held, less=1.0)


def _stack(stack: StackResult) -> Iterator[Evidence]:
    cv_frac, limit, even = stack.stacked.cv_frac, stack.limit, stack.stacked
    line = _stacked("variation of the tips caught, stacked with their patterns", cv_frac, limit.cv_frac, stack)
    yield replace(line, next_step=stack.words)
    if limit.groove_frac is not None:
        off = max((even.least_frac, even.most_frac), key=abs)
        yield _stacked("farthest groove of that stack from its mean", abs(off), limit.groove_frac, stack)


def _both(both: TrayAgainstStack) -> Evidence:
    """What the ± is made of stands in the words: it is not the doubt of a measurement alone."""
    state = "agree" if both.agree else "do not agree"
    about = About(
        Part.EVENNESS,
        f"variation over the tray less that of the tips stacked: they {state}",
        both.words,
        "tray less stack",
    )
    return told(about, both.apart_frac, both.expanded_frac, unit=FRACTION)


def _stacked(thing: str, value_frac: Frac, limit_frac: Frac, stack: StackResult) -> Evidence:
    held = Held(f"{stack.limit.name}; the ± is the margin of the assumed patterns", stack.limit.source_key)
    return Evidence(
        part=Part.EVENNESS,
        thing=thing,
        value=value_frac,
        expanded=MODEL_MARGIN_FRAC,
        low=None,
        high=limit_frac,
        unit=FRACTION,
        rule=held.rule,
        source_key=held.source_key,
        verdict=_STANDINGS[standing_of(value_frac, limit_frac)],
        caution=held.caution,
        margin="margin of the assumed patterns",
    )


def _ramp(ramp: RampResult) -> Iterator[Evidence]:
    """One line for each kind of comparison: the step that stands out most."""
    kinds = dict.fromkeys((check.what, check.aspect, check.counts) for check in ramp.checks)
    for kind in kinds:
        alike = [check for check in ramp.checks if (check.what, check.aspect, check.counts) == kind]
        worst = farthest([check.judged for check in alike])
        yield _ramp_line(next(check for check in alike if check.judged is worst), len(alike))
    for seen in ramp.ends:
        yield from _ends(seen)


def _ends(seen: EndsSeen) -> Iterator[Evidence]:
    """Where flow stops following speed: the real minimum hold and the real ceiling, with so many tips on."""
    both = (
        ("minimum hold", seen.ends.floor, seen.floor_duty_frac),
        ("ceiling", seen.ends.ceiling, seen.ceiling_duty_frac),
    )
    for name, end, duty_frac in both:
        if end is not None:
            about = About(Part.RAMP, f"{name} with {seen.tips_on} tips on, boom flow")
            yield told(about, end.flow_m3s, 2.0 * end.standard_m3s, unit=CUBIC_METRE_PER_SECOND)
        if duty_frac is not None:
            yield told(About(Part.RAMP, f"{name} with {seen.tips_on} tips on, duty shown"), duty_frac, unit=FRACTION)


def _ramp_line(check: Checked, count: int) -> Evidence:
    of_many = f" (the farthest of {count})" if count > 1 else ""
    kind = f"{check.what.value} {check.aspect.value}"
    about = About(Part.RAMP, f"{kind}, {check.step}{of_many}", place=kind)
    unit = SECOND if check.aspect is Aspect.SETTLING else None
    held = Held(check.rule_name, check.source_key)
    line = line_of(about, check.judged, held) if unit is None else line_of(about, check.judged, held, unit=unit)
    return line if check.counts else _shown_only(line)


def _shown_only(line: Evidence) -> Evidence:
    return replace(line, counts=False)


def _sections(found: Findings) -> Iterator[Evidence]:
    sections = found.sections
    if not sections:
        return
    wrong = [each for each in sections if each.opened is not Opened.OWN]
    words = "; ".join(f"switch {each.section} {each.opened.value}" for each in wrong)
    yield counted(
        About(Part.SECTIONS, "switches that do not open their own section alone", words), len(wrong), _OWN_SWITCH
    )
    miscounted = [each.section for each in sections if each.tips_differ]
    step = f"correct the tips of sections {positions(miscounted)} in the monitor" if miscounted else ""
    held = Held("as many tips in the monitor as on the boom", "rate-identity")
    yield counted(
        About(Part.SECTIONS, "sections with another number of tips in the monitor", step), len(miscounted), held
    )
    for each in sections:
        if each.drip is not None:
            about = About(Part.SECTIONS, f"section {each.section}, last drip after shut-off")
            yield line_of(about, each.drip, Held("no drip later than 5 s", "drip-after-shut-off"), unit=SECOND)
    far = max(sections, key=lambda each: abs(each.width_ratio - 1.0))
    about = About(
        Part.SECTIONS, f"width in the monitor over the tape, section {far.section}, the farthest", place="width"
    )
    yield told(about, far.width_ratio - 1.0, 2.0 * far.width_standard_ratio)


def _edges(found: Findings) -> Iterator[Evidence]:
    for name, edge in found.edges:
        about = About(Part.SECTIONS, f"{name}, past the line")
        if edge.judged is None:
            yield told(about, edge.late_m, edge.expanded_m, unit=METRE)
        else:
            yield line_of(about, edge.judged, Held("length allowed by the customer", "user"), unit=METRE)


def _settings(found: Findings) -> Iterator[Evidence]:
    for moment, settings in (("as left", found.settings_left), ("as found", found.settings_found)):
        for each in _drawn_together(settings):
            if each.agreement is not Agreement.NOT_SHOWN:
                line = _setting(each, moment)
                # What was left in the monitor is what will be sprayed; what was found is told beside it.
                yield line if moment == "as left" or not found.settings_left else _shown_only(line)
    if found.density_missing:
        words = "; ".join(each.step.value for each in found.density_missing)
        held = Held("density at water for the run, at the product's when left, signed", "wet-run-gates")
        yield counted(About(Part.SETTINGS, "steps of the density left out", words), len(found.density_missing), held)


def _drawn_together(settings: tuple[Compared, ...]) -> Iterator[Compared]:
    """Section widths that all stand as wanted are one line: the first stands for them."""
    widths = [each for each in settings if each.wanted.setting is Setting.SECTION_WIDTH]
    alike = widths and all(each.agreement in (Agreement.AGREES, Agreement.WITHIN_DOUBT) for each in widths)
    for each in settings:
        if alike and each in widths:
            if each is widths[0]:
                yield replace(
                    each, wanted=replace(each.wanted, section=None, why="as many tips at the spacing by tape")
                )
        else:
            yield each


def _setting(each: Compared, moment: str) -> Evidence:
    section = f" of section {each.wanted.section}" if each.wanted.section is not None else ""
    shown = "" if each.shown is None else f": {each.shown.text} {each.shown.form.words}"
    enter = "" if each.enter is None else f"enter {each.enter.text}"
    differs = each.agreement is Agreement.DIFFERS
    effect = "" if each.effect is None or not differs else f"; {each.effect.words}"
    slips = f"; was it {' or '.join(each.slips)}?" if each.slips else ""
    return Evidence(
        part=Part.SETTINGS,
        thing=f"{each.wanted.setting.value}{section}, {moment}{shown}",
        place=f"{each.wanted.setting.value}{section}, {moment}",
        value=(each.shown_ratio or 1.0) - 1.0,
        expanded=None if each.wanted.budget is None else each.wanted.budget.expanded(),
        low=0.0,
        high=0.0,
        unit=RATIO,
        rule=f"{_AS_WANTED.rule} ({each.wanted.why})",
        source_key=_AS_WANTED.source_key,
        verdict=Verdict.FAIL if differs else Verdict.PASS,
        next_step=f"{enter}{effect}{slips}".strip("; ") if differs else "",
    )
