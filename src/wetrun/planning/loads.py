"""The loads of one pass: what is mixed, load by load, where each runs out, what is left, and what to know of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from wetrun.machine.fill import Axle, Measures
from wetrun.machine.sprayer import Sprayer
from wetrun.planning.jar_test import JarTest, jar_test
from wetrun.planning.label_limits import PassLimits, combined_limits
from wetrun.planning.load_parts import LoadPart, load_parts
from wetrun.planning.load_split import LoadSplit, load_split
from wetrun.planning.mix_order import MixOrder, mix_order
from wetrun.planning.passes import Pass
from wetrun.planning.recipe import Recipe, recipe_of_pass
from wetrun.planning.refill import RefillPoint, refill_point
from wetrun.planning.shares import steps_within
from wetrun.planning.tank_room import Room, TankRoom, check_carry_in, tank_room
from wetrun.planning.water_conditioner import ConditionerFinding, conditioner_finding
from wetrun.planning.water_test import WaterTest
from wetrun.spray.agitation import (
    LEAST_PER_MINUTE_FRAC,
    MOST_PER_MINUTE_FRAC,
    agitation_flow_m3s,
    pump_flow_needed_m3s,
    turnover_s,
)
from wetrun.units import M2, M3, Kg, M3s, S

METHOD: Final = "tank loads"
METHOD_NUMBER: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One load.

    Attributes
    ----------
    number : int
        From 1.
    fill_m3 : float
        Mix made in it [m3].
    first_m3 : float
        Carrier to run in before the first product [m3]: whole steps of the gauge, of the jug if less than one.
    aboard_m3 : float
        Mix in the machine before it is filled [m3].
    contents_kg : float
        Weight of the mix aboard when it is full [kg].
    treated_m2, field_m2 : float
        Treated area, and field area, it covers [m2].
    refill : RefillPoint
        Where it is out.
    """

    number: int
    fill_m3: M3
    first_m3: M3
    aboard_m3: M3
    contents_kg: Kg
    treated_m2: M2
    field_m2: M2
    refill: RefillPoint


@dataclass(frozen=True, slots=True, kw_only=True)
class Agitation:
    """What the pump does for the mix while it sprays.

    Attributes
    ----------
    turnover_s : float or None
        Time in which agitation moves a full tank once [s]; None if no agitation flow was typed.
    flow_m3s : float
        What agitation takes [m3/s].
    low_m3s, high_m3s : float
        What the published shares of a full tank a minute would be [m3/s].
    pump_m3s : float
        The pump's flow at working pressure [m3/s].
    needed_m3s : float or None
        Flow for boom at the fastest stated speed, agitation and reserve [m3/s]; None if no speed is stated.
    """

    turnover_s: S | None
    flow_m3s: M3s
    low_m3s: M3s
    high_m3s: M3s
    pump_m3s: M3s
    needed_m3s: M3s | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPlan:
    """Everything a load sheet says of one pass.

    Attributes
    ----------
    planned : Pass
        The pass.
    recipe : Recipe
        What its spray is made of.
    measures : Measures
        Steps the amounts are whole numbers of.
    room : TankRoom
        What a fill may be.
    binding : Room
        The limit that sets a full load, with the machine as it stands between loads.
    split : LoadSplit
        Fills, carried-in and left-over mix.
    loads : tuple of Load
        One by one.
    parts : tuple of LoadPart
        The carrier, then the products in mixing order.
    order : MixOrder
        The mixing order and its contradictions.
    jar : JarTest
        The jar test.
    conditioner : ConditionerFinding or None
        Against the water test; None if there is none, or the carrier is not water.
    agitation : Agitation or None
        None if no pump was typed.
    limits : PassLimits
        What all labels in the tank leave together.
    treated_m2 : float
        Treated area of the pass [m2].
    axles : tuple of Axle
        Axles whose limits are known.
    """

    planned: Pass
    recipe: Recipe
    measures: Measures
    room: TankRoom
    binding: Room
    split: LoadSplit
    loads: tuple[Load, ...]
    parts: tuple[LoadPart, ...]
    order: MixOrder
    jar: JarTest
    conditioner: ConditionerFinding | None
    agitation: Agitation | None
    limits: PassLimits
    treated_m2: M2
    axles: tuple[Axle, ...] = ()
    method: str = METHOD
    method_number: int = METHOD_NUMBER

    def axle_weights(self) -> tuple[tuple[str, Kg, Kg], ...]:
        """Return every axle by name with what it carries at the fullest load, and its limit [kg]."""
        fullest_kg = max(load.contents_kg for load in self.loads)
        return tuple((each.name, each.empty_kg + each.load_frac * fullest_kg, each.high_kg) for each in self.axles)


