"""One speed source on a course: its error with its doubt, the verdict, and the new number in its own convention."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import nan, sqrt

from wetrun.proving.course import (
    Course,
    Direction,
    Run,
    SourceReading,
    SpeedSource,
    reaction_component,
    shared_components,
)
from wetrun.proving.rule import NextStep, Rule
from wetrun.proving.scatter import scattered
from wetrun.proving.uncertainty import Budget, Component, Judged, Verdict, judged, rectangular
from wetrun.units import Ratio, S

FAR_RATIO: Ratio = 0.15
"""A speed number this far off is no longer wear of a tyre or aim of a radar: our own choice."""


@dataclass(frozen=True, slots=True)
class SourceResult:
    """What the course says of one speed source.

    Attributes
    ----------
    source : SpeedSource
        Which.
    error_ratio : float
        Shown over true speed, less one [ratio]; under a rate controller the rate is off alike.
    budget : Budget
        Doubt of that error, as a ratio.
    judged : Judged
        Against the rule.
    rule : Rule
        The rule.
    new_number : float or None
        Number to enter, in the form of the old one and unrounded; None if none is offered.
    next_step : NextStep
        What to do.
    runs : tuple of str
        The runs it rests on.
    scatter_beyond_watch : bool
        True if the runs differ by more than hand and watch explain: wheel slip, wind on a radar, a poor GPS fix.
    """

    source: SpeedSource
    error_ratio: Ratio
    budget: Budget
    judged: Judged
    rule: Rule
    new_number: float | None
    next_step: NextStep
    runs: tuple[str, ...]
    scatter_beyond_watch: bool


def time_of_s(run: Run) -> S:
    """Return the time of a run that counts [s]."""
    return run.time_s or nan


def usual_time_s(runs: Sequence[Run]) -> S:
    """Return the usual time of runs [s]: the root mean square of its inverse, by which a press of the watch weighs."""
    return 1.0 / sqrt(sum(1.0 / time_of_s(run) ** 2 for run in runs) / len(runs))


def _weights(directions: Sequence[Direction]) -> list[float]:
    """Weights that let both ways count alike, however often each was driven."""
    ways = set(directions)
    return [1.0 / (len(ways) * directions.count(way)) for way in directions]


def both_ways(values: Sequence[tuple[Direction, float]]) -> float:
    """Return the mean in which both ways count alike."""
    weights = _weights([way for way, _ in values])
    return sum(weight * value for weight, (_, value) in zip(weights, values, strict=True))


def shown_ratio(course: Course, run: Run, source: SpeedSource, reading: SourceReading) -> Ratio | None:
    """Return shown over true speed of one run [ratio], from pulses where they were counted.

    Parameters
    ----------
    course : Course
        The measured distance.
    run : Run
        The run; only a shown speed needs its time.
    source : SpeedSource
        The source with its number.
    reading : SourceReading
        What it said.

    Returns
    -------
    float or None
        [ratio]; None if it cannot be told, as for pulses without a number.
    """
    if reading.pulses is not None and source.number is not None:
        return reading.pulses / (source.number.quantity * course.length_m)
    if reading.shown_mps is not None and run.time_s is not None:
        return reading.shown_mps * run.time_s / course.length_m
    return None


def source_result(course: Course, runs: Sequence[Run], source: SpeedSource, rule: Rule) -> SourceResult | None:
    """Return what a course says of one source.

    Parameters
    ----------
    course : Course
        The measured distance.
    runs : sequence of Run
        The runs that count.
    source : SpeedSource
        The source.
    rule : Rule
        The limit on its error.

    Returns
    -------
    SourceResult or None
        None if it was not read, or gave pulses without a number to hold them against.

    References
    ----------
    gum-jcgm-100, number-identity
    """
    read = [
        (run, reading, ratio)
        for run in runs
        for reading in run.readings
        if reading.source == source.name and (ratio := shown_ratio(course, run, source, reading)) is not None
    ]
    if not read:
        return None
    used = [run for run, _, _ in read]
    mean = both_ways([(run.direction, ratio) for run, _, ratio in read])
    runs_part, beyond = _runs_component(course, used, [ratio for _, _, ratio in read])
    # A longer course than thought makes the true speed higher, so the error lower: the tape enters with a minus.
    shared = Budget(shared_components(course, usual_time_s(used))).scaled(-1.0)
    digit = _digit_component(course, source, [(run, reading) for run, reading, _ in read])
    budget = Budget((runs_part, digit)).joined(shared).scaled(mean)
    verdict = judged(mean - 1.0, budget, low=rule.low_ratio, high=rule.high_ratio)
    step = _next_step(source, mean - 1.0, verdict)
    new = source.number.form.rescaled(source.number.number, mean) if source.number is not None else None
    offered = new if step is NextStep.ENTER_NEW else None
    names = tuple(run.name for run in used)
    return SourceResult(source, mean - 1.0, budget, verdict, rule, offered, step, names, beyond)


def _runs_component(course: Course, runs: Sequence[Run], ratios: Sequence[Ratio]) -> tuple[Component, bool]:
    """Doubt of the mean by scatter, both ways counting alike, and if it is more than hand and watch explain."""
    stated = reaction_component(course, usual_time_s(runs)).standard
    found = scattered("runs against each other", ratios, stated, source_key="common-practice-reaction")
    weights = _weights([run.direction for run in runs])
    standard = found.single * sqrt(sum(weight**2 for weight in weights))
    return replace(found.component, standard=standard), found.beyond_stated


def _digit_component(course: Course, source: SpeedSource, read: Sequence[tuple[Run, SourceReading]]) -> Component:
    """The last digit shown, or one pulse more or less; runs at one speed round alike, so it does not average out."""
    run, reading = read[0]
    if reading.pulses is not None and source.number is not None:
        return Component("one pulse more or less", rectangular(1.0) / reading.pulses, source_key="gum-jcgm-100")
    speed_mps = course.length_m / time_of_s(run)
    half_step = 0.5 * source.shown_step_mps / speed_mps
    return Component("last digit of the shown speed", rectangular(half_step), source_key="gum-jcgm-100")


def _next_step(source: SpeedSource, error_ratio: Ratio, found: Judged) -> NextStep:
    """Better than the old number is a new one wherever the error is more than its doubt, whatever the verdict."""
    if abs(error_ratio) - found.expanded > FAR_RATIO:
        return NextStep.LOOK_FIRST
    if abs(error_ratio) > found.expanded and source.number is not None:
        return NextStep.ENTER_NEW
    if found.verdict is Verdict.FAIL:
        return NextStep.CHECK_SOURCE
    return NextStep.REPEAT if found.verdict is Verdict.UNDECIDED else NextStep.KEEP
