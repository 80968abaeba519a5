"""The answer to one clean-out, whole: plan, what each step leaves, three ways, skips, priming, yard list and record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.changeover.cautions import cautions_of
from wetrun.changeover.dilution import MEANING, AfterStep, dilution
from wetrun.changeover.network import network_of
from wetrun.changeover.next_crop import FirstAcres
from wetrun.changeover.priming import Priming, priming
from wetrun.changeover.question import ChangeoverQuestion, rinse_task
from wetrun.changeover.rinse import rinse_steps
from wetrun.changeover.rinse_plan import RinsePlan, rinse_plan
from wetrun.changeover.rinse_task import PreparedTask, plan_steps, prepared_task
from wetrun.changeover.same_water import USUAL_RINSES, WayOutcome, same_water_outcomes
from wetrun.changeover.skipping import Skipped, skip_outcomes
from wetrun.changeover.winter import spring_steps, winter_steps
from wetrun.changeover.yard_circuits import circuit_flushes
from wetrun.changeover.yard_job import YardJob
from wetrun.changeover.yard_list import YardList, yard_list
from wetrun.changeover.yard_record import ChangeoverRecord, RecordState, record_state
from wetrun.changeover.yard_step import YardStep
from wetrun.machine.circuits import Circuit
from wetrun.machine.flushing import FlushSetting, NeverRinsed, flush_settings, never_rinsed
from wetrun.units import FRACTION, M2, M3, Frac

METHOD: Final = "changeover-1"
FULL_STRENGTH_FRAC: Final[Frac] = 0.99
"""Strength of the new mix that counts as full; own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepHeld:
    """What every circuit holds after one step of the clean-out.

    Attributes
    ----------
    rinse : int
        Which rinse it belongs to, counted from 1; 0 before the first.
    last_of_rinse : bool
        Whether the rinse ends with it.
    after : AfterStep
        The step, its water and time, and the concentration by circuit as a share of the old tank mix.
    """

    rinse: int
    last_of_rinse: bool
    after: AfterStep

    @property
    def concentrations_frac(self) -> Annotated[Mapping[str, float], FRACTION]:
        """By circuit, as a share of the old tank mix [frac]."""
        return self.after.concentrations_frac


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstStrength:
    """How thin the new mix is at first, where rinse water still stands in the lines.

    Attributes
    ----------
    first_drop_frac : float
        Strength in the first drop, in the thinnest section [frac].
    full_after_m2 : float or None
        Area after which every section has nearly full strength [m2]; None if not within the load.
    end_frac : float
        Strength at the end of the load, in the thinnest section: below 1 by the water that stayed inside [frac].
    """

    first_drop_frac: Frac
    full_after_m2: M2 | None
    end_frac: Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeoverAnswer:
    """The answer to one clean-out.

    Attributes
    ----------
    question : ChangeoverQuestion
        As asked: machine, earlier and later use, layout, tolerated level, water, what was written down.
    plan : RinsePlan
        Rinses, water, refills, whether the level is reached, the best that can be reached, and remedies.
    steps : tuple of StepHeld
        Every step of the plan with the concentration in every circuit after it.
    three_ways : tuple of WayOutcome
        The same water as one rinse, as equal rinses, and with a circuit forgotten; empty if no rinse is needed.
    skips : tuple of Skipped
        What skipping each circuit does, the worst first.
    never_rinsed : tuple of NeverRinsed
        Circuits no valve position flushes.
    flush_settings : tuple of FlushSetting
        The fewest valve settings that flush the rest.
    priming : Priming
        Until the new mix is at the last tip.
    strength : FirstStrength
        How thin it is at first.
    yard : YardList
        The yard's steps, with the plan's water and the circuits valve by valve.
    record : RecordState or None
        Whether what was written down is complete; None if nothing was.
    winter, spring : tuple of YardStep
        Steps that put the machine away and wake it; empty if nobody asked.
    cautions : tuple of str
        What to know besides.
    method : str
        Name and number of the method.
    meaning : str
        What the concentrations say. They never say more.
    """

    question: ChangeoverQuestion
    plan: RinsePlan
    steps: tuple[StepHeld, ...]
    three_ways: tuple[WayOutcome, ...]
    skips: tuple[Skipped, ...]
    never_rinsed: tuple[NeverRinsed, ...]
    flush_settings: tuple[FlushSetting, ...]
    priming: Priming
    strength: FirstStrength
    yard: YardList
    record: RecordState | None
    winter: tuple[YardStep, ...]
    spring: tuple[YardStep, ...]
    cautions: tuple[str, ...]
    method: str = METHOD
    meaning: str = MEANING

    @property
    def circuits(self) -> tuple[Circuit, ...]:
        """Every circuit with name, kind, volume, residue, and their sources."""
        return self.question.layout.circuits

    @property
    def after_rinses(self) -> tuple[StepHeld, ...]:
        """What every circuit holds at the end of each rinse."""
        return tuple(step for step in self.steps if step.last_of_rinse)


