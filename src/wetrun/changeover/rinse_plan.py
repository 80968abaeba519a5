"""The rinse plan: least clean water that keeps the next crop at or below the tolerated level, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.changeover.dilution import MEANING
from wetrun.changeover.next_crop import FirstAcres, area_above_m2, first_highest
from wetrun.changeover.rinse import Rinse
from wetrun.changeover.rinse_task import PreparedTask, RinseTask, acres_after, check_some_rinse, prepared_task
from wetrun.changeover.search import METHOD, FoundPlan, RinseSearch
from wetrun.machine.circuits import CircuitKind
from wetrun.machine.flushing import NeverRinsed, never_rinsed
from wetrun.spray.bounds import FloatArray
from wetrun.units import M2, M3, Frac

_MOST_REFILLS: Final = 3


class RemedyKind(StrEnum):
    """What helps when the water there is does not reach the level."""

    REFILL = "fill the rinse tank again"
    OPEN = "open and drain by hand after the last rinse"
    MEASURE = "measure what is really held"


@dataclass(frozen=True, slots=True)
class Remedy:
    """One way out, with what it would reach.

    Attributes
    ----------
    kind : RemedyKind
        What to do.
    circuits : tuple of str
        To which circuits: the binding one and its like, such as every section.
    refills : int
        How many more fillings of the rinse tank.
    left_frac : float or None
        Highest concentration the next crop would then get [frac]; None where it cannot be computed.
    """

    kind: RemedyKind
    circuits: tuple[str, ...] = ()
    refills: int = 0
    left_frac: Frac | None = None


@dataclass(frozen=True, slots=True)
class Share:
    """What one circuit adds to the highest concentration the next crop gets.

    Attributes
    ----------
    circuit : str
        Where the old mix stands after the last rinse.
    left_frac : float
        Its part of that concentration [frac].
    """

    circuit: str
    left_frac: Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class RinsePlan:
    """A plan, and why it is this one.

    Attributes
    ----------
    task : RinseTask
        What was asked.
    rinses : tuple of Rinse
        In order; empty if none is needed.
    water_m3 : float
        Clean water in all [m3].
    refills : int
        Times the rinse tank is filled again.
    reached : bool
        Whether the next crop stays at or below the level. If not, this is the best the water there is can do.
    level_frac : float
        Tolerated level as a share of the old tank mix [frac].
    left_frac : float
        Highest concentration any section brings out [frac].
    acres : FirstAcres
        By section over the first load.
    above_m2 : dict of str to float or None
        Area after which each section stays at or below the level; None if it does not within the load [m2].
    shares : tuple of Share
        What each circuit adds to the highest concentration, the binding one first.
    next_step_frac : float or None
        Highest concentration with one more step of water, used at its best [frac]; None if there is none.
    never_rinsed : tuple of NeverRinsed
        Circuits no valve position flushes.
    remedies : tuple of Remedy
        What would help; empty if reached.
    method : str
        Name and number of the method.
    meaning : str
        What the concentrations say.
    """

    task: RinseTask
    rinses: tuple[Rinse, ...]
    water_m3: M3
    refills: int
    reached: bool
    level_frac: Frac
    left_frac: Frac
    acres: FirstAcres
    above_m2: dict[str, M2 | None]
    shares: tuple[Share, ...]
    next_step_frac: Frac | None
    never_rinsed: tuple[NeverRinsed, ...]
    remedies: tuple[Remedy, ...] = ()
    method: str = METHOD
    meaning: str = MEANING

    @property
    def binding(self) -> str:
        """Circuit that adds most to the highest concentration."""
        return self.shares[0].circuit


def rinse_plan(prepared: PreparedTask) -> RinsePlan:
    """Return the plan with the least clean water; of these the fewest rinses; of these the most equal.

    Parameters
    ----------
    prepared : PreparedTask
        From `wetrun.changeover.rinse_task.prepared_task`.

    Returns
    -------
    RinsePlan
        If the level is out of reach, the plan that leaves least, with what would help.

    Raises
    ------
    OutOfRange, NotDefined
        Out of reach, and no rinse at all can be done with the water there is: too little to fill the lines, too much
        for the tank.

    Notes
    -----
    Exact on the water steps given. That equal batches are best is an outcome for one mixed volume, not a rule put in:
    a boom that does not drain, or a dead end, makes others better. Sorbed and dried residue is left out, so the result
    reads “diluted to this if nothing is bound”, and no more.

    References
    ----------
    ideal-mixing-dilution, iso-16236
    """
    search = search_of(prepared)
    level_frac = prepared.task.level_frac
    found = search.least_water(level_frac)
    if found is not None:
        return _plan(prepared, search, found, remedies=())
    check_some_rinse(prepared)
    best = search.least_left()
    rinses = _rinses(prepared.task, best)
    remedies = _remedies(prepared, rinses)
    return _plan(prepared, search, best, remedies=remedies)


def planned(task: RinseTask) -> RinsePlan:
    """Return the rinse plan of a task in one go.

    Parameters
    ----------
    task : RinseTask
        The task.

    Returns
    -------
    RinsePlan
        See `rinse_plan`.
    """
    return rinse_plan(prepared_task(task))


def search_of(prepared: PreparedTask, *, more_refills: int = 0) -> RinseSearch:
    """Return the search on a prepared task.

    Parameters
    ----------
    prepared : PreparedTask
        Menu and supply.
    more_refills : int
        Fillings of the rinse tank beyond those allowed.

    Returns
    -------
    RinseSearch
        Single rinses stay within the water of the task.
    """
    task = prepared.task
    one_m3 = task.supply.rinse_tank_m3
    most = task.supply.steps + int(more_refills * one_m3 / task.supply.step_m3 * (1.0 + 1e-9))
    return RinseSearch(prepared.menu, most_units=most, most_rinses=task.most_rinses)


def plan_sentence(plan: RinsePlan) -> str:
    """Return the outcome in a sentence or two, without volumes: those are shown in the reader's units elsewhere.

    Parameters
    ----------
    plan : RinsePlan
        The plan.

    Returns
    -------
    str
        What the next crop gets, the level, what holds it up and the remedy.
    """
    got = f"The next crop gets at most {plan.left_frac:.3g} of the old tank mix ({plan.meaning})"
    level = f"tolerated is {plan.level_frac:.3g} ({plan.task.tolerated.words})"
    if plan.reached:
        return f"{got}; {level}. Most of it comes from {plan.binding}."
    helps = "; ".join(_remedy_words(remedy) for remedy in plan.remedies)
    return f"{got}; {level}: the clean water there is does not reach it. Held up by {plan.binding}: {helps}."


def _plan(prepared: PreparedTask, search: RinseSearch, found: FoundPlan, *, remedies: tuple[Remedy, ...]) -> RinsePlan:
    task = prepared.task
    rinses = _rinses(task, found)
    water_m3 = found.units * task.supply.step_m3
    acres = acres_after(prepared, rinses)
    left_frac = acres.peak_frac
    more = found.units < search.most_units
    return RinsePlan(
        task=task,
        rinses=rinses,
        water_m3=water_m3,
        refills=task.supply.refills_for(water_m3),
        reached=not remedies,
        level_frac=task.level_frac,
        left_frac=left_frac,
        acres=acres,
        above_m2=area_above_m2(acres, task.level_frac),
        shares=_shares(prepared, _old_after(prepared, found)),
        next_step_frac=search.least_left_with(found.units + 1).left_frac if more else None,
        never_rinsed=never_rinsed(task.setup.network.layout),
        remedies=remedies,
    )


def _rinses(task: RinseTask, found: FoundPlan) -> tuple[Rinse, ...]:
    return tuple(Rinse(choice.way, choice.units * task.supply.step_m3) for choice in found.choices)


def _old_after(prepared: PreparedTask, found: FoundPlan) -> FloatArray:
    old: FloatArray = prepared.menu.start
    for choice in found.choices:
        old = choice.shares @ old
    return old


def _shares(prepared: PreparedTask, old: FloatArray) -> tuple[Share, ...]:
    """Parts of the highest concentration by circuit, the greatest first."""
    network = prepared.task.setup.network
    per_cell = prepared.rows.per_old[..., : len(old)].reshape(-1, len(old))
    parts = per_cell[first_highest(per_cell @ old)] * old
    shares = [Share(c.name, float(parts[list(network.held_by(c.name))].sum())) for c in network.layout.circuits]
    return tuple(sorted(shares, key=lambda share: -share.left_frac))


def _remedies(prepared: PreparedTask, rinses: Sequence[Rinse]) -> tuple[Remedy, ...]:
    """Refills, the binding circuit opened by hand, and its volume measured."""
    network, level_frac = prepared.task.setup.network, prepared.task.level_frac
    found: list[Remedy] = []
    for more in range(1, _MOST_REFILLS + 1):
        plan = search_of(prepared, more_refills=more).least_water(level_frac)
        if plan is not None:
            found.append(Remedy(RemedyKind.REFILL, refills=more, left_frac=plan.left_frac))
            break
    old = prepared.menu.start
    by_rinse = {(c.way, c.units): c.shares for c in prepared.menu.choices}
    for rinse in rinses:
        old = by_rinse[rinse.way, round(rinse.water_m3 / prepared.task.supply.step_m3)] @ old
    binding = network.layout.circuit(_shares(prepared, old)[0].circuit)
    alike = tuple(circuit.name for circuit in network.layout.circuits if circuit.kind is binding.kind)
    if binding.kind is not CircuitKind.TANK:
        found.append(Remedy(RemedyKind.OPEN, alike, left_frac=_left_if_emptied(prepared, old, alike)))
    if not binding.measured:
        found.append(Remedy(RemedyKind.MEASURE, alike))
    return tuple(found) or (Remedy(RemedyKind.REFILL, refills=_MOST_REFILLS + 1),)


def _left_if_emptied(prepared: PreparedTask, old: FloatArray, names: Sequence[str]) -> Frac:
    """Highest concentration if what stands in these circuits is let out and clean water takes its place."""
    emptied = old.copy()
    for name in names:
        emptied[list(prepared.task.setup.network.held_by(name))] = 0.0
    return float((prepared.menu.goals @ emptied).max())


def _remedy_words(remedy: Remedy) -> str:
    then = "" if remedy.left_frac is None else f" (then {remedy.left_frac:.3g})"
    times = f" {remedy.refills} more times" if remedy.refills > 1 else ""
    which = f" ({remedy.circuits[0]}{' and its like' if len(remedy.circuits) > 1 else ''})" if remedy.circuits else ""
    return f"{remedy.kind}{times}{which}{then}"