def load_plan(planned: Pass, sprayer: Sprayer, measures: Measures, *, water: WaterTest | None = None) -> LoadPlan:
    """Return the loads of a pass.

    Parameters
    ----------
    planned : Pass
        The pass, its products and how its loads are wanted.
    sprayer : Sprayer
        The machine.
    measures : Measures
        What gauge, jug and scale show at least.
    water : WaterTest or None
        What is in the water.

    Returns
    -------
    LoadPlan
        Loads, mixing order, jar test, conditioner, refills.

    Raises
    ------
    NotDefined
        Without a tank volume, for a product without a rate, or where nothing is left to mix.
    OutOfRange
        For a machine overloaded when nearly empty, more carried in than fits, liquids that fill the tank by themselves.

    Notes
    -----
    A band pass is worked out in treated area throughout; field area is told beside it. Carried-in mix is of the same
    recipe. Overlap, headlands and what tips lose while priming are left out: they take more mix than this.

    References
    ----------
    msu-calibration, idaho-band, missouri-recipe
    """
    wish, recipe = planned.load, recipe_of_pass(planned)
    room = tank_room(sprayer, recipe.density_kgpm3, gauge_m3=measures.gauge_m3)
    check_carry_in(wish.carry_in_m3, room)
    treated_m2 = planned.area_m2 * wish.treated_frac
    split = load_split(
        treated_m2 * recipe.rate_m3pm2, room, wish.split, carry_in_m3=wish.carry_in_m3, gauge_m3=measures.gauge_m3
    )
    order = mix_order(planned.products, wish.order)
    return LoadPlan(
        planned=planned,
        recipe=recipe,
        measures=measures,
        room=room,
        binding=room.binding(room.undrainable_m3),
        split=split,
        loads=_loads(planned, sprayer, recipe, split, jug_m3=measures.jug_m3),
        parts=_in_order(load_parts(recipe, split, measures, planned.carrier.name, alike=wish.alike), order.names),
        order=order,
        jar=jar_test(recipe, order.names, jar_m3=wish.jar_m3, first_fill_frac=wish.first_fill_frac),
        conditioner=None if water is None or not planned.carrier.is_water else conditioner_finding(water, recipe),
        agitation=_agitation(planned, sprayer, recipe, room),
        limits=combined_limits(planned),
        treated_m2=treated_m2,
        axles=sprayer.fill.axles,
    )


def _in_order(parts: tuple[LoadPart, ...], names: tuple[str, ...]) -> tuple[LoadPart, ...]:
    carrier, *products = parts
    return (carrier, *sorted(products, key=lambda part: names.index(part.name)))


def _loads(planned: Pass, sprayer: Sprayer, recipe: Recipe, split: LoadSplit, *, jug_m3: M3) -> tuple[Load, ...]:
    wish, before_m3, found = planned.load, 0.0, []
    for at, fill in enumerate(split.fills):
        by_m3, fill_m3, aboard_m3 = split.sprayed_by_m3(at), fill * split.gauge_m3, split.aboard_m3(at)
        treated_m2 = (by_m3 - before_m3) / recipe.rate_m3pm2
        done_m2 = by_m3 / recipe.rate_m3pm2 / wish.treated_frac
        found.append(
            Load(
                number=at + 1,
                fill_m3=fill_m3,
                first_m3=_first_m3(wish.first_fill_frac * recipe.carrier_frac * fill_m3, split.gauge_m3, jug_m3),
                aboard_m3=aboard_m3,
                contents_kg=(fill_m3 + aboard_m3) * recipe.density_kgpm3,
                treated_m2=treated_m2,
                field_m2=treated_m2 / wish.treated_frac,
                refill=refill_point(at + 1, done_m2, width_m=sprayer.boom.width_m, length_m=wish.field_length_m),
            )
        )
        before_m3 = by_m3
    return tuple(found)


def _first_m3(wanted_m3: M3, gauge_m3: M3, jug_m3: M3) -> M3:
    """Whole marks of the gauge; less than one is measured with the jug, as no product goes into an empty tank."""
    step_m3 = gauge_m3 if wanted_m3 >= gauge_m3 else jug_m3
    return steps_within(wanted_m3, step_m3) * step_m3


def _agitation(planned: Pass, sprayer: Sprayer, recipe: Recipe, room: TankRoom) -> Agitation | None:
    pump = sprayer.pump
    if pump is None:
        return None
    needed_m3s = None
    if planned.speeds is not None:
        boom_m3s = recipe.rate_m3pm2 * planned.speeds.fast_mps * sprayer.boom.width_m * planned.load.treated_frac
        needed_m3s = pump_flow_needed_m3s(boom_m3s, pump.agitation_m3s)
    full_m3 = room.rooms[0].contents_m3
    return Agitation(
        turnover_s=turnover_s(full_m3, pump.agitation_m3s) if pump.agitation_m3s > 0.0 else None,
        flow_m3s=pump.agitation_m3s,
        low_m3s=agitation_flow_m3s(full_m3, LEAST_PER_MINUTE_FRAC),
        high_m3s=agitation_flow_m3s(full_m3, MOST_PER_MINUTE_FRAC),
        pump_m3s=pump.capacity_m3s,
        needed_m3s=needed_m3s,
    )
