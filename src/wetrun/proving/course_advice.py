"""Where a speed course falls short of good practice, as data: what, and how much it may cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from wetrun.proving.course import Course, Direction, Run, Surface
from wetrun.proving.number_form import FOOT_M
from wetrun.units import M, Ratio

SHORT_COURSE_M: M = 100.0 * FOOT_M
"""The least the extension worksheets ask for."""
WHOLE_SECOND_RATIO: Ratio = 0.01
"""Rounding to whole seconds that costs more than a hundredth of speed is worth a warning: our own choice."""
HALF_FULL = (0.35, 0.65)
"""What counts as a tank half full: our own choice."""


class CourseFlaw(StrEnum):
    """What falls short."""

    SHORT = "the course is too short"
    PACED = "the course was paced, not taped"
    TANK = "the tank was not about half full, or nobody wrote how full"
    SURFACE = "not driven on a field surface"
    STANDING = "not a rolling start"
    ONE_WAY = "driven one way only"
    FEW_RUNS = "fewer than two runs each way"
    WHOLE_SECONDS = "times are whole seconds: take a longer course or read tenths"


@dataclass(frozen=True, slots=True)
class CourseAdvice:
    """One shortcoming, the most it may do to speed [ratio] where that is known, and the least length [m] asked for."""

    flaw: CourseFlaw
    speed_ratio: Ratio | None = None
    least_m: M | None = None


def advice_of(course: Course, runs: Sequence[Run]) -> tuple[CourseAdvice, ...]:
    """Return where a course falls short.

    Parameters
    ----------
    course : Course
        The course.
    runs : sequence of Run
        The runs that count.

    Returns
    -------
    tuple of CourseAdvice
        Empty for a course driven by the book.

    Notes
    -----
    Wheel sensors read by the tyre's rolling radius, so load, surface and tyre pressure of the test should be those of
    the work.

    References
    ----------
    cornell-boom-worksheet, ufa-50-m-course

    Example
    -------
    >>> runs = [Run("1", Direction.OUT, 14.0), Run("2", Direction.BACK, 13.0)]
    >>> course = Course(length_m=60.96, tank_frac=0.5, surface=Surface.FIELD)
    >>> [(a.flaw.name, a.speed_ratio and round(a.speed_ratio, 3)) for a in advice_of(course, runs)]
    [('FEW_RUNS', None), ('WHOLE_SECONDS', 0.038)]
    """
    low, high = HALF_FULL
    each_way = {way: sum(run.direction is way for run in runs) for way in Direction}
    flaws = {
        CourseFlaw.SHORT: course.length_m < SHORT_COURSE_M * (1.0 - 1e-9),
        CourseFlaw.PACED: course.paced,
        CourseFlaw.TANK: course.tank_frac is None or not low <= course.tank_frac <= high,
        CourseFlaw.SURFACE: course.surface is not Surface.FIELD,
        CourseFlaw.STANDING: not course.rolling_start,
        CourseFlaw.ONE_WAY: min(each_way.values()) == 0,
        CourseFlaw.FEW_RUNS: min(each_way.values()) == 1,
    }
    least = {CourseFlaw.SHORT: SHORT_COURSE_M}
    found = [CourseAdvice(flaw, least_m=least.get(flaw)) for flaw, short in flaws.items() if short]
    rounding = _whole_second_ratio(course, runs)
    if rounding > WHOLE_SECOND_RATIO:
        found.append(CourseAdvice(CourseFlaw.WHOLE_SECONDS, rounding))
    return tuple(found)


def _whole_second_ratio(course: Course, runs: Sequence[Run]) -> Ratio:
    """Return what rounding to a second may do to the fastest run [ratio]; 0 if tenths were written down."""
    times = [run.time_s for run in runs if run.time_s is not None]
    whole = course.watch_step_s >= 1.0 or (len(times) > 1 and all(float(time).is_integer() for time in times))
    return 0.5 / min(times) if whole and times else 0.0
