"""Liquids other than water, wear, and flow lost with pressure."""

import math

from wetrun.spray.carrier import REFERENCE_WATER_KGPM3, fertiliser, rate_for_nutrient_m3pm2, specific_gravity
from wetrun.spray.definitions import fahrenheit_k
from wetrun.spray.fertiliser import grade_of
from wetrun.spray.orifice import law_of_iso_size, law_of_us_size, water_equivalent
from wetrun.spray.wear import time_at_wear_s

TABLES = ["checks_density_and_wear", "trade_density"]
GRADES = {"28-0-0": "UAN 28", "30-0-0": "UAN 30", "32-0-0": "UAN 32", "10-34-0": "10-34-0"}


def factor(density_kgpm3):
    return water_equivalent(1.0, density_kgpm3)


def salts_out(i):
    degrees = grade_of(GRADES[i["material"]]).salts_out_f
    assert degrees is not None
    return fahrenheit_k(degrees)


def typical(i):
    return fertiliser(GRADES[i["material"]], fahrenheit_k(60.0)).density_kgpm3


def uan_28(degrees):
    return fertiliser("UAN 28", fahrenheit_k(degrees)).density_kgpm3


def nutrient_per_volume(i):
    return 1.0 / rate_for_nutrient_m3pm2(1.0, i.get("density", i.get("density_60F")), i["n_fraction"])


def flow_kept(pressure_frac):
    law = law_of_iso_size("03")
    return law.flow_m3s(3e5 * pressure_frac) / law.flow_m3s(3e5)


ANSWERS = {
    ("factor-by-gravity", "conversion_factor"): lambda i: factor(i["specific_gravity"] * REFERENCE_WATER_KGPM3),
    ("20-gal-of-28-by-weight", "water_rate"): lambda i: water_equivalent(i["rate"], i["density"]),
    ("gallons-for-75-lb-n", "rate"): lambda i: rate_for_nutrient_m3pm2(i["nutrient"], i["density"], i["share"]),
    ("coefficient-of-03", "us"): lambda i: law_of_us_size(i["size"]).coef_m3spa05,
    ("coefficient-of-03", "iso"): lambda i: law_of_iso_size(i["size"]).coef_m3spa05,
    ("flow-lost-with-pressure", "flow_lost"): lambda i: 1.0 - flow_kept(1.0 - i["pressure_lost"]),
    ("wear-by-the-root-of-hours", "time_ratio"): lambda i: time_at_wear_s(1.0, i["wear"], i["limit"]),
    ("factor-by-weight", "specific_gravity"): lambda i: specific_gravity(i["density"]),
    ("factor-by-weight", "conversion_factor"): lambda i: factor(i["density"]),
    ("20-gal-of-28", "specific_gravity"): lambda i: specific_gravity(i["density"]),
    ("20-gal-of-28", "conversion_factor"): lambda i: factor(i["density"]),
    ("20-gal-of-28", "water_rate_to_select_or_catch"): lambda i: water_equivalent(
        i["target_solution_rate"], i["density"]
    ),
    ("gallons-for-75-lb-n", "n_per_gallon"): nutrient_per_volume,
    ("gallons-for-75-lb-n", "solution_needed"): lambda i: rate_for_nutrient_m3pm2(
        i["n_wanted"], i["density"], i["n_fraction"]
    ),
    ("weights-by-temperature", "conversion_factor"): lambda i: factor(i["density"]),
    ("weights-by-temperature", "uan28_density_80F"): lambda _: uan_28(80.0),
    ("weights-by-temperature", "uan28_density_40F"): lambda _: uan_28(40.0),
    ("weights-by-temperature", "apparent_shrink_80F_to_40F"): lambda _: 1.0 - uan_28(80.0) / uan_28(40.0),
    ("heavy-solutions", "specific_gravity"): lambda i: specific_gravity(i["density"]),
    ("heavy-solutions", "conversion_factor"): lambda i: factor(i["density"]),
    ("nitrogen-of-32", "n_per_gallon"): nutrient_per_volume,
    ("nitrogen-of-32", "specific_gravity"): lambda i: specific_gravity(i["density_60F"]),
    ("typical-weights", "density"): typical,
    ("typical-weights", "salt_out"): salts_out,
    ("typical-weights", "conversion_factor"): lambda i: factor(typical(i)),
}


def test_density_and_wear(check, answer):
    check.compare(answer(check.inputs))


def test_the_printed_weights_at_20_f_are_kept_as_printed():
    # fluid-fertiliser-characteristics, weights by temperature
    for grade, pounds in (("UAN 28", 10.78), ("UAN 30", 10.98), ("UAN 32", 11.17), ("10-34-0", 11.76)):
        density = fertiliser(grade, fahrenheit_k(20.0)).density_kgpm3
        assert math.isclose(density, pounds * 0.45359237 / (231 * 0.0254**3), rel_tol=1e-12)
