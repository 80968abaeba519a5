"""Ground speed over a measured distance: the raw readings of a speed course, and the doubt of a timed speed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from wetrun.errors import NotDefined
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.uncertainty import Budget, Component, rectangular
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.units import METRE, METRE_PER_SECOND, SECOND, Frac, M, Mps, S

TAPE_CAUSE = "length of the course"
"""Every speed source of one course shares its tape."""


class Direction(StrEnum):
    """Which way a run was driven."""

    OUT = "out"
    BACK = "back"


class SourceKind(StrEnum):
    """Where a monitor takes its speed from."""

    GPS = "GPS"
    RADAR = "ground radar"
    WHEEL = "wheel sensor"
    SHOWN = "shown speed, source not known"


class Surface(StrEnum):
    """What was driven on."""

    FIELD = "field"
    ROAD = "road or yard"
    NOT_TOLD = "not told"


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedSource:
    """A speed source to be proven.

    Attributes
    ----------
    name : str
        As the readings name it.
    kind : SourceKind
        What it is.
    number : TypedNumber or None
        Its calibration number as typed in the monitor; None if it has none.
    shown_step_mps : float
        Last digit of the speed it shows [m/s].
    """

    name: str
    kind: SourceKind
    number: TypedNumber | None = None
    shown_step_mps: Mps = 0.0


@dataclass(frozen=True, slots=True)
class SourceReading:
    """What one source said in one run: pulses counted over the course, or the speed it showed [m/s]."""

    source: str
    pulses: float | None = None
    shown_mps: Mps | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """One pass over the course.

    Attributes
    ----------
    name : str
        What the sheet calls it.
    direction : Direction
        Which way.
    time_s : float or None
        By the stopwatch [s]; None if it was left blank.
    readings : tuple of SourceReading
        One for each source that was read.
    """

    name: str
    direction: Direction
    time_s: S | None
    readings: tuple[SourceReading, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A measured distance and how it was driven.

    Attributes
    ----------
    length_m : float
        Distance between the marks [m].
    length_half_width_m : float
        How far the tape and the marks may be off [m], all of it alike likely.
    reaction_s : float
        Standard uncertainty of one press of the stopwatch [s]; it is pressed twice.
    watch_step_s : float
        Last digit of the times as written down [s].
    paced : bool
        True if the distance was stepped, not taped.
    surface : Surface
        What was driven on.
    tank_frac : float or None
        How full the tank was [frac]; None if not told.
    rolling_start : bool
        True if speed was steady before the first mark.
    """

    length_m: M
    length_half_width_m: M = 0.2
    reaction_s: S = 0.1
    watch_step_s: S = 0.01
    paced: bool = False
    surface: Surface = Surface.NOT_TOLD
    tank_frac: Frac | None = None
    rolling_start: bool = True

    def __post_init__(self) -> None:
        check_positive("length of the course", self.length_m, METRE, remedy="Measure it with a tape.")
        for thing, value, unit in (
            ("doubt of the course's length", self.length_half_width_m, METRE),
            ("doubt of a press of the watch", self.reaction_s, SECOND),
            ("last digit of the watch", self.watch_step_s, SECOND),
        ):
            check_not_negative(thing, value, unit, remedy="Enter zero or more.")


def reaction_component(course: Course, time_s: S, runs: int = 1) -> Component:
    """Return what starting and stopping the watch by hand does to a timed speed, relative to it.

    Parameters
    ----------
    course : Course
        The course.
    time_s : float
        Usual time of a run [s].
    runs : int
        How many runs are averaged.

    Returns
    -------
    Component
        As a ratio of the speed.
    """
    standard = sqrt(2.0) * course.reaction_s / time_s / sqrt(runs)
    return Component("start and stop of the watch", standard, source_key="common-practice-reaction")


def shared_components(course: Course, time_s: S) -> tuple[Component, ...]:
    """Return what no number of runs averages out, relative to the speed.

    Parameters
    ----------
    course : Course
        The course.
    time_s : float
        Usual time of a run [s].

    Returns
    -------
    tuple of Component
        Tape, shared by every source; last digit of the times, which runs at one speed round alike.
    """
    tape = rectangular(course.length_half_width_m) / course.length_m
    watch = rectangular(0.5 * course.watch_step_s) / time_s
    return (
        Component("length of the course", tape, source_key="gum-jcgm-100", cause=TAPE_CAUSE),
        Component("last digit of the times", watch, source_key="gum-jcgm-100"),
    )


def expected_budget(course: Course, speed_mps: Mps, *, runs: int) -> Budget:
    """Return how sure a course can make a speed, before it is driven.

    Parameters
    ----------
    course : Course
        The course.
    speed_mps : float
        Speed to be driven [m/s].
    runs : int
        How many runs in all.

    Returns
    -------
    Budget
        Relative to the speed; a steady hand at the wheel is taken for granted.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> budget = expected_budget(Course(length_m=100.0), 5.0, runs=3)
    >>> round(2 * budget.combined, 4)  # 20 s by hand, three times
    0.0085
    """
    check_positive("speed to be driven", speed_mps, METRE_PER_SECOND, remedy="Enter the working speed.")
    if runs < 1:
        raise NotDefined(f"a course of {runs} runs", reason="nothing is driven", remedy="Plan two runs each way")
    time_s = course.length_m / speed_mps
    return Budget((reaction_component(course, time_s, runs), *shared_components(course, time_s)))
