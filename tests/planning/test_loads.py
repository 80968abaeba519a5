"""Tank loads in cases a specialist can check by hand: weight, ends, bands, bases of a dose, order, conditioner."""

import itertools
from dataclasses import replace
from datetime import date

import pytest

from wetrun.errors import NotDefined, OutOfRange
from wetrun.machine.boom import Boom
from wetrun.machine.fill import Axle, FillLimits, Measures
from wetrun.machine.sprayer import Control, Sprayer
from wetrun.planning.formulation import Form
from wetrun.planning.load_split import load_split
from wetrun.planning.load_wish import Band, LoadWish, Split
from wetrun.planning.loads import load_plan
from wetrun.planning.mix_order import mix_order
from wetrun.planning.mixing import Dose, DoseBase, LabelOrder, LabelPlace, Mixing
from wetrun.planning.passes import Pass, Product, RateMeaning, StatedSpeeds
from wetrun.planning.published_order import OrderName
from wetrun.planning.recipe import recipe_of_pass
from wetrun.planning.refill import refill_point
from wetrun.planning.tank_room import Room, TankRoom
from wetrun.planning.water_conditioner import ConditionerAdvice
from wetrun.planning.water_test import WaterTest
from wetrun.quantity import Kind, read
from wetrun.spray.carrier import carrier_of_density, fertiliser, water
from wetrun.spray.controller import Loop
from wetrun.spray.supply import PumpSupply


def si(text, kind):
    return read(text, kind).si_value


def gal(number):
    return si(f"{number} gal", Kind.VOLUME)


def lb(number):
    return si(f"{number} lb", Kind.MASS)


STEPS = Measures(gauge_m3=gal(1), jug_m3=si("1 fl oz", Kind.VOLUME), scale_kg=si("1 oz", Kind.MASS))
TWENTY = si("20 gal/ac", Kind.RATE)
PASS = Pass(
    ident="Only",
    crop="corn",
    area_m2=si("130 ac", Kind.AREA),
    first_day=date(2027, 5, 1),
    last_day=date(2027, 5, 9),
    carrier=water(),
    rate_m3pm2=TWENTY,
    rate_low_m3pm2=TWENTY,
    rate_high_m3pm2=TWENTY,
)
MACHINE = Sprayer(
    name="One",
    boom=Boom(spacing_m=si("20 in", Kind.SPACING), section_tips=(36, 36)),
    control=Control(loop=Loop.FIXED),
    tank_m3=gal(1000),
)


def product(name, *, rate=None, dry=None, dose=None, form=None, **label):
    return Product(
        name=name,
        rate_m3pm2=None if rate is None else si(rate, Kind.PRODUCT_RATE),
        rate_kgpm2=None if dry is None else si(dry, Kind.DRY_RATE),
        mixing=Mixing(form=form, dose=dose, label=LabelOrder(**label)),
    )


def plan_of(machine=MACHINE, water_test=None, **changes):
    return load_plan(replace(PASS, **changes), machine, STEPS, water=water_test)


def fills(plan):
    return list(plan.split.fills)


def filled(machine=MACHINE, **fill):
    return replace(machine, fill=FillLimits(**fill))


def test_acres_and_product_of_a_load_as_the_trade_counts_them():
    # 1000 gal at 20 gal/ac is 50 ac; 32 fl oz/ac on 50 ac is 1600 fl oz; 2 lb/ac is 100 lb.
    plan = plan_of(products=(product("P", rate="32 fl oz/ac"), product("G", dry="2 lb/ac")))
    assert fills(plan) == [1000, 1000, 600]
    assert [load.treated_m2 for load in plan.loads] == pytest.approx([si(f"{ac} ac", Kind.AREA) for ac in (50, 50, 30)])
    carrier, liquid, dry = (next(p for p in plan.parts if p.name == name) for name in ("water", "P", "G"))
    assert liquid.steps == (1600, 1600, 960)
    assert dry.steps == (1600, 1600, 960)  # ounces of weight
    assert carrier.steps == (128_000 - 1600, 128_000 - 1600, 76_800 - 960)


def test_equal_loads_take_no_more_loads_than_full_ones():
    assert fills(plan_of(load=LoadWish(split=Split.EQUAL))) == [867, 867, 866]


@pytest.mark.parametrize("split", Split)
@pytest.mark.parametrize("held", [0, 1, 2])
def test_no_load_is_above_its_room_however_the_lines_were_filled(split, held):
    for steps, sprayed in itertools.product(range(3, 9), range(1, 40)):
        tank = TankRoom(
            rooms=(Room(float(steps), "weight", True, 1e3 * steps),), undrainable_m3=float(held), undrainable_known=True
        )
        first, *others = load_split(float(sprayed), tank, split, gauge_m3=1.0).fills
        assert first <= steps
        assert max(others, default=0) <= steps - held
        assert first + sum(others) == sprayed + held


