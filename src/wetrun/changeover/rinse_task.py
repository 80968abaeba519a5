"""What a rinse plan is asked: the machine as it stands, the water there is, the next load, and the tolerated level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from wetrun.changeover.menu import Menu, leading_goals, rinse_choices, without_exits
from wetrun.changeover.network import State, loaded_state
from wetrun.changeover.next_crop import CarryRows, FirstAcres, NextLoad, carry_rows, first_acres
from wetrun.changeover.rinse import Rinse, RinseSetup, Way, rinse_effect, rinse_setup, rinse_steps, start_volumes
from wetrun.changeover.steps import Drain, Step, step_effect
from wetrun.changeover.tolerated import Tolerated
from wetrun.errors import OutOfRange
from wetrun.units import CUBIC_METRE, M3, RATIO, Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterSupply:
    """Clean water there is for rinsing.

    Attributes
    ----------
    rinse_tank_m3 : float
        Carried on the machine [m3].
    refills : int
        Times it may be filled again.
    step_m3 : float
        Step in which water is measured out: 5 gal, 20 L [m3].
    """

    rinse_tank_m3: M3
    refills: int = 0
    step_m3: M3

    @property
    def steps(self) -> int:
        """Whole steps of water in all."""
        return math.floor(self.rinse_tank_m3 * (1 + self.refills) / self.step_m3 * (1.0 + 1e-9))

    def refills_for(self, water_m3: M3) -> int:
        """Return how often the rinse tank has to be filled again for so much water.

        Parameters
        ----------
        water_m3 : float
            Clean water in all [m3].

        Returns
        -------
        int
            0 if one filling does.
        """
        return max(0, math.ceil(water_m3 / self.rinse_tank_m3 * (1.0 - 1e-9)) - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class RinseTask:
    """What a plan has to do.

    Attributes
    ----------
    setup : RinseSetup
        How rinses are done on the machine.
    load : NextLoad
        First load of the next crop.
    tolerated : Tolerated
        What that crop may get.
    supply : WaterSupply
        Clean water.
    start : State or None
        What the machine holds before the rinse; None for full of old mix with the tank sprayed down.
    ways : tuple of Way
        Ways to rinse that the plan may use.
    most_rinses : int
        Most rinses.
    """

    setup: RinseSetup
    load: NextLoad
    tolerated: Tolerated
    supply: WaterSupply
    start: State | None = None
    ways: tuple[Way, ...] = (Way.BATCH,)
    most_rinses: int = 4

    @property
    def level_frac(self) -> Frac:
        """Tolerated level as a share of the old tank mix in what leaves the tips [frac]."""
        return self.tolerated.in_mix_frac(self.load.dose_ratio)

    @property
    def before(self) -> State:
        """What the machine holds before the rinse."""
        return loaded_state(self.setup.network) if self.start is None else self.start


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedTask:
    """A task with what every plan for it shares.

    Attributes
    ----------
    task : RinseTask
        The task.
    ready : State
        Drained, or sprayed down, before the first rinse.
    rows : CarryRows
        What the next load brings out of each section.
    menu : Menu
        Rinses that can be done, and the goals.
    """

    task: RinseTask
    ready: State
    rows: CarryRows
    menu: Menu


def prepared_task(task: RinseTask) -> PreparedTask:
    """Return a task with its menu of rinses and the rows of the next load.

    Parameters
    ----------
    task : RinseTask
        The task.

    Returns
    -------
    PreparedTask
        Ready to search.

    Raises
    ------
    OutOfRange
        No clean water, or a step of water that is none.
    NotDefined
        Nothing sprays.
    """
    check_supply(task.supply, task.most_rinses)
    setup, network = task.setup, task.setup.network
    ready = ready_state(task)
    rows = carry_rows(network, ready.volumes_m3, task.load)
    goals = without_exits(setup, rows.per_old).reshape(-1, network.size - len(network.exits))
    choices = rinse_choices(setup, task.ways, step_m3=task.supply.step_m3, most=task.supply.steps)
    menu = Menu(choices=choices, start=without_exits(setup, ready.old_m3), goals=leading_goals(goals))
    return PreparedTask(task=task, ready=ready, rows=rows, menu=menu)


def ready_state(task: RinseTask) -> State:
    """Return what the machine holds when the first rinse begins.

    Parameters
    ----------
    task : RinseTask
        The task.

    Returns
    -------
    State
        Drained if the machine is drained between rinses.

    Raises
    ------
    OutOfRange
        Mix still in the tank that nobody means to spray out or drain.
    """
    network, before = task.setup.network, task.before
    done = step_effect(Drain(), network, before.volumes_m3).on(before) if task.setup.drains else before
    wanted_m3 = float(start_volumes(task.setup)[network.tank])
    tank_m3 = float(done.volumes_m3[network.tank])
    if not math.isclose(tank_m3, wanted_m3, rel_tol=1e-9):
        remedy = "Spray it out or drain it first."
        raise OutOfRange("mix left in the tank", tank_m3, CUBIC_METRE, high=wanted_m3, remedy=remedy)
    return done


def acres_after(prepared: PreparedTask, rinses: Sequence[Rinse], *, without: tuple[str, ...] = ()) -> FirstAcres:
    """Return what the next crop gets after these rinses, whoever chose them.

    Parameters
    ----------
    prepared : PreparedTask
        Machine, start and next load.
    rinses : sequence of Rinse
        In order.
    without : tuple of str
        Circuits skipped in every rinse; the next load still runs through them.

    Returns
    -------
    FirstAcres
        Old mix and strength of the new, by section over area.

    Raises
    ------
    OutOfRange
        A rinse that cannot be done with that water.
    NotDefined
        A circuit that cannot be skipped.
    """
    setup = setup_without(prepared.task.setup, without)
    old_m3, volumes_m3 = prepared.ready.old_m3, prepared.ready.volumes_m3
    effects = {rinse: rinse_effect(setup, rinse) for rinse in dict.fromkeys(rinses)}
    for rinse in rinses:
        old_m3 = effects[rinse].shares @ old_m3
    return first_acres(prepared.rows, old_m3, volumes_m3, prepared.task.load)


def plan_steps(task: RinseTask, rinses: Sequence[Rinse], *, without: tuple[str, ...] = ()) -> tuple[Step, ...]:
    """Return every step of a clean-out with these rinses.

    Parameters
    ----------
    task : RinseTask
        The task.
    rinses : sequence of Rinse
        In order.
    without : tuple of str
        Circuits skipped.

    Returns
    -------
    tuple of Step
        Ready for `wetrun.changeover.dilution.dilution`, from the state before the rinse.
    """
    setup = setup_without(task.setup, without)
    first = (Drain(),) if setup.drains else ()
    return (*first, *(step for rinse in rinses for step in rinse_steps(setup, rinse)))


def setup_without(setup: RinseSetup, without: tuple[str, ...]) -> RinseSetup:
    """Return how rinses are done when circuits are skipped, with the fewest valve settings again.

    Parameters
    ----------
    setup : RinseSetup
        The full way.
    without : tuple of str
        Circuits skipped.

    Returns
    -------
    RinseSetup
        The same flow, draining and order.

    Raises
    ------
    NotDefined
        A circuit every line passes.
    """
    if not without:
        return setup
    fewer = rinse_setup(setup.network, setup.out_m3s, drains=setup.drains, without=(*setup.closed, *without))
    return replace(fewer, last_frac=setup.last_frac)


def check_some_rinse(prepared: PreparedTask) -> None:
    """Refuse a task for which no rinse at all can be done, with the reason why the nearest one cannot.

    Parameters
    ----------
    prepared : PreparedTask
        The task and its menu.

    Raises
    ------
    OutOfRange
        Too little water to fill the lines, or steps of water that run over.
    NotDefined
        No line for the way to rinse, or water that only fills the lines.
    """
    if prepared.menu.choices:
        return
    task, network = prepared.task, prepared.task.setup.network
    all_m3 = task.supply.steps * task.supply.step_m3
    fits = all_m3 <= float(network.full_m3[network.tank] - network.floor_m3[network.tank])
    rinse_effect(task.setup, Rinse(task.ways[0], all_m3 if fits else task.supply.step_m3))


def check_supply(supply: WaterSupply, most_rinses: int) -> None:
    """Refuse a supply without water, or a plan without rinses.

    Parameters
    ----------
    supply : WaterSupply
        Clean water.
    most_rinses : int
        Most rinses of a plan.

    Raises
    ------
    OutOfRange
        With the remedy.
    """
    if not supply.rinse_tank_m3 > 0.0:
        raise OutOfRange(
            "clean water for rinsing",
            supply.rinse_tank_m3,
            CUBIC_METRE,
            low=0.0,
            remedy="Enter the rinse tank, or the clean water a nurse tank brings.",
        )
    if supply.refills < 0:
        raise OutOfRange("refills of the rinse tank", supply.refills, RATIO, low=0.0, remedy="Enter 0 for none.")
    if not 0.0 < supply.step_m3 <= supply.rinse_tank_m3 * (1 + supply.refills):
        raise OutOfRange(
            "step of rinse water",
            supply.step_m3,
            CUBIC_METRE,
            low=0.0,
            high=supply.rinse_tank_m3 * (1 + supply.refills),
            remedy="Enter the step you can measure out, such as 5 gal or 20 L.",
        )
    if most_rinses < 1:
        raise OutOfRange("most rinses", most_rinses, RATIO, low=1.0, remedy="Allow one or more.")
