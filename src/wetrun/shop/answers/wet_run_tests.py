"""The tests of a wet run as a technician goes through them: what each is called, and where it is written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext_lazy

from wetrun.proving.session_result import Part
from wetrun.shop.answers import wet_run_far as far
from wetrun.shop.answers.run_document import Document

Words = Any
"""A text, or one that is translated when it is shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YardTest:
    """One test of a wet run.

    Attributes
    ----------
    key : str
        In its address.
    title, does : str
        What it is called, and what it is for.
    tables : tuple of str
        Where it is written in the wet-run file: keys of the document, or a key with one inside.
    parts : tuple of Part
        Where it stands in the report.
    far : callable
        How far a document is with it, in words; empty where nothing is written.
    pulsed : bool
        Whether only a machine that pulses its tips has it.
    verdict_of : str
        What its verdict is of, where that is not the test itself.
    """

    key: str
    title: Words
    does: Words
    tables: tuple[str, ...]
    parts: tuple[Part, ...]
    far: Callable[[Document], str]
    pulsed: bool = False
    verdict_of: Words = ""


def yard_tests_of(document: Document, *, pulsed: bool) -> tuple[YardTest, ...]:
    """Return the tests a machine has, in working order; what was written for another machine is not hidden."""
    return tuple(test for test in TESTS if not test.pulsed or pulsed or test.far(document))


def yard_test_named(key: str) -> YardTest | None:
    """Return the test of a key, None if there is none."""
    return next((test for test in TESTS if test.key == key), None)


def yard_test_at(place: str) -> YardTest | None:
    """Return the test a place of a wet-run file belongs to, the most special one.

    Example
    -------
    >>> yard_test_at("catch.low.readings[3]").key, yard_test_at("season") is None
    ('low-duty', True)
    """
    steps = place.replace("[", ".").split(".")
    fitting = [
        (len(table.split(".")), test)
        for test in TESTS
        for table in test.tables
        if steps[: len(table.split("."))] == table.split(".")
    ]
    return max(fitting, key=lambda one: one[0])[1] if fitting else None


TESTS: Final = (
    YardTest(
        key="gates",
        title=gettext_lazy("Gates"),
        does=gettext_lazy("What must be looked at before water flows, and by whom."),
        tables=("gates",),
        parts=(Part.GATES,),
        far=far.gates_far,
    ),
    YardTest(
        key="tips",
        title=gettext_lazy("Day and tips fitted"),
        does=gettext_lazy("When, by whom, for which pass; the set on the boom, and how long it has sprayed."),
        tables=("tips", "title", "on", "technician", "pass"),
        parts=(),
        far=far.tips_far,
    ),
    YardTest(
        key="monitor",
        title=gettext_lazy("Monitor"),
        does=gettext_lazy("Its numbers as found before the tests, and as left after them, to the last zero."),
        tables=("monitor",),
        parts=(Part.SETTINGS,),
        far=far.monitor_far,
    ),
    YardTest(
        key="course",
        title=gettext_lazy("Speed course"),
        does=gettext_lazy("A timed distance both ways against every speed source."),
        tables=("course",),
        parts=(Part.COURSE,),
        far=far.course_far,
    ),
    YardTest(
        key="meter",
        title=gettext_lazy("Flow meter"),
        does=gettext_lazy("Caught or weighed at two flows or more against the meter's pulses."),
        tables=("meter",),
        parts=(Part.METER,),
        far=far.meter_far,
    ),
    YardTest(
        key="catch",
        title=gettext_lazy("Catch of the tips"),
        does=gettext_lazy("Every tip caught at one pressure, held against its boom and against new."),
        tables=("catch",),
        parts=(Part.CATCH,),
        far=far.catch_far,
    ),
    YardTest(
        key="low-duty",
        title=gettext_lazy("Catch at low duty"),
        does=gettext_lazy("The boom caught again at a short pulse, to find weak solenoids."),
        tables=("catch.low",),
        parts=(Part.LOW_DUTY,),
        far=far.low_duty_far,
        pulsed=True,
    ),
    YardTest(
        key="swaps",
        title=gettext_lazy("Swap tests"),
        does=gettext_lazy("An odd tip changes places with a good one: does the fault follow the tip?"),
        tables=("catch.swap",),
        parts=(),
        far=far.swaps_far,
    ),
    YardTest(
        key="pressure",
        title=gettext_lazy("Cab against gauges"),
        does=gettext_lazy("The cab's pressure and a gauge at a tip at the same moment, section by section."),
        tables=("pressure",),
        parts=(Part.PRESSURE,),
        far=far.pressure_far,
    ),
    YardTest(
        key="steady",
        title=gettext_lazy("Steady readings"),
        does=gettext_lazy("Meter, cab, gauge and tank while the whole boom runs: what the cross-check holds together."),
        tables=("steady",),
        parts=(Part.CROSSCHECK,),
        verdict_of=gettext_lazy("cross-check"),
        far=far.steady_far,
    ),
    YardTest(
        key="ramp",
        title=gettext_lazy("Ramp"),
        does=gettext_lazy("The whole speed range on simulated speed: hold, ceiling, closing sections, hunting."),
        tables=("ramp",),
        parts=(Part.RAMP,),
        far=far.ramp_far,
    ),
    YardTest(
        key="sections",
        title=gettext_lazy("Sections and timing"),
        does=gettext_lazy("What each section switch opens, how wide it is, and when it opens and shuts."),
        tables=("section", "timing"),
        parts=(Part.SECTIONS,),
        far=far.sections_far,
    ),
    YardTest(
        key="screen",
        title=gettext_lazy("Monitor's screen"),
        does=gettext_lazy("Rate, speed, flow and width shown at one moment: the monitor's own sum."),
        tables=("screen",),
        parts=(),
        far=far.screen_far,
    ),
    YardTest(
        key="evenness",
        title=gettext_lazy("Evenness"),
        does=gettext_lazy("A tray under the boom, or the tips that were caught stacked with their fans."),
        tables=("evenness",),
        parts=(Part.EVENNESS,),
        far=far.evenness_far,
    ),
    YardTest(
        key="doubts",
        title=gettext_lazy("Stated doubts"),
        does=gettext_lazy(
            "How well gauges, meter and sensors are known, where you know better than the usual figures."
        ),
        tables=("doubts",),
        parts=(),
        far=far.doubts_far,
    ),
)