def test_the_first_load_fills_the_lines_and_as_much_stays():
    machine = filled(undrainable_m3=gal(15))
    plan = plan_of(machine)
    assert fills(plan) == [1000, 1000, 615]
    assert plan.split.left_over_m3 == pytest.approx(gal(15))
    assert plan.loads[0].treated_m2 == pytest.approx(si("49.25 ac", Kind.AREA))  # 985 gal of the first come out
    charged = plan_of(machine, load=LoadWish(carry_in_m3=gal(15)))
    assert fills(charged) == [1000, 1000, 600]
    assert charged.loads[0].treated_m2 == pytest.approx(si("50 ac", Kind.AREA))


def test_what_is_in_the_tank_already_takes_room_in_it():
    plan = plan_of(filled(undrainable_m3=gal(15)), load=LoadWish(carry_in_m3=gal(115)))
    assert fills(plan) == [900, 1000, 600]


def test_28_percent_uan_is_limited_by_weight_and_water_is_not():
    # 1200 gal of UAN 28 weigh about 12,800 lb, of water 10,000 lb; the tank may carry 11,000 lb.
    machine = filled(replace(MACHINE, tank_m3=gal(1200)), tank_high_kg=lb(11000))
    uan = plan_of(machine, carrier=fertiliser("UAN 28", si("60 °F", Kind.TEMPERATURE)))
    assert uan.room.rooms[0].contents_kg == pytest.approx(lb(12804), rel=1e-3)
    assert uan.binding.limit == "weight in the tank"
    assert max(fills(uan)) == int(11000 / 10.67)
    assert max(load.contents_kg for load in uan.loads) <= lb(11000)
    assert max(fills(plan_of(machine))) == 1200


def test_the_axle_that_binds_is_named_and_lines_weigh_too():
    axle = Axle(name="rear axle", high_kg=lb(22000), empty_kg=lb(17000), load_frac=0.625)
    machine = filled(axles=(axle,), undrainable_m3=gal(20))
    plan = plan_of(machine)
    assert plan.binding.limit == "weight on the rear axle"
    assert plan.binding.contents_kg == pytest.approx(lb(8000))
    aboard_m3 = lb(8000) / water().density_kgpm3
    assert max(fills(plan)[1:]) == int((aboard_m3 - gal(20)) / gal(1))
    assert fills(plan)[0] == int(aboard_m3 / gal(1))  # empty lines: all of it may be in the first load
    ((name, weight, limit),) = plan.axle_weights()
    assert name == "rear axle"
    assert lb(21990) < weight <= limit


@pytest.mark.parametrize(
    ("fill", "words"),
    [
        (
            {"axles": (Axle(name="rear", high_kg=9000.0, empty_kg=8990.0, load_frac=0.6),), "undrainable_m3": 0.06},
            "rear",
        ),
        ({"axles": (Axle(name="rear", high_kg=9000.0, empty_kg=9500.0, load_frac=0.6),)}, "rear"),
        ({"tank_high_kg": 1.0}, "weight in the tank"),
    ],
)
def test_a_machine_overloaded_when_nearly_empty_is_refused(fill, words):
    with pytest.raises(OutOfRange, match=words) as refused:
        plan_of(filled(**fill))
    assert "Weigh the machine again" in refused.value.remedy


def test_no_tank_no_rate_and_nothing_left_to_mix_are_told():
    with pytest.raises(NotDefined, match="tank's volume is not known"):
        plan_of(replace(MACHINE, tank_m3=None))
    with pytest.raises(NotDefined, match="“P”: it has no rate"):
        plan_of(products=(product("P"),))
    with pytest.raises(NotDefined, match="enough for the whole area"):
        plan_of(area_m2=si("2 ac", Kind.AREA), load=LoadWish(carry_in_m3=gal(50)))
    with pytest.raises(OutOfRange, match="mix carried in"):
        plan_of(load=LoadWish(carry_in_m3=gal(1100)))
    with pytest.raises(NotDefined, match="two products"):
        plan_of(products=(product("P", rate="1 pt/ac"), product("P", rate="1 pt/ac")))
    with pytest.raises(NotDefined, match="more than 2000 loads"):
        plan_of(area_m2=si("900000 ac", Kind.AREA))
    with pytest.raises(OutOfRange, match="liquid products"):
        plan_of(products=(product("P", rate="20 gal/ac"),))
    with pytest.raises(NotDefined, match="step of the tank's gauge: it is no whole number"):
        load_plan(PASS, MACHINE, replace(STEPS, jug_m3=si("3 fl oz", Kind.VOLUME)))


