"""Tank loads, mixing orders, the jar test, ammonium sulfate by water test and pumps, as the trade prints them."""

import math
from dataclasses import replace
from datetime import date

import pytest

from wetrun.planning.formulation import Form, form_named
from wetrun.planning.jar_test import jar_test
from wetrun.planning.load_wish import USUAL_FIRST_FILL_FRAC
from wetrun.planning.mix_order import mix_order
from wetrun.planning.mixing import Mixing
from wetrun.planning.passes import Pass, Product
from wetrun.planning.published_order import PUBLISHED_ORDERS, OrderName
from wetrun.planning.recipe import recipe_of_pass
from wetrun.planning.water_conditioner import ammonium_sulfate_kgpm3
from wetrun.planning.water_test import WaterTest
from wetrun.quantity import Kind, read
from wetrun.sources import source
from wetrun.spray.agitation import agitation_flow_m3s, pump_flow_needed_m3s, turnover_s
from wetrun.spray.area import covered_area_m2
from wetrun.spray.carrier import fertiliser, rate_for_nutrient_m3pm2, water
from wetrun.spray.load import area_of_load_m2, product_in_spray_ratio
from wetrun.spray.supply import PumpSupply

TABLES = ["trade_loads"]
PLAIN = Pass(
    ident="Only",
    crop="wheat",
    area_m2=1e6,
    first_day=date(2027, 5, 1),
    last_day=date(2027, 5, 1),
    carrier=water(),
    rate_m3pm2=1e-5,
    rate_low_m3pm2=1e-5,
    rate_high_m3pm2=1e-5,
)


def product_rate(i):
    """A strength in weight of active per volume is a liquid that is nothing else."""
    return rate_for_nutrient_m3pm2(i["active"], i["strength"], 1.0)


def per_tank(i):
    return product_rate(i) * area_of_load_m2(i["tank"], i["rate"])


def rectangle(i):
    return covered_area_m2(i["long"], i["wide"])


def triangle(i):
    return rectangle(i) / 2.0


def circle(i):
    return math.pi * (i["across"] / 2.0) ** 2


def used(i):
    return i["used"] / i["area"]


def jar(i):
    products = (Product(name="P", rate_m3pm2=i["product"]),) if "product" in i else ()
    recipe = recipe_of_pass(replace(PLAIN, rate_m3pm2=i["rate"], products=products))
    names = tuple(each.name for each in products)
    return jar_test(recipe, names, jar_m3=i["rate"] * i["area"], first_fill_frac=i.get("first_fill", 0.6))


def boom(i):
    return i["boom"] / i["spacing"] * i["tip"]


def agitation(i):
    return agitation_flow_m3s(i["tank"], i["share"])


def itself(i):
    return i["one"]


ANSWERS = {
    ("get-the-recipe-right", "product_rate"): product_rate,
    ("get-the-recipe-right", "product_rate_pints"): product_rate,
    ("get-the-recipe-right", "acres_per_tank"): lambda i: area_of_load_m2(i["tank"], i["rate"]),
    ("get-the-recipe-right", "product_per_tank_pints"): per_tank,
    ("get-the-recipe-right", "product_per_tank_gal"): per_tank,
    ("field-rectangle", "area_ft2"): rectangle,
    ("field-rectangle", "area_ac"): rectangle,
    ("field-triangle", "area_ft2"): triangle,
    ("field-triangle", "area_ac"): triangle,
    ("field-circle", "area_ft2"): circle,
    ("field-circle", "area_ac"): circle,
    ("thousand-square-feet", "application_rate"): used,
    ("thousand-square-feet", "product_per_gallon"): lambda i: product_in_spray_ratio(i["product_rate"], used(i)),
    ("jar-test-by-100", "jar_total"): lambda i: jar(i).first_m3 + jar(i).rest_m3 + jar(i).parts[0].volume_m3,
    ("jar-test-by-100", "jar_initial_fill"): lambda i: jar(i).first_m3,
    ("jar-test-by-100", "jar_product"): lambda i: jar(i).parts[0].volume_m3,
    ("kitchen-measures", "tbsp_per_floz"): itself,
    ("kitchen-measures", "tsp_per_floz"): itself,
    ("kitchen-measures", "ml_per_floz"): itself,
    ("kitchen-measures", "ml_per_pint"): itself,
    ("kitchen-measures", "l_per_quart"): itself,
    ("kitchen-measures", "g_per_lb"): itself,
    ("pump-of-250", "tips"): lambda i: i["boom"] / i["spacing"],
    ("pump-of-250", "boom_flow"): boom,
    ("pump-of-250", "agitation"): agitation,
    ("pump-of-250", "left_for_tank"): lambda i: PumpSupply(capacity_m3s=i["pump"]).left_for_boom_m3s - boom(i),
    ("pump-of-250", "turnover"): lambda i: turnover_s(i["tank"], agitation(i)),
    ("pump-of-250", "loss"): lambda i: (
        1.0 - PumpSupply(capacity_m3s=1.0, wear_reserve_frac=i["per_year"] * i["years"]).left_for_boom_m3s
    ),
    ("pump-of-250", "needed"): lambda i: pump_flow_needed_m3s(boom(i), agitation(i), reserve_ratio=0.0),
    ("pump-a-fifth-larger", "pump"): lambda i: pump_flow_needed_m3s(i["need"], 0.0),
    ("uan-by-weight", "weight"): lambda i: (
        i["tank"] * fertiliser("UAN 28", read("60 °F", Kind.TEMPERATURE).si_value).density_kgpm3
    ),
    ("uan-by-weight", "weight_of_water"): lambda i: i["tank"] * water().density_kgpm3,
}


