"""Answers to what was asked: which readings of a wet run stand as typed, on whose word, and what each answered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from wetrun.proving.session_record import CatchTest, WetRun
from wetrun.proving.session_result import Answered, Findings, Part
from wetrun.proving.settings import Compared
from wetrun.proving.standing import Standing, plain_name, rows_of

SHEETS: Final[Mapping[Part, str]] = MappingProxyType(
    {
        Part.COURSE: "course",
        Part.METER: "meter",
        Part.CATCH: "catch",
        Part.LOW_DUTY: "catch low",
        Part.CROSSCHECK: "steady",
        Part.PRESSURE: "pressure",
        Part.RAMP: "ramp",
        Part.SETTINGS: "monitor",
    }
)
"""What the readings of a part are called by: the table of the file they stand in."""


def name_of(part: Part, row: str) -> str:
    """Return how an answer names a reading: its sheet, then its row; empty if there is no row.

    Example
    -------
    >>> name_of(Part.CROSSCHECK, "pressure 1 cab")
    'steady pressure 1 cab'
    """
    return f"{SHEETS[part]} {row}" if row else ""


def answered_run(run: WetRun) -> WetRun:
    """Return a wet run whose course, meter and catches know which of their rows stand.

    Parameters
    ----------
    run : WetRun
        As written down, answers among it.

    Returns
    -------
    WetRun
        Readings are as they were.
    """
    stands = run.stands
    return replace(
        run,
        course=None if run.course is None else replace(run.course, stands=rows_of(stands, SHEETS[Part.COURSE])),
        meter=None if run.meter is None else replace(run.meter, stands=rows_of(stands, SHEETS[Part.METER])),
        catch=None if run.catch is None else _answered_catch(run.catch, stands),
    )


def _answered_catch(test: CatchTest, stands: tuple[Standing, ...]) -> CatchTest:
    full, low = test.run, test.low
    if low is not None:
        low = replace(low, stands=low.stands | rows_of(stands, SHEETS[Part.LOW_DUTY]))
    return replace(test, run=replace(full, stands=full.stands | rows_of(stands, SHEETS[Part.CATCH])), low=low)


def settled_slips(settings: tuple[Compared, ...], stands: Iterable[Standing]) -> tuple[Compared, ...]:
    """Return settings without the slips that were asked about and denied.

    Parameters
    ----------
    settings : tuple of Compared
        As compared.
    stands : iterable of Standing
        Answers.

    Returns
    -------
    tuple of Compared
        Whether each is as it should be is untouched.
    """
    rows = rows_of(stands, SHEETS[Part.SETTINGS])
    return tuple(replace(each, slips=()) if each.wanted.setting.value in rows else each for each in settings)


def answers_of(run: WetRun, found: Findings) -> tuple[Answered, ...]:
    """Return every answer with whether it settles a question.

    Parameters
    ----------
    run : WetRun
        Its answers.
    found : Findings
        What was asked and confirmed, test by test.

    Returns
    -------
    tuple of Answered
        In the order they were written.
    """
    names = {plain_name(name) for name in _confirmed(found)}
    return tuple(Answered(each, plain_name(each.reading) in names) for each in run.stands)


def _confirmed(found: Findings) -> Iterator[str]:
    rowed = [(part, question) for part, question in found.confirmed]
    for part, result in ((Part.COURSE, found.course), (Part.METER, found.meter)):
        rowed += [] if result is None else [(part, question) for question in result.confirmed]
    for part, question in rowed:
        yield from (name_of(part, question.row), name_of(part, question.name))
    for part, caught in ((Part.CATCH, found.catch), (Part.LOW_DUTY, found.low_catch)):
        for asked in () if caught is None else caught.confirmed:
            yield from (name_of(part, name) for name in asked.names)
    yield from (name_of(Part.SETTINGS, setting) for setting in found.settings_asked)