@dataclass(frozen=True, slots=True, kw_only=True)
class YardAnswer:
    """The part of an answer the yard works by: the list, its valves, and how far the record is.

    Attributes
    ----------
    question : ChangeoverQuestion
        As asked, with what was written down.
    yard : YardList
        The yard's steps, with the plan's water.
    flush_settings : tuple of FlushSetting
        The fewest valve settings that flush every circuit a valve reaches.
    record : RecordState or None
        Whether what was written down is complete; None if nothing was.
    winter, spring : tuple of YardStep
        Steps that put the machine away and wake it; empty if nobody asked.
    """

    question: ChangeoverQuestion
    yard: YardList
    flush_settings: tuple[FlushSetting, ...]
    record: RecordState | None
    winter: tuple[YardStep, ...]
    spring: tuple[YardStep, ...]


def yard_answer(question: ChangeoverQuestion, rinses_m3: tuple[M3, ...], left_frac: Frac) -> YardAnswer:
    """Return the yard's part of an answer whose rinses are known already.

    Parameters
    ----------
    question : ChangeoverQuestion
        As asked, with what was written down.
    rinses_m3 : tuple of float
        Water of each rinse of the plan [m3].
    left_frac : float
        What the plan leaves in the first drop, as a share of the old tank mix [frac].

    Returns
    -------
    YardAnswer
        At once: nothing is searched for.
    """
    listed = yard_list(_yard_job(question, rinses_m3))
    circuits, winter = circuit_flushes(question.layout), question.winter
    return YardAnswer(
        question=question,
        yard=listed,
        flush_settings=flush_settings(question.layout),
        record=_record(question, listed, left_frac),
        winter=() if winter is None else winter_steps(circuits, antifreeze=winter.antifreeze),
        spring=() if winter is None else spring_steps(circuits, where_it_goes=winter.where_it_goes),
    )


