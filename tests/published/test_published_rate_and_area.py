"""Nozzle flow and rate, known areas, and pressure, as extension services and trainers print them."""

from wetrun.spray.area import (
    course_length_m,
    covered_area_m2,
    rate_from_boom,
    rate_from_catch_m3pm2,
    speed_over_course_mps,
)
from wetrun.spray.load import area_of_load_m2, product_in_spray_ratio
from wetrun.spray.orifice import demand_per_tip_m3s, law_of_us_size

TABLES = ["trade_nozzle_flow", "trade_known_area", "trade_pressure"]
TIP = law_of_us_size("03")


def pressure_for(flow_ratio, pressure_pa=1e5):
    return TIP.pressure_pa(TIP.flow_m3s(pressure_pa) * flow_ratio)


def boom(i):
    return rate_from_boom(i["boom_flow"], i["travel"], i["swath"])


def rate_share_at_speed(speed_ratio):
    return rate_from_boom(1e-3, 4.0 * speed_ratio, 30.0) / rate_from_boom(1e-3, 4.0, 30.0)


def cost_over(i):
    """Over-application as a share, from the speed that causes it, times what an acre costs."""
    return (rate_share_at_speed(1.0 / (1.0 + i["over"])) - 1.0) * i["cost"]


def plot(name):
    return lambda i: covered_area_m2(i[f"{name}_long"], i[f"{name}_wide"])


def timed(i):
    return speed_over_course_mps(i["course"], i["time"])


def ounces_over(width):
    """Rate of a catch over the 1/128-acre course of a width."""

    def rate(i):
        return rate_from_catch_m3pm2(i["caught"], course_length_m(i["area"], i[width]), i[width])

    return rate


ANSWERS = {
    ("boom-flow-metric", "application_rate"): boom,
    ("boom-flow-metric", "ground_speed"): lambda i: i["boom_flow"] / (boom(i) * i["swath"]),
    ("boom-flow-metric", "rate_by_600_form"): boom,
    ("band-table-300-ft", "treated_area_rate"): lambda i: rate_from_catch_m3pm2(
        i["caught"], i["course"], i["band_width"]
    ),
    ("refill-660-ft", "application_rate"): lambda i: rate_from_catch_m3pm2(i["used"], i["course"], i["swath"]),
    ("refill-660-ft", "constant_66"): lambda i: course_length_m(i["acre"], i["course"]),
    ("rate-constants", "constant_5940"): lambda i: (
        i["rate"] * i["speed"] * i["spacing"] / demand_per_tip_m3s(i["rate"], i["speed"], i["spacing"])
    ),
    ("rate-constants", "constant_0.682"): lambda i: speed_over_course_mps(i["foot"], i["second"]) / i["foot"],
    ("slowing-a-tenth", "rate_change"): lambda i: rate_share_at_speed(1.0 + i["speed_change"]) - 1.0,
    ("50-m-course", "factor"): lambda i: (
        rate_from_catch_m3pm2(i["caught"], i["course"], i["spacing"]) / (i["caught"] / i["spacing"])
    ),
    ("50-m-course", "Lha_to_L_per_acre"): lambda i: i["one"],
    ("50-m-course", "Lha_to_imperial_gpa"): lambda i: i["one"],
    ("50-m-course", "Lha_to_us_gpa"): lambda i: i["one"],
    ("cost-of-a-tenth-over", "loss_per_acre"): cost_over,
    ("cost-of-a-tenth-over", "loss_total"): lambda i: cost_over(i) * i["area"],
    ("course-by-width-lsu", "course_length"): lambda i: course_length_m(i["area"], i["spacing"]),
    ("course-by-width-turf", "course_length"): lambda i: course_length_m(i["area"], i["spacing"]),
    ("40-in-rows-two-tips", "course_length"): lambda i: course_length_m(i["area"], i["row_width"]),
    ("40-in-rows-two-tips", "application_rate"): lambda i: rate_from_catch_m3pm2(
        i["caught_both"], i["course"], i["row_width"]
    ),
    ("40-in-rows-two-tips", "ground_speed"): timed,
    ("32-in-rows-three-tips", "course_length"): lambda i: course_length_m(i["area"], i["row_width"]),
    ("32-in-rows-three-tips", "ground_speed"): timed,
    ("19-in-band", "course_length_unrounded"): lambda i: course_length_m(i["area"], i["band_width"]),
    ("19-in-band", "course_length"): lambda i: course_length_m(i["area"], i["band_width"]),
    ("19-in-band", "rate_treated_area"): ounces_over("band_width"),
    ("19-in-band", "treated_acres_per_tank"): lambda i: area_of_load_m2(i["tank"], i["rate"]),
    ("19-in-band", "ground_speed"): timed,
    ("plot-by-boom", "plot_length"): lambda i: course_length_m(i["area"], i["boom"]),
    ("plots-of-340-ft2", "plot_a_area"): plot("plot_a"),
    ("plots-of-340-ft2", "plot_b_area"): plot("plot_b"),
    ("plots-of-340-ft2", "plot_c_area"): plot("plot_c"),
    ("plots-of-340-ft2", "application_rate"): ounces_over("plot_b_wide"),
    ("plots-of-340-ft2", "product_per_gallon"): lambda i: product_in_spray_ratio(
        i["product_rate"], ounces_over("plot_b_wide")(i)
    ),
    # 128 ounces to the gallon, and the source's own 30 cc to the ounce (29.57 in truth).
    ("plots-of-340-ft2", "product_per_gallon_cc"): lambda i: (
        product_in_spray_ratio(i["product_rate"], ounces_over("plot_b_wide")(i)) * 128.0 * 30.0
    ),
    ("quarter-more-speed", "speed_increase"): lambda i: i["speed_new"] / i["speed_old"] - 1.0,
    ("quarter-more-speed", "pressure_increase"): lambda i: pressure_for(i["speed_new"] / i["speed_old"]) / 1e5 - 1.0,
    ("quarter-more-speed", "pressure_new"): lambda i: pressure_for(i["speed_new"] / i["speed_old"], i["pressure_old"]),
    ("doubling", "pressure_ratio_for_double_flow"): lambda i: pressure_for(i["flow_ratio"]) / 1e5,
    ("doubling", "pressure_ratio_for_double_speed"): lambda i: pressure_for(i["speed_ratio"]) / 1e5,
    ("doubling", "flow_ratio_for_double_pressure"): lambda _: TIP.flow_m3s(2e5) / TIP.flow_m3s(1e5),
    ("size-03-both-units", "flow_at_3_bar"): lambda i: law_of_us_size(i["size"]).flow_m3s(i["pressure"]),
    ("twice-the-flow", "pressure_ratio"): lambda i: pressure_for(i["flow_ratio"]) / 1e5,
}


def test_rate_area_and_pressure(check, answer):
    check.compare(answer(check.inputs))
