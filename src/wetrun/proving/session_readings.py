"""What the tests of one wet run give the cross-check: the same quantities, known more than one way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import sqrt

from wetrun.errors import OutOfRange
from wetrun.proving.budget import Budget, Component
from wetrun.proving.catch import CatchResult
from wetrun.proving.catch_diagnosis import TipFault, TipFinding
from wetrun.proving.catch_flow import shared_doubt
from wetrun.proving.catch_run import CatchRun
from wetrun.proving.course import TAPE_CAUSE
from wetrun.proving.course_result import CourseResult
from wetrun.proving.meter import Basis, MeterTest
from wetrun.proving.meter_flows import Flows, repeat_scatter, shared_budget
from wetrun.proving.meter_result import MeterResult
from wetrun.proving.redundant import Kind, Reading, Tool
from wetrun.proving.scatter import freedom_of_reliability
from wetrun.proving.session_record import WetRun
from wetrun.proving.session_steady import SteadyRead
from wetrun.units import Frac, M3s

MEASURE_OF_TIPS = "measure of the catch"
"""Name of what the catch of the tips was measured with; meter catches that bear it were measured with the same."""
RELIABILITY_FRAC: Frac = 0.2
"""How well the stated doubts are known themselves: the cross-check's noise table takes its figures for good to 20 %."""
_WATCH = "start and stop of the watch"
_GAUGE = "gauge at the tips"
_LEAST_READ = 0.5
"""A section of which fewer than half the tips can be read is left out of the cross-check. Our choice."""


def readings_of(
    run: WetRun, course: CourseResult | None, meter: MeterResult | None, catch: CatchResult | None
) -> tuple[Reading, ...]:
    """Return every reading of a wet run that another one checks.

    Parameters
    ----------
    run : WetRun
        As written down.
    course, meter, catch : result or None
        Those tests' own results; readings they ask about are left out.

    Returns
    -------
    tuple of Reading
        Speeds; each steady pressure with its catches; each flow of the meter's catches as a pressure of its own.

    Notes
    -----
    Tips that the catch finds odd lower or raise what their section's chart is taken to give, so that one plugged tip is
    not named a second time as a strainer. Catches of a meter with a measure of its own share no tool with the tips';
    at a flow outside the tips' own rows they are left to the meter's test.
    """
    found = [*_speeds(run, course)]
    for point, steady in enumerate(run.steady, start=1):
        found += _steady(run, steady, point)
        found += _sections(run, catch, point) if steady.caught and catch is not None else ()
    if run.meter is not None and meter is not None:
        found += _meter_levels(run, meter, len(run.steady))
    if found and any(reading.point for reading in found):
        found += _charts(run, catch)
    return tuple(found)


def _stated(name: str, standard: float, *, shared: bool = False) -> Component:
    """A doubt that was stated and not measured today: worth its few degrees of freedom."""
    freedom = freedom_of_reliability(RELIABILITY_FRAC)
    return Component(name, standard, freedom=freedom, cause=name if shared else "")


def _speeds(run: WetRun, course: CourseResult | None) -> Iterator[Reading]:
    if course is None:
        return
    speed_mps = course.speed_mps
    # The watch is in the true speed and in every error found with it: one cause, so that it falls out of their ratio.
    own = [replace(part, cause=_WATCH) if part.name == _WATCH else part for part in course.budget.components]
    yield Reading(Kind.COURSE, speed_mps, Budget(tuple(own)).scaled(speed_mps))
    watch = [part for part in own if part.cause == _WATCH]
    for found in course.sources:
        shown_mps = speed_mps * (1.0 + found.error_ratio)
        parts = [
            part for part in found.budget.components if part.cause != TAPE_CAUSE and not part.name.endswith("times")
        ]
        number = _stated(f"number of {found.source.name}", run.doubts.speed_number_frac * (1.0 + found.error_ratio))
        budget = Budget((*parts, number)).scaled(speed_mps).joined(Budget(tuple(watch)).scaled(speed_mps))
        yield Reading(Kind.SPEED, shown_mps, budget, name=found.source.name)


def _steady(run: WetRun, steady: SteadyRead, point: int) -> Iterator[Reading]:
    doubts = run.doubts
    gauge_pa = steady.gauge_pa
    if gauge_pa is None and steady.caught and run.catch is not None:
        gauge_pa = run.catch.run.pressure_pa  # the test pressure was read at the tips
    shared = {Kind.METER: "meter number", Kind.CAB: "cab sensor", Kind.GAUGE: _GAUGE, Kind.TANK: "tank"}
    read = (
        (Kind.METER, steady.meter_m3s, doubts.meter_number_frac, doubts.meter_reading_frac),
        (Kind.CAB, steady.cab_pa, doubts.cab_sensor_frac, doubts.cab_reading_frac),
        (Kind.GAUGE, gauge_pa, doubts.gauge_frac, doubts.gauge_reading_frac),
        (Kind.TANK, steady.tank_m3s, doubts.tank_frac, 0.0),
    )
    for kind, value, throughout_frac, once_frac in read:
        if value is not None:
            parts = (
                _stated(shared[kind], throughout_frac * value, shared=True),
                _stated("one reading", once_frac * value),
            )
            yield Reading(kind, value, Budget(parts), point)


