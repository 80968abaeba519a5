"""What a speed course says: true speed, the error of every source, questions and advice."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from wetrun.errors import NotDefined
from wetrun.proving.course import Course, Direction, Run, SpeedSource, reaction_component, shared_components
from wetrun.proving.course_advice import CourseAdvice, advice_of
from wetrun.proving.course_questions import questions_about
from wetrun.proving.rule import INSTRUMENT_5, Rule
from wetrun.proving.slips import Question
from wetrun.proving.speed_source import SourceResult, both_ways, source_result, time_of_s, usual_time_s
from wetrun.proving.standing import parted
from wetrun.proving.uncertainty import Budget
from wetrun.units import Mps


@dataclass(frozen=True, slots=True)
class TimedRun:
    """One run's true speed [m/s]."""

    name: str
    direction: Direction
    speed_mps: Mps


@dataclass(frozen=True, slots=True)
class CourseResult:
    """What a speed course says.

    Attributes
    ----------
    runs : tuple of TimedRun
        True speed of every run that counts.
    speed_mps : float
        Mean of them, each way counting alike [m/s].
    budget : Budget
        Doubt of that mean, relative to it, as a ratio.
    sources : tuple of SourceResult
        Every source that was read, in the order of the machine.
    advice : tuple of CourseAdvice
        Where the course falls short of good practice.
    questions : tuple of Question
        Readings that cannot be as typed; their runs are left out until they are answered.
    confirmed : tuple of Question
        What was asked, and answered: these runs stand as typed and count.
    """

    runs: tuple[TimedRun, ...]
    speed_mps: Mps
    budget: Budget
    sources: tuple[SourceResult, ...]
    advice: tuple[CourseAdvice, ...]
    questions: tuple[Question, ...]
    confirmed: tuple[Question, ...] = ()


def course_result(
    course: Course,
    runs: Sequence[Run],
    sources: Sequence[SpeedSource],
    *,
    rule: Rule = INSTRUMENT_5,
    stands: AbstractSet[str] = frozenset(),
) -> CourseResult:
    """Return true speed, and error and new number of every source.

    Parameters
    ----------
    course : Course
        The measured distance.
    runs : sequence of Run
        Times and readings.
    sources : sequence of SpeedSource
        The speed sources of the machine; one without a reading is left out.
    rule : Rule
        The limit on a source's error.
    stands : set of str
        Runs that were asked about and stand as typed.

    Returns
    -------
    CourseResult
        Speeds [m/s], errors, numbers, advice and questions.

    Raises
    ------
    NotDefined
        No run with a time that may count, or a reading of a source that is not on the machine.

    Notes
    -----
    Runs out and back count alike, so slope and wind fall out. Scatter of the runs is pooled with what hand and watch
    are known to do. Tape and last digits do not average out.

    References
    ----------
    gum-jcgm-100, cornell-boom-worksheet, iso-16122-2

    Example
    -------
    >>> from wetrun.proving.course import SourceKind, SourceReading
    >>> from wetrun.proving.number_form import TypedNumber, pulses_per
    >>> wheel = SpeedSource(name="wheel", kind=SourceKind.WHEEL, number=TypedNumber("13.0", pulses_per("per metre", 1)))
    >>> ways = [("1", Direction.OUT, 20.0), ("2", Direction.BACK, 20.1), ("3", Direction.OUT, 19.9)]
    >>> counted = [Run(name, way, time_s, (SourceReading("wheel", 1350.0),)) for name, way, time_s in ways]
    >>> found = course_result(Course(length_m=100.0), counted, [wheel]).sources[0]
    >>> round(found.error_ratio, 4), round(found.new_number, 9), found.judged.verdict.value
    (0.0385, 13.5, 'pass')
    """
    _check_sources(runs, sources)
    questions, confirmed = parted(questions_about(course, runs, sources), stands)
    doubtful = {question.row for question in questions}
    timed = [run for run in runs if run.name not in doubtful]
    if not timed:
        named = "; ".join(question.words for question in questions) or "no run was entered"
        raise NotDefined("true speed", reason=f"no run may count: {named}", remedy="Answer, or drive again")
    speeds = [TimedRun(run.name, run.direction, course.length_m / time_of_s(run)) for run in timed]
    # How runs differ in speed is the driver's, not doubt; each is known as well as hand, watch and tape are.
    usual_s = usual_time_s(timed)
    budget = Budget((reaction_component(course, usual_s, len(timed)), *shared_components(course, usual_s)))
    mean_mps = both_ways([(run.direction, run.speed_mps) for run in speeds])
    results = tuple(r for s in sources if (r := source_result(course, timed, s, rule)) is not None)
    return CourseResult(tuple(speeds), mean_mps, budget, results, advice_of(course, timed), questions, confirmed)


def _check_sources(runs: Sequence[Run], sources: Sequence[SpeedSource]) -> None:
    known = {source.name for source in sources}
    for run in runs:
        for reading in run.readings:
            if reading.source not in known:
                reason = f"“{reading.source}” is no speed source of this machine"
                raise NotDefined(run.name, reason=reason, remedy=f"It has: {', '.join(sorted(known)) or 'none'}")
