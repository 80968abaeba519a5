"""Properties of water and of liquid fertilisers."""

from wetrun.spray.carrier import fertiliser, water_density_kgpm3, water_surface_tension_npm, water_viscosity_pas

TABLES = ["checks_properties"]

ANSWERS = {
    ("kell", "density"): lambda i: water_density_kgpm3(i["temperature"]),
    ("kell-against-iapws-95", "density"): lambda i: water_density_kgpm3(i["temperature"]),
    ("surface-tension", "tension"): lambda i: water_surface_tension_npm(i["temperature"]),
    ("viscosity", "viscosity"): lambda i: water_viscosity_pas(i["temperature"]),
    ("uan-28", "density"): lambda i: fertiliser(i["grade"], i["temperature"]).density_kgpm3,
    ("uan-32", "density"): lambda i: fertiliser(i["grade"], i["temperature"]).density_kgpm3,
}


def test_properties(check, answer):
    check.compare(answer(check.inputs))


def test_viscosity_agrees_with_the_two_constant_formula_within_1_2_per_cent():
    # 2.414e-5 * 10^(247.8 / (T - 140)) Pa s, a formula printed in many handbooks (from memory).
    for celsius in (5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0):
        kelvin = celsius + 273.15
        simple = 2.414e-5 * 10.0 ** (247.8 / (kelvin - 140.0))
        assert abs(water_viscosity_pas(kelvin) / simple - 1.0) <= 0.012


def test_straight_line_of_28_per_cent_through_its_ends():
    # fluid-fertiliser-characteristics: the printed points lie within 0.02 lb/gal of a line from 20 to 80 °F.
    pound_per_gallon = 0.45359237 / (231 * 0.0254**3)
    for fahrenheit, printed in ((30.0, 10.76), (40.0, 10.74), (60.0, 10.67)):
        line = 10.78 + (10.60 - 10.78) * (fahrenheit - 20.0) / 60.0
        ours = fertiliser("UAN 28", (fahrenheit + 459.67) / 1.8).density_kgpm3 / pound_per_gallon
        assert abs(line - printed) <= 0.02 + 1e-9
        assert abs(ours - line) <= 0.02 + 1e-9