def test_loads_jar_and_pump(check, answer):
    check.compare(answer(check.inputs))


# Orders as printed, letter by letter: what each place names, in the publication's own letters.
PRINTED = {
    OrderName.AWAMLES: [["AMS"], ["WP", "DF"], ["ME", "SC", "AS"], ["SL"], ["EC"], ["NIS", "COC", "MSO"]],
    OrderName.APPLES: [
        ["SG", "SP"],
        ["DF", "WDF", "WP"],
        ["ASC", "F", "ME", "SC", "SE"],
        ["EC", "EW", "OD"],
        ["S", "SL"],
    ],
    OrderName.THIRD_FIRST: [["AMS"], ["WP", "DF", "WDG"], ["flowable"], ["EC"], ["ME"], ["surfactant"]],
}


@pytest.mark.parametrize("name", PRINTED)
def test_a_published_order_is_as_it_is_printed(name):
    order = PUBLISHED_ORDERS[name]
    assert source(order.source_key).status in {"read", "second-hand"}
    ranks = [{order.rank(form_named(word)) for word in place} for place in PRINTED[name]]
    assert all(len(place) == 1 and None not in place for place in ranks), "letters of one place stand in one place"
    flat = [rank for place in ranks for rank in place if rank is not None]
    assert flat == sorted(set(flat))


def test_carrier_to_a_half_or_three_quarters_comes_first_with_compatibility_agent_and_defoamer():
    # osu-mixing-order: its W, before the ammonium sulfate.
    order = PUBLISHED_ORDERS[OrderName.AWAMLES]
    first = {order.rank(form_named(word)) for word in ("compatibility agent", "defoamer")}
    rest = [order.rank(form_named(word)) for place in PRINTED[OrderName.AWAMLES] for word in place]
    assert len(first) == 1
    assert None not in first
    assert max(rank for rank in first if rank is not None) < min(rank for rank in rest if rank is not None)
    assert 0.5 <= USUAL_FIRST_FILL_FRAC <= 0.75


@pytest.mark.parametrize("name", PRINTED)
def test_products_typed_backwards_come_out_in_the_printed_order(name):
    words = [place[0] for place in PRINTED[name]]
    products = tuple(Product(name=word, mixing=Mixing(form=form_named(word))) for word in reversed(words))
    assert mix_order(products, name).names == tuple(words)


def test_ammonium_sulfate_premixed_with_a_surfactant_goes_in_last():
    # osu-mixing-order: ammonium sulfate alone is early, the premix normally last.
    words = ["AMS blend", "NIS", "EC", "AMS"]
    products = tuple(Product(name=word, mixing=Mixing(form=form_named(word))) for word in words)
    assert mix_order(products).names == ("AMS", "EC", "NIS", "AMS blend")


def test_the_two_acronyms_put_solutions_and_emulsions_the_other_way_round():
    products = tuple(Product(name=form.value, mixing=Mixing(form=form)) for form in (Form.EC, Form.SL))
    assert mix_order(products, OrderName.AWAMLES).names == ("SL", "EC")
    assert mix_order(products, OrderName.APPLES).names == ("EC", "SL")


@pytest.mark.parametrize(
    ("ion", "printed"),
    [("potassium", 0.002), ("sodium", 0.005), ("calcium", 0.009), ("magnesium", 0.014), ("iron", 0.042)],
)
def test_each_ion_counts_as_printed(ion, printed):
    # ndsu-ams-2015: lb per 100 gal for one ppm.
    hundred_ppm = WaterTest(**{f"{ion}_kgpm3": read("100 ppm", Kind.ION).si_value})
    asked = read(f"{100 * printed:.4f} lb/100 gal", Kind.DRY_IN_SPRAY).si_value
    assert ammonium_sulfate_kgpm3(hundred_ppm) == pytest.approx(asked, rel=1e-9)