def _sections(run: WetRun, catch: CatchResult, point: int) -> Iterator[Reading]:
    """The sum of every section that was caught; a gap is taken to flow like its section's ordinary tips."""
    if run.catch is None:
        return
    caught = run.catch.run
    sound = [tip for tip in catch.tips if tip.question is None]
    throughout = Budget(tuple(part for part in shared_doubt(caught).components if part.cause != _GAUGE))
    for section, tips in enumerate(caught.section_tips, start=1):
        here = [tip for tip in sound if tip.caught.section == section]
        usual = [tip.caught.flow_m3s for tip in here if not tip.unlike and tip.fault is not TipFault.NEW]
        if len(here) < _LEAST_READ * tips or not usual:
            continue
        filled_m3s = (tips - len(here)) * sum(usual) / len(usual)
        total_m3s = sum(tip.caught.flow_m3s for tip in here) + filled_m3s
        budget = throughout.scaled(total_m3s).joined(_section_doubt(run, here, tips, total_m3s))
        yield Reading(Kind.CATCH, total_m3s, budget, point, section, tools=_tools(caught))


def _section_doubt(run: WetRun, here: Sequence[TipFinding], tips: int, total_m3s: M3s) -> Budget:
    own_m3s = sqrt(sum((tip.caught.own.combined * tip.caught.flow_m3s) ** 2 for tip in here))
    gap_m3s = run.doubts.tip_to_tip_frac * total_m3s / tips * sqrt(tips - len(here))
    pressure = _stated("pressure while it was caught", run.doubts.catch_pressure_frac * total_m3s)
    return Budget((Component("catches", own_m3s), Component("tips not caught", gap_m3s), pressure))


def _tools(caught: CatchRun) -> tuple[Tool, ...] | None:
    direct = all(reading.flow_m3s is not None for reading in caught.readings)
    return () if direct else None


def _meter_levels(run: WetRun, meter: MeterResult, points: int) -> Iterator[Reading]:
    """Each flow at which the meter was caught: what it showed, and what was in the vessel."""
    test = run.meter
    if test is None:
        return
    flows = Flows(meter.catches)
    single = repeat_scatter(flows)
    for point, level in enumerate(flows.levels, start=points + 1):
        errors = flows.errors(level)
        true_m3s = sum(catch.flow_m3s for catch in meter.catches if catch.level == level) / len(errors)
        if not _on_chart(run, true_m3s):
            continue
        shown_m3s = true_m3s * (1.0 + sum(errors) / len(errors))
        scatter = Component("catches", single.single / sqrt(len(errors)) * shown_m3s, "A", single.freedom)
        number = _stated("meter number", run.doubts.meter_number_frac * shown_m3s, shared=True)
        yield Reading(Kind.METER, shown_m3s, Budget((number, scatter)), point)
        # The vessel shows too much: the error found is too small, hence the minus in the shared budget.
        measure = shared_budget(test, [catch.basis for catch in test.catches if catch.basis is not Basis.TANK_MARK])
        least = Component("its last digit", _smallest(test) * true_m3s)
        yield Reading(
            Kind.TANK,
            true_m3s,
            measure.scaled(-true_m3s).joined(Budget((least,))),
            point,
            tools=_measure_tools(run, test),
        )


def _on_chart(run: WetRun, boom_m3s: M3s) -> bool:
    """Whether the tips' law covers a boom flow: the balances of a pressure need its chart."""
    setup = run.machine.setup
    try:
        setup.law.pressure_pa(boom_m3s / run.machine.boom.tips, setup.density_kgpm3)
    except OutOfRange:
        return False
    return True


def _smallest(test: MeterTest) -> Frac:
    """Share [frac] that keeps a vessel nobody put a doubt to from being exact: a ten-thousandth, our own choice."""
    return 1e-4 if test.tools.measure_frac == 0.0 else 0.0


def _measure_tools(run: WetRun, test: MeterTest) -> tuple[Tool, ...]:
    same = run.catch is not None and test.tools.measure_cause == MEASURE_OF_TIPS
    return (Tool.SCALE,) if same else ()


def _charts(run: WetRun, catch: CatchResult | None) -> Iterator[Reading]:
    doubts, setup = run.doubts, run.machine.setup
    tips = 0
    for section, count in enumerate(run.machine.boom.section_tips, start=1):
        positions = range(tips + 1, tips + count + 1)
        tips += count
        share = sum(_share(run, position, catch) for position in positions) / count
        each = doubts.tip_to_tip_frac / sqrt(count)
        parts = (_stated("tips as new", doubts.tips_frac * share, shared=True), Component("tip to tip", each * share))
        if share > 0.0:
            yield Reading(Kind.CHART, share, Budget(parts), section=section)
    if setup.loss.boom_paps2m6 > 0.0 and any(steady.cab_pa is not None for steady in run.steady):
        yield Reading(Kind.HOSE, 1.0, Budget((_stated("hose loss", doubts.hose_frac),)))


def _share(run: WetRun, position: int, catch: CatchResult | None) -> float:
    """What a position is taken to give over a new tip of the set: its own tip, and what the catch found odd in it."""
    machine = run.machine
    law = machine.odd_laws.get(position, machine.setup.law)
    middle_pa = sqrt(machine.setup.low_pa * machine.setup.high_pa)
    kind = float(law.flow_m3s(middle_pa)) / float(machine.setup.law.flow_m3s(middle_pa))
    found = () if catch is None else catch.tips
    # A new tip put there to compare gives what it gives, and no more says what the set gives than an odd one.
    other = (tip for tip in found if (tip.unlike or tip.fault is TipFault.NEW) and tip.question is None)
    odd = next((tip for tip in other if tip.caught.tip == position), None)
    return kind * (1.0 if odd is None else odd.to_boom_ratio)
