"""Every test of a wet run by its own function; one that cannot be worked out says why and stops no other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from types import MappingProxyType
from typing import Final, TypeVar

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.proving.catch import CatchResult, catch_result
from wetrun.proving.catch_diagnosis import TipFault
from wetrun.proving.catch_followed import best_level, followed
from wetrun.proving.catch_pulse import low_catch_result, pulse_findings
from wetrun.proving.catch_questions import Trouble
from wetrun.proving.catch_reference import ReferenceWear, reference_wear
from wetrun.proving.catch_rules import Rule
from wetrun.proving.catch_run import CatchRun
from wetrun.proving.catch_wear import next_check, wear_cost
from wetrun.proving.course_result import CourseResult, course_result
from wetrun.proving.crosscheck import CrossCheck, crosschecked
from wetrun.proving.evenness import tray_result
from wetrun.proving.evenness_stack import StackResult, stack_result, tray_against_stack
from wetrun.proving.expected_boom import expected_flow_ratios, expected_losses_pa, straightened
from wetrun.proving.gates import start_of_run
from wetrun.proving.meter_result import meter_result
from wetrun.proving.monitor import Snapshot, changes
from wetrun.proving.pressure import PressureResult, pressure_result
from wetrun.proving.pressure_plumbing import LossAgainst, losses_against
from wetrun.proving.ramp import ramp_result
from wetrun.proving.rate_effect import steering_of
from wetrun.proving.section_timing import Edge, edge_at
from wetrun.proving.sections import section_results
from wetrun.proving.sentence import Words, answer
from wetrun.proving.session_answers import answered_run, settled_slips
from wetrun.proving.session_readings import readings_of
from wetrun.proving.session_record import CourseTest, EvennessTest, PressureTest, ProvenMachine, SectionsTest, WetRun
from wetrun.proving.session_result import Findings, Part, Untested
from wetrun.proving.session_typed import sound_run
from wetrun.proving.session_wanted import wanted_of
from wetrun.proving.settings import Compared, compared, density_steps_missing
from wetrun.proving.slip_search import EVERY_ROW
from wetrun.proving.slips import Question
from wetrun.proving.swaps import swap_results

UNPROVEN: Final[Mapping[Part, str]] = MappingProxyType(
    {
        Part.COURSE: "ground speed: every rate rests on it",
        Part.METER: "the flow meter's number",
        Part.CATCH: "single tips that are worn, restricted or of another size, and the wear of the set",
        Part.LOW_DUTY: "solenoids at low duty: a weak one passes at full duty",
        Part.PRESSURE: "cab sensor and the loss from it to the tips",
        Part.EVENNESS: "evenness across the boom",
        Part.RAMP: "how the machine holds the rate over its speeds: minimum hold, ceiling, closing sections, hunting",
        Part.SECTIONS: "section switches, drip, timing, widths and tips per section",
        Part.SETTINGS: "what stands in the monitor",
        Part.CROSSCHECK: "whether the readings agree: nothing was read more than one way",
    }
)
"""What nobody knows while a part is not done."""

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class Attempts:
    """Tests tried one after the other; what cannot be worked out is kept with its reason."""

    left: list[Untested] = field(default_factory=list)

    def of(self, part: Part, made: Callable[[], Found] | None) -> Found | None:
        """Return what a test gives; None, and a note of why, if it was not done or says nothing."""
        if made is None:
            self.left.append(Untested(part, UNPROVEN[part]))
            return None
        try:
            return made()
        except (NotDefined, OutOfRange) as error:
            self.left.append(Untested(part, UNPROVEN[part], error))
            return None


def findings_of(run: WetRun, pressure_words: Words) -> tuple[Findings, tuple[Untested, ...]]:
    """Return the result of every test of a wet run, and what stays unproven.

    Parameters
    ----------
    run : WetRun
        As written down.
    pressure_words : callable
        Makes words of a pressure in pascal for the cross-check's sentence.

    Returns
    -------
    tuple of Findings and of tuple of Untested
        Each test's own result; parts without one in the order of the report.
    """
    tries = Attempts()
    run, typed, confirmed = sound_run(answered_run(run))
    found = Findings(start=start_of_run(run.gates), typed=typed, confirmed=confirmed)
    for step in (_instruments, _catch, _set, _evenness, _ramp, _sections, _settings):
        found = step(run, tries, found)
    check = tries.of(Part.CROSSCHECK, partial(_checked, run, found))
    if check is not None:
        found = replace(found, check=check, answer=answer(check, pressure_words=pressure_words))
    order = list(Part)
    return found, tuple(sorted(tries.left, key=lambda each: order.index(each.part)))


def _instruments(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    driven, metered, gauged = run.course, run.meter, run.pressure
    course = None if driven is None else partial(_driven, driven)
    pressure = None if gauged is None else partial(_gauged, run.machine, gauged)
    return _plumbed(
        run,
        tries,
        replace(
            found,
            course=tries.of(Part.COURSE, course),
            meter=tries.of(Part.METER, None if metered is None else partial(meter_result, metered)),
            pressure=tries.of(Part.PRESSURE, pressure),
        ),
    )


def _driven(test: CourseTest) -> CourseResult:
    return course_result(test.course, test.runs, test.sources, stands=test.stands)


def _gauged(machine: ProvenMachine, test: PressureTest) -> PressureResult:
    """Cab against gauges; the curve of friction is taken out first where the plumbing says what it is."""
    pairs = straightened(machine, test.pairs)
    return pressure_result(pairs, reading_pa=test.reading_pa, gauge_pa=test.gauge_pa)


def _plumbed(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    """The loss to each section against what its plumbing predicts, where both are known."""
    gauged, pressure = run.pressure, found.pressure
    if gauged is None or pressure is None or run.machine.pipes is None:
        return found
    greatest_m3s = max(pair.flow_m3s for pair in gauged.pairs)

    def against() -> tuple[LossAgainst, ...]:
        return losses_against(pressure, expected_losses_pa(run.machine, greatest_m3s))

    return replace(found, plumbing=tries.of(Part.PRESSURE, against) or ())


def _catch(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    test = run.catch
    catch = tries.of(Part.CATCH, None if test is None else partial(_caught, run.machine, test.run, test.rule))
    swaps = () if test is None or catch is None else swap_results(test.run, catch, test.swaps)
    found = replace(found, catch=catch, swaps=swaps)
    pulses = run.machine.setup.pulse is not None
    if test is None or catch is None or test.low is None:
        if pulses:
            tries.of(Part.LOW_DUTY, None)
        return found
    low = tries.of(Part.LOW_DUTY, partial(low_catch_result, _beside_plumbing(run.machine, test.low), test.rule))
    pulsed = None if low is None else tries.of(Part.LOW_DUTY, partial(pulse_findings, catch, low))
    swaps = () if low is None or test.low is None else swap_results(test.low, low, test.low_swaps)
    return replace(found, low_catch=low, low_duty=pulsed, low_swaps=swaps)


def _caught(machine: ProvenMachine, caught: CatchRun, rule: Rule) -> CatchResult:
    return catch_result(_beside_plumbing(machine, caught), rule)


def _beside_plumbing(machine: ProvenMachine, caught: CatchRun) -> CatchRun:
    """The catch beside what the boom's own plumbing leads to expect."""
    return replace(caught, plumbing_ratios=expected_flow_ratios(machine, caught))


