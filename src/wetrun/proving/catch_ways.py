"""Before any tip is caught: the ways to catch this boom, how sure each leaves a tip, and which limits that can decide.

A way that leaves too much in doubt to decide the limit is found out at the desk, and not after an hour on the boom.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import Final

from wetrun.proving.catch_means import SETTING_S, CatchMeans, filled, reference_doubt, way_doubts
from wetrun.proving.catch_plan import CatchJob, CatchPlan, CatchWay, catch_plans
from wetrun.proving.day_model import READY_S
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.units import CUBIC_METRE, SECOND, Frac, S

METHOD: Final = "catch-ways-1"

LIMITS: Final[tuple[Frac, ...]] = (0.05, 0.10)
"""The limits of the trade's rules for a tip."""
DECIDING_SHARE: Final[Frac] = 0.5
"""A way decides a limit if its ± is no more than this share of it: only tips in the outer half stay undecided."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchChoice:
    """One way to catch a boom.

    Attributes
    ----------
    plan : CatchPlan
        Way, jugs, catches, time and water.
    tanks : float or None
        Water over what the tank holds; None if that is not known.
    to_boom_frac : float
        ± of 95 % of one tip against the boom [frac]; infinite where the tips are not all caught.
    to_new_frac : float
        ± of 95 % against new [frac]: of one tip, or of the set where only reference tips are caught.
    boom_limits_frac, new_limits_frac : tuple of float
        Limits it can decide against the boom and against new [frac].
    fits : bool
        Whether it fits the time there is, with getting ready, and one tank.
    """

    plan: CatchPlan
    tanks: float | None
    to_boom_frac: Frac
    to_new_frac: Frac
    boom_limits_frac: tuple[Frac, ...]
    new_limits_frac: tuple[Frac, ...]
    fits: bool

    @property
    def every_tip(self) -> bool:
        """True if no tip is left out."""
        return self.plan.way is not CatchWay.REFERENCE


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchWays:
    """All ways to catch a boom, and the one to take.

    Attributes
    ----------
    choices : tuple of CatchChoice
        Whole boom, by section, direct instrument, new reference tips; within each the fewest jugs first.
    recommended : CatchChoice or None
        Of those that fit: every tip before a few, then the most limits decided, then the fewest jugs, then the least
        water; None if none fits.
    assumed : tuple of str
        What was not known and stands here by our own choice.
    method : str
        Name and number of the method.
    """

    choices: tuple[CatchChoice, ...]
    recommended: CatchChoice | None
    assumed: tuple[str, ...]
    method: str = METHOD


def catch_ways(means: CatchMeans, available_s: S) -> CatchWays:
    """Return the ways to catch a boom, with time, water, what each leaves in doubt, and the one to take.

    Parameters
    ----------
    means : CatchMeans
        What there is to catch and with what.
    available_s : float
        Time there is, getting ready for water included [s].

    Returns
    -------
    CatchWays
        Every way, whether it fits or not.

    Raises
    ------
    OutOfRange
        A time, pressure or number of jugs that cannot be.

    Notes
    -----
    Water is what runs while jugs are held under and while a section's pressure is set; walking the boom with it left
    on comes on top. Refilling the tank takes time that is not counted, so a way that needs it does not fit. Each jug is
    off by its own share, so many jugs blur tips against each other and know the set better. Three new tips say what the
    set is against new without gauge or jug entering, and nothing of a single tip.

    References
    ----------
    rate-identity, gum-jcgm-100, day-plan-own-choice

    Example
    -------
    >>> from wetrun.spray.orifice import law_of_us_size
    >>> means = CatchMeans(section_tips=(36, 36), law=law_of_us_size("05"), pressure_pa=275790.3, tank_m3=4.5)
    >>> first = catch_ways(means, 2700.0).choices[0]
    >>> first.plan.jugs, round(first.plan.water_m3, 2), round(first.tanks, 1), first.fits
    (1, 9.81, 2.2, False)
    """
    check_not_negative("time there is", available_s, SECOND, remedy="Enter the minutes you have.")
    check_positive("time of a catch", means.catch_s, SECOND, remedy="Enter the seconds a jug is held under.")
    if means.tank_m3 is not None:
        check_positive("tank", means.tank_m3, CUBIC_METRE, remedy="Enter what it holds, or leave it out.")
    tools, assumed = filled(means)
    flow_m3s = float(means.law.flow_m3s(means.pressure_pa))
    job = CatchJob(section_tips=means.section_tips, tip_flow_m3s=flow_m3s, catch_s=means.catch_s, reread_s=SETTING_S)
    known = replace(means, tools=tools)
    plans = sorted(
        catch_plans(job, most_jugs=means.most_jugs), key=lambda plan: (list(CatchWay).index(plan.way), plan.jugs)
    )
    choices = tuple(_choice(known, plan, available_s) for plan in plans)
    return CatchWays(choices=choices, recommended=_recommended(choices), assumed=assumed)


def _choice(means: CatchMeans, plan: CatchPlan, available_s: S) -> CatchChoice:
    own, shared = way_doubts(means, plan.way, jugs=plan.jugs)
    every_tip = plan.way is not CatchWay.REFERENCE
    to_boom = own.expanded() if every_tip else inf
    to_new = own.joined(shared).expanded() if every_tip else reference_doubt(own).expanded()
    tanks = None if means.tank_m3 is None else plan.water_m3 / means.tank_m3
    return CatchChoice(
        plan=plan,
        tanks=tanks,
        to_boom_frac=to_boom,
        to_new_frac=to_new,
        boom_limits_frac=_decided(to_boom),
        new_limits_frac=_decided(to_new),
        fits=plan.time_s + READY_S <= available_s and (tanks is None or tanks <= 1.0),
    )


def _decided(expanded_frac: Frac) -> tuple[Frac, ...]:
    return tuple(limit for limit in LIMITS if expanded_frac <= DECIDING_SHARE * limit)


def _recommended(choices: tuple[CatchChoice, ...]) -> CatchChoice | None:
    fitting = [choice for choice in choices if choice.fits]
    return min(
        fitting,
        key=lambda c: (
            not c.every_tip,
            -len(c.boom_limits_frac),
            -len(c.new_limits_frac),
            c.plan.jugs,
            c.plan.water_m3,
        ),
        default=None,
    )