def test_a_band_counts_treated_acres_throughout():
    # 10 in on 30 in rows: a third of 130 ac; 1000 gal at 20 gal/ac treat 50 ac, which is 150 ac of field.
    band = Band(si("10 in", Kind.SPACING), si("30 in", Kind.SPACING))
    plan = plan_of(products=(product("P", rate="32 fl oz/ac"),), load=LoadWish(band=band))
    assert plan.treated_m2 == pytest.approx(PASS.area_m2 / 3)
    assert sum(fills(plan)) == 867
    assert plan.parts[1].total_steps == pytest.approx(32 * 130 / 3, abs=1)
    assert sum(load.field_m2 for load in plan.loads) == pytest.approx(PASS.area_m2)


def test_a_dose_per_spray_and_one_per_carrier_differ_by_what_the_liquids_take():
    def of(base, **amount):
        return Dose(base=base, **amount)

    liquid = product("P", rate="1 gal/ac")  # 5 % of the spray
    salt = si("10 lb/100 gal", Kind.DRY_IN_SPRAY)
    spray = recipe_of_pass(replace(PASS, products=(liquid, product("S", dose=of(DoseBase.SPRAY, mass_kgpm3=salt)))))
    carrier = recipe_of_pass(replace(PASS, products=(liquid, product("S", dose=of(DoseBase.CARRIER, mass_kgpm3=salt)))))
    assert spray.components[1].mass_kgpm3 == pytest.approx(salt)
    assert carrier.components[1].mass_kgpm3 == pytest.approx(0.95 * salt)
    oil = recipe_of_pass(replace(PASS, products=(liquid, product("O", dose=of(DoseBase.CARRIER, volume_frac=0.01)))))
    assert oil.components[1].volume_frac == pytest.approx(0.01 * oil.carrier_frac)
    assert oil.carrier_frac + 0.05 + 0.01 * oil.carrier_frac == pytest.approx(1.0)


def test_a_mix_weighs_what_is_in_it():
    heavy = replace(product("P", rate="1 gal/ac"), mixing=Mixing(density_kgpm3=1200.0))
    recipe = recipe_of_pass(
        replace(PASS, carrier=carrier_of_density("c", 1000.0), products=(heavy, product("G", dry="2 lb/ac")))
    )
    per_volume = si("2 lb/ac", Kind.DRY_RATE) / TWENTY
    assert recipe.density_kgpm3 == pytest.approx(0.95 * 1000.0 + 0.05 * 1200.0 + per_volume)


def test_a_rate_in_water_equivalent_is_put_back_into_solution():
    uan = carrier_of_density("heavy", 1.44 * water().density_kgpm3)
    recipe = recipe_of_pass(replace(PASS, carrier=uan, rate_meaning=RateMeaning.WATER_EQUIVALENT))
    assert recipe.rate_m3pm2 == pytest.approx(TWENTY / 1.2)


def test_where_the_tank_runs_out():
    # 120 ft by 2600 ft is 7.163 ac: 50 ac are 6.98 swaths.
    plan = plan_of(load=LoadWish(field_length_m=si("2600 ft", Kind.WIDTH)))
    point = plan.loads[0].refill
    assert (point.swaths, point.home_swaths) == (6, 6)
    assert point.into_m == pytest.approx(si(f"{50 * 43560 / 120 - 6 * 2600} ft", Kind.WIDTH))
    assert refill_point(1, 5.0, width_m=10.0, length_m=None).swaths is None


def test_the_labels_word_is_above_the_published_order_and_the_conflict_is_shown():
    oil = product("Oil", dose=Dose(base=DoseBase.SPRAY, volume_frac=0.01), form=Form.COC, before=("Grains",))
    grains = product("Grains", dry="1 lb/ac", form=Form.WG)
    order = mix_order((grains, oil))
    assert order.names == ("Oil", "Grains")
    (conflict,) = order.conflicts
    assert (conflict.one.by, conflict.other.by) == ("label of Oil", "A-W-A-M-L-E-S")
    assert not conflict.among_labels
    assert order.by_label == {"Oil"}


def test_a_label_may_name_a_formulation():
    last = product("Mine", rate="1 pt/ac", form=Form.SC, after=(Form.EC,))
    assert mix_order((last, product("Theirs", rate="1 pt/ac", form=Form.EC))).names == ("Theirs", "Mine")


def test_labels_that_contradict_are_told_and_stop_the_work():
    one = product("One", rate="1 pt/ac", form=Form.SL, place=LabelPlace.LAST)
    other = product("Other", rate="1 pt/ac", form=Form.EC, place=LabelPlace.LAST)
    order = mix_order((one, other))
    assert not order.labels_agree
    assert order.conflicts[0].among_labels


