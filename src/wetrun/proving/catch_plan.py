"""Can this boom be caught today: how long it takes and how much water runs through."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import ceil

from wetrun.errors import OutOfRange
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.units import CUBIC_METRE_PER_SECOND, M3, RATIO, SECOND, M3s, S


class CatchWay(StrEnum):
    """How the tips are caught."""

    WHOLE_BOOM = "whole boom on"
    BY_SECTION = "one section on at a time, its pressure read again"
    DIRECT = "a direct-reading flow instrument, whole boom on"
    REFERENCE = "three new tips and twelve of the set, whole boom on"


NEW_TIPS = 3
"""New reference tips; two would leave Student's t with one degree of freedom."""
SET_TIPS = 12
"""Tips of the set that are caught beside them, spread over the sections."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchJob:
    """What there is to catch and with what.

    Attributes
    ----------
    section_tips : tuple of int
        Tips per section.
    tip_flow_m3s : float
        Flow of one tip at the test pressure [m3/s].
    catch_s : float
        Time of one catch [s].
    jugs : int
        Jugs held under tips at once.
    between_s : float
        Emptying, reading and writing between two catches [s].
    settle_s : float
        Time the flow needs to settle after it is switched on [s].
    runs_between : bool
        Whether the boom is left on between catches.
    reread_s : float
        Setting and reading the pressure of a section again, its tips running [s].
    way : CatchWay
        How they are caught.
    """

    section_tips: tuple[int, ...]
    tip_flow_m3s: M3s
    catch_s: S = 60.0
    jugs: int = 1
    between_s: S = 30.0
    settle_s: S = 0.0
    runs_between: bool = False
    reread_s: S = 0.0
    way: CatchWay = CatchWay.WHOLE_BOOM


@dataclass(frozen=True, slots=True)
class CatchPlan:
    """Time and water of a catch.

    Attributes
    ----------
    way : CatchWay
        How the tips are caught.
    jugs : int
        Jugs at once.
    catches : int
        Times the jugs are held under.
    water_m3 : float
        Water through all tips that are on [m3].
    time_s : float
        From the first catch to the last reading [s].
    words : str
        The same for a reader.
    """

    way: CatchWay
    jugs: int
    catches: int
    water_m3: M3
    time_s: S
    words: str


def catch_plan(job: CatchJob) -> CatchPlan:
    """Return the time and water a catch of the whole boom takes.

    Parameters
    ----------
    job : CatchJob
        What there is to catch and with what.

    Returns
    -------
    CatchPlan
        Arithmetic; walking and the refills of the tank are in the time between catches.

    Raises
    ------
    OutOfRange
        A flow, time or number of jugs that cannot be.

    References
    ----------
    rate-identity

    Example
    -------
    >>> job = CatchJob(section_tips=(36, 36), tip_flow_m3s=3.1545e-5)
    >>> plan = catch_plan(job)
    >>> plan.catches, round(plan.water_m3, 1)
    (72, 9.8)
    """
    check_positive("flow of one tip", job.tip_flow_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter the flow of the tip.")
    check_positive("time of a catch", job.catch_s, SECOND, remedy="Enter the seconds a jug is held under.")
    check_not_negative("time between catches", job.between_s, SECOND, remedy="Enter zero or more seconds.")
    if job.jugs < 1:
        raise OutOfRange("jugs", job.jugs, RATIO, low=1, remedy="Enter how many jugs are held under at once.")
    check_not_negative("time of a pressure reading", job.reread_s, SECOND, remedy="Enter zero or more seconds.")
    at_once = 1 if job.way is CatchWay.DIRECT else job.jugs
    groups = _groups(job)
    rounds = [ceil(caught / at_once) for _, caught in groups]
    on_s = job.catch_s + (job.between_s if job.runs_between else job.settle_s)
    # Left on, a group still has to settle once; a section on its own has its pressure set and read first.
    once_s = (job.settle_s if job.runs_between else 0.0) + (job.reread_s if job.way is CatchWay.BY_SECTION else 0.0)
    on_tip_s = sum(on * (count * on_s + once_s) for (on, _), count in zip(groups, rounds, strict=True))
    time_s = sum(rounds) * (job.catch_s + job.between_s + (0.0 if job.runs_between else job.settle_s))
    time_s += once_s * len(groups)
    words = f"{job.way}: {sum(rounds)} catches with {at_once} at once"
    return CatchPlan(job.way, at_once, sum(rounds), on_tip_s * job.tip_flow_m3s, time_s, words)


def _groups(job: CatchJob) -> tuple[tuple[int, int], ...]:
    """Return how many tips are on, and how many of them are caught, group by group."""
    tips = sum(job.section_tips)
    if job.way is CatchWay.BY_SECTION:
        return tuple((section, section) for section in job.section_tips)
    return ((tips, min(tips, NEW_TIPS + SET_TIPS) if job.way is CatchWay.REFERENCE else tips),)


def catch_plans(job: CatchJob, *, most_jugs: int = 8, direct_s: S = 10.0) -> tuple[CatchPlan, ...]:
    """Return the ways to catch a boom, the least water first.

    Parameters
    ----------
    job : CatchJob
        What there is to catch; its way and jugs are varied.
    most_jugs : int
        Jugs that can be held under at once.
    direct_s : float
        Time a direct-reading instrument takes per tip [s].

    Returns
    -------
    tuple of CatchPlan
        One jug, doubled up to the most, each with the whole boom and by section; the direct instrument; new reference
        tips with all jugs.

    Raises
    ------
    OutOfRange
        As `catch_plan`; fewer jugs than one.

    References
    ----------
    rate-identity, day-plan-own-choice

    Example
    -------
    >>> job = CatchJob(section_tips=(36, 36), tip_flow_m3s=3.1545e-5)
    >>> [plan.jugs for plan in catch_plans(job, most_jugs=6) if plan.way is CatchWay.WHOLE_BOOM]
    [6, 4, 2, 1]
    """
    if most_jugs < 1:
        raise OutOfRange("jugs", most_jugs, RATIO, low=1, remedy="Enter how many jugs are held under at once.")
    counts = sorted({*(2**n for n in range(most_jugs.bit_length())), most_jugs})
    ways = [replace(job, way=way, jugs=jugs) for way in (CatchWay.WHOLE_BOOM, CatchWay.BY_SECTION) for jugs in counts]
    direct = replace(job, way=CatchWay.DIRECT, jugs=1, catch_s=direct_s, between_s=min(job.between_s, direct_s))
    reference = replace(job, way=CatchWay.REFERENCE, jugs=most_jugs)
    return tuple(sorted((catch_plan(way) for way in (*ways, direct, reference)), key=lambda plan: plan.water_m3))