def changeover_answer(
    question: ChangeoverQuestion, *, progress: Callable[[str], None] = lambda _: None
) -> ChangeoverAnswer:
    """Return the answer to one clean-out.

    Parameters
    ----------
    question : ChangeoverQuestion
        Two tanks and the machine between them.
    progress : callable
        Told what is being worked out, part by part.

    Returns
    -------
    ChangeoverAnswer
        A level that no water there is can reach is a result: the best reachable, what holds it up, and the remedies.

    Raises
    ------
    OutOfRange
        Water, volumes or a load that cannot be.
    NotDefined
        Nothing sprays, or chlorine bleach would meet ammonia.

    Notes
    -----
    Everything is diluted “if nothing is bound”: what sorbs, dries on, or is stripped loose by the next load's adjuvants
    is in no figure.

    References
    ----------
    ideal-mixing-dilution, osu-adjuvants-strip, common-practice-plumbing
    """
    yard_list(_yard_job(question, ()))  # refuses what must never meet before anything slow is done
    network = network_of(question.layout)
    progress("what each rinse does")
    prepared = prepared_task(rinse_task(question, network))
    progress("the least water that does it")
    plan = rinse_plan(prepared)
    progress("what skipping a circuit costs")
    skips = skip_outcomes(prepared, plan.rinses)
    yard = yard_answer(question, tuple(rinse.water_m3 for rinse in plan.rinses), plan.left_frac)
    return ChangeoverAnswer(
        question=question,
        plan=plan,
        steps=_steps(plan),
        three_ways=_three_ways(prepared, plan, question.section_tips),
        skips=skips,
        never_rinsed=never_rinsed(question.layout),
        flush_settings=yard.flush_settings,
        priming=_priming(question),
        strength=_strength(plan.acres),
        yard=yard.yard,
        record=yard.record,
        winter=yard.winter,
        spring=yard.spring,
        cautions=cautions_of(question.layout, question.tolerated),
    )


def _yard_job(question: ChangeoverQuestion, rinses_m3: tuple[M3, ...]) -> YardJob:
    return YardJob(
        machine=question.machine,
        crop_to=question.later.crop,
        products_from=question.earlier.contents,
        products_to=question.later.contents,
        label_steps=question.label_steps,
        rinses_m3=rinses_m3,
        first_flush_m3=question.first_flush_m3,
        circuits=circuit_flushes(question.layout),
        cleaners=question.cleaners,
        rinsate=question.rinsate,
        nurse=question.nurse,
    )


def _steps(plan: RinsePlan) -> tuple[StepHeld, ...]:
    task = plan.task
    done = dilution(task.setup.network, task.before, plan_steps(task, plan.rinses)).steps
    counts = [len(rinse_steps(task.setup, rinse)) for rinse in plan.rinses]
    first = len(done) - sum(counts)
    numbers = [0] * first + [number for number, count in enumerate(counts, start=1) for _ in range(count)]
    following = [*numbers[1:], -1]
    return tuple(
        StepHeld(rinse=number, last_of_rinse=number > 0 and number != then, after=after)
        for number, then, after in zip(numbers, following, done, strict=True)
    )


def _three_ways(prepared: PreparedTask, plan: RinsePlan, section_tips: tuple[int, ...]) -> tuple[WayOutcome, ...]:
    if not plan.rinses:
        return ()
    times = len(plan.rinses) if len(plan.rinses) > 1 else USUAL_RINSES
    return same_water_outcomes(prepared, plan.water_m3, section_tips, times=times)


def _priming(question: ChangeoverQuestion) -> Priming:
    return priming(
        question.layout,
        question.section_tips,
        out_m3s=question.out_m3s,
        speed_mps=question.speed_mps,
        fed_in_middle=question.fed_in_middle,
    )


def _strength(acres: FirstAcres) -> FirstStrength:
    """The thinnest section at each moment; full once it stays so."""
    thinnest = acres.strength_frac.min(axis=1)
    end_frac = float(thinnest[-1])
    thin = np.flatnonzero(thinnest < FULL_STRENGTH_FRAC * end_frac)
    full_after_m2: float | None = 0.0
    if thin.size:
        full_after_m2 = float(acres.areas_m2[thin[-1] + 1]) if thin[-1] + 1 < len(thinnest) else None
    return FirstStrength(first_drop_frac=float(thinnest[0]), full_after_m2=full_after_m2, end_frac=end_frac)


def _record(question: ChangeoverQuestion, listed: YardList, left_frac: Frac) -> RecordState | None:
    written = question.written
    if written is None:
        return None
    return record_state(
        ChangeoverRecord(
            listed=listed,
            entries=written.entries,
            signed_by=written.signed_by,
            signed_at=written.signed_at,
            diluted_frac=left_frac,
        )
    )
