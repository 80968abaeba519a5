"""Readings of a speed course that cannot be as typed, each with its run named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite

from wetrun.proving.course import Course, Run, SourceReading, SpeedSource
from wetrun.proving.slip_search import questions_of
from wetrun.proving.slips import LENGTH_SLIPS, SPEED_SLIPS, TIME_SLIPS, Column, Question, SlipKind


def questions_about(course: Course, runs: Sequence[Run], sources: Sequence[SpeedSource]) -> tuple[Question, ...]:
    """Return every question the readings raise.

    Parameters
    ----------
    course : Course
        The measured distance.
    runs : sequence of Run
        Times and readings.
    sources : sequence of SpeedSource
        The speed sources of the machine.

    Returns
    -------
    tuple of Question
        Times first, then each source; a run of which something is asked does not count until it is answered.

    Notes
    -----
    Shown speed times time is the length of the course, whatever the speed; pulses over the course are a constant. Two
    runs whose pulses are swapped look alike and need no question.
    """
    found = list(_times(runs))
    asked = {question.row for question in found}
    sound = [run for run in runs if run.name not in asked]
    for source in sources:
        found += _of_source(course, sound, source)
    return tuple(found)


def _times(runs: Sequence[Run]) -> Iterator[Question]:
    for run in runs:
        if run.time_s is None:
            yield Question(run.name, "time", SlipKind.BLANK, None, (), 0.0)
        elif not (isfinite(run.time_s) and run.time_s > 0.0):
            yield Question(run.name, "time", SlipKind.NOT_POSITIVE, run.time_s, (), 0.0)


def _of_source(course: Course, runs: Sequence[Run], source: SpeedSource) -> Iterator[Question]:
    readings = [(run, reading) for run in runs for reading in run.readings if reading.source == source.name]
    for run, reading in readings:
        if reading.pulses is None and reading.shown_mps is None:
            yield Question(run.name, source.name, SlipKind.BLANK, None, (), 0.0)
    shown = [(run, reading) for run, reading in readings if reading.pulses is None and reading.shown_mps is not None]
    yield from _of_shown(course, shown, source)
    counted = [(run, reading) for run, reading in readings if reading.pulses is not None]
    column = Column(f"pulses of {source.name}", tuple(reading.pulses for _, reading in counted), 1)
    pulses = None if source.number is None else source.number.quantity * course.length_m
    rows = tuple(run.name for run, _ in counted)
    yield from questions_of(rows, (column,), expected=pulses, common=_length(course))


def _of_shown(course: Course, shown: Sequence[tuple[Run, SourceReading]], source: SpeedSource) -> tuple[Question, ...]:
    times = Column("time", tuple(run.time_s for run, _ in shown), 1, TIME_SLIPS)
    name = f"speed shown by {source.name}"
    speeds = Column(name, tuple(reading.shown_mps for _, reading in shown), 1, SPEED_SLIPS)
    return questions_of(
        tuple(run.name for run, _ in shown), (speeds, times), expected=course.length_m, common=_length(course)
    )


def _length(course: Course) -> Column:
    """The one reading all runs share: if it is wrong, no run shows it against another."""
    return Column("length of the course", (course.length_m,), -1, LENGTH_SLIPS)