def test_acronyms_that_disagree_on_this_tank_are_shown_and_only_then():
    solution, emulsion = product("S", rate="1 pt/ac", form=Form.SL), product("E", rate="1 pt/ac", form=Form.EC)
    order = mix_order((emulsion, solution))
    assert order.names == ("S", "E")
    assert [(c.one.by, c.other.by) for c in order.conflicts] == [("A-W-A-M-L-E-S", "A.P.P.L.E.S.")]
    assert mix_order((emulsion, solution), OrderName.APPLES).names == ("E", "S")
    assert not mix_order((emulsion, product("G", dry="1 lb/ac", form=Form.WG))).conflicts
    capsules = mix_order((emulsion, product("M", rate="1 pt/ac", form=Form.CS)))
    assert [c.other.by for c in capsules.conflicts] == ["one third first"]


def test_what_an_order_does_not_name_goes_in_last_and_is_told():
    order = mix_order((product("X", rate="1 pt/ac"), product("E", rate="1 pt/ac", form=Form.EC)))
    assert order.names == ("E", "X")
    assert order.not_placed == ("X",)


HARD = WaterTest(calcium_kgpm3=si("400 ppm", Kind.ION), magnesium_kgpm3=si("150 ppm", Kind.ION))  # 3.6 + 2.1 lb/100 gal


@pytest.mark.parametrize(
    ("dose", "high", "advice"),
    [
        ("8.5 lb/100 gal", "17 lb/100 gal", ConditionerAdvice.COVERED),
        ("5 lb/100 gal", "17 lb/100 gal", ConditionerAdvice.BELOW_TEST),
        ("5 lb/100 gal", "5 lb/100 gal", ConditionerAdvice.LABEL_CAPS),
        (None, None, ConditionerAdvice.NONE_IN_TANK),
    ],
)
def test_the_water_test_against_the_tank_and_the_label_above_both(dose, high, advice):
    amounts = {"mass_kgpm3": si(dose, Kind.DRY_IN_SPRAY), "high_kgpm3": si(high, Kind.DRY_IN_SPRAY)} if dose else {}
    products = (product("A", form=Form.AMS, dose=Dose(base=DoseBase.CARRIER, **amounts)),) if dose else ()
    found = plan_of(water_test=HARD, products=products).conditioner
    assert found.needed_kgpm3 == pytest.approx(si("5.7 lb/100 gal", Kind.DRY_IN_SPRAY))
    assert found.advice is advice
    assert found.planned_kgpm3 == (pytest.approx(si(dose, Kind.DRY_IN_SPRAY)) if dose else None)


def test_soft_water_asks_for_nothing_and_fertiliser_is_no_water():
    assert plan_of(water_test=WaterTest()).conditioner.advice is ConditionerAdvice.COVERED
    uan = fertiliser("UAN 28", si("60 °F", Kind.TEMPERATURE))
    assert plan_of(water_test=HARD, carrier=uan).conditioner is None


def test_agitation_and_pump_against_what_they_have_to_do():
    pump = PumpSupply(capacity_m3s=si("60 gal/min", Kind.BOOM_FLOW), agitation_m3s=si("25 gal/min", Kind.BOOM_FLOW))
    speeds = StatedSpeeds(*(si(f"{mph} mph", Kind.SPEED) for mph in (8, 10, 10)))
    found = plan_of(replace(MACHINE, pump=pump), speeds=speeds).agitation
    assert found.turnover_s == pytest.approx(40 * 60)  # 1000 gal at 25 gal/min
    assert (found.low_m3s, found.high_m3s) == pytest.approx(
        (si("20 gal/min", Kind.BOOM_FLOW), si("30 gal/min", Kind.BOOM_FLOW))  # 2 and 3 % of 1000 gal
    )
    # 20 gal/ac x 10 mph x 120 ft is 48.5 gal/min; with agitation and a fifth: 88 gal/min
    assert found.needed_m3s == pytest.approx(si("88.18 gal/min", Kind.BOOM_FLOW), rel=1e-3)
    assert plan_of().agitation is None


@pytest.mark.parametrize("base", DoseBase)
def test_a_dose_at_its_labels_maximum_is_rounded_down_in_every_load(base):
    top = si("8.53 lb/100 gal", Kind.DRY_IN_SPRAY)
    salt = product("S", form=Form.AMS, dose=Dose(base=base, mass_kgpm3=top, high_kgpm3=top))
    plan = plan_of(products=(product("P", rate="1 gal/ac"), salt))
    part = next(each for each in plan.parts if each.name == "S")
    share = 0.95 if base is DoseBase.CARRIER else 1.0
    for count, load in zip(part.steps, plan.loads, strict=True):
        most = top * share * load.fill_m3 / STEPS.scale_kg
        assert most - 1 < count <= most + 1e-6