def _set(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    """Wear of the set as a whole: against new tips, what it costs, and when to look again."""
    test, catch = run.catch, found.catch
    if test is None or catch is None:
        return found
    machine = run.machine
    reference = tries.of(Part.CATCH, partial(_against_new, catch)) if test.run.new_tips else None
    level = best_level(catch, reference)
    wear_ratio, found = level.value, replace(found, catch=followed(catch, found.swaps, reference))
    sure = wear_ratio - 1.0 > level.expanded
    cost = wear_cost(machine.setup, wear_ratio, machine.use) if sure and machine.use is not None else None
    limit = level.high or wear_ratio
    due = None
    if machine.sprayed_s is not None and 1.0 < wear_ratio < limit:
        due = next_check(machine.sprayed_s, wear_ratio, limit, expanded=level.expanded)
    return replace(found, reference=reference, wear=cost, next_check=due)


def _against_new(catch: CatchResult) -> ReferenceWear:
    sound = [tip for tip in catch.tips if tip.question is None and not tip.unlike]
    new = [tip.caught for tip in sound if tip.fault is TipFault.NEW]
    return reference_wear([tip.caught for tip in sound if tip.fault is not TipFault.NEW], new)


def _evenness(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    test = run.evenness
    if test is None:
        tries.of(Part.EVENNESS, None)
        return found
    tray = stack = None
    if test.volumes_m3:
        made = partial(tray_result, np.array(test.volumes_m3), test.limit, reading_frac=test.reading_frac)
        tray = tries.of(Part.EVENNESS, made)
    if test.pattern is not None and found.catch is not None:
        stack = tries.of(Part.EVENNESS, partial(_stacked, run, test, found.catch))
    both = None if tray is None or stack is None else tray_against_stack(tray, stack)
    return replace(found, tray=tray, stack=stack, both=both)


def _stacked(run: WetRun, test: EvennessTest, catch: CatchResult) -> StackResult:
    if catch.gaps or any(tip.question is not None for tip in catch.tips) or test.pattern is None:
        reason = "not every tip of the boom has a flow that counts"
        raise NotDefined("evenness from the tips", reason=reason, remedy="Catch the gaps, and answer the questions")
    flows_m3s = np.array([tip.caught.flow_m3s for tip in catch.tips])
    return stack_result(flows_m3s, test.pattern, run.machine.boom.spacing_m, test.limit)


def _ramp(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    return replace(found, ramp=tries.of(Part.RAMP, None if run.ramp is None else partial(ramp_result, run.ramp)))


def _sections(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    test = run.sections
    results = tries.of(Part.SECTIONS, None if test is None else partial(section_results, test.seen))
    edges = None if test is None else tries.of(Part.SECTIONS, partial(_edges, test))
    return replace(found, sections=results or (), edges=edges or ())


def _edges(test: SectionsTest) -> tuple[tuple[str, Edge], ...]:
    speed_mps, antenna = test.speed_mps, test.antenna
    if speed_mps is None or antenna is None:
        return ()
    timed = (("opening", test.opening), ("shutting", test.shutting))
    return tuple(
        (name, edge_at(speed_mps, delay, antenna, allowed_m=test.allowed_m))
        for name, delay in timed
        if delay is not None
    )


def _settings(run: WetRun, tries: Attempts, found: Findings) -> Findings:
    monitor = run.monitor
    if monitor is None:
        tries.of(Part.SETTINGS, None)
        return found
    steering = steering_of(run.machine.setup, scales_meter_by_density=run.machine.scales_meter_by_density)
    wanted = wanted_of(monitor, found.course, found.meter)

    def against(snapshot: Snapshot) -> tuple[Compared, ...]:
        return compared(snapshot, wanted, monitor.profile, steering)

    left = monitor.as_left
    before = tries.of(Part.SETTINGS, partial(against, monitor.as_found)) or ()
    after = () if left is None else tries.of(Part.SETTINGS, partial(against, left)) or ()
    missing = () if monitor.density is None else density_steps_missing(monitor.density, steering)
    return replace(
        found,
        settings_found=settled_slips(before, run.stands),
        settings_left=settled_slips(after, run.stands),
        settings_asked=tuple(each.wanted.setting.value for each in (*before, *after) if each.slips),
        left_otherwise=() if left is None else changes(monitor.as_found, left),
        density_missing=missing,
    )


def _checked(run: WetRun, found: Findings) -> CrossCheck:
    course = None if found.course is None or _all_asked(found.course.questions) else found.course
    meter = None if found.meter is None or _all_asked(found.meter.questions) else found.meter
    readings = readings_of(run, course, meter, None if _sheet_asked(found) else found.catch)
    check = crosschecked(run.machine.rig, readings, screen=run.screen) if readings else None
    if check is None or (check.scene.found.redundancy == 0 and check.identity is None):
        reason = "nothing was read more than one way"
        remedy = "Read meter, cab and a gauge at a tip while the tips are caught"
        raise NotDefined("cross-check", reason=reason, remedy=remedy)
    return check


def _sheet_asked(found: Findings) -> bool:
    """Whether the catch as a whole is in question; then it proves no other reading."""
    return found.catch is not None and any(q.trouble is Trouble.WHOLE_SHEET for q in found.catch.questions)


def _all_asked(questions: Iterable[Question]) -> bool:
    """Whether every row of a test is in question at once."""
    return any(question.row == EVERY_ROW for question in questions)
