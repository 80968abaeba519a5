"""Evenness of stacked patterns, width of a fan, boom height for an overlap."""

from wetrun.spray.fan import fan_width_m, height_for_width_m, width_for_overlap_m
from wetrun.spray.fan_patterns import Bell, Trapezoid
from wetrun.spray.overlap import endless_boom_cv_frac

TABLES = ["checks_overlap", "trade_boom_height"]
SPACING_M = 0.508


def triangle(i):
    return endless_boom_cv_frac(Trapezoid(i["base_over_spacing"] * SPACING_M), SPACING_M)


def trapezoid(i):
    base = i["base_over_spacing"] * SPACING_M
    return endless_boom_cv_frac(Trapezoid(base, i["top_over_base"] * base), SPACING_M)


def overlapping_width(i):
    return width_for_overlap_m(i["spacing"], i["overlap"])


ANSWERS = {
    ("triangle-even", "cv"): triangle,
    ("triangle", "cv"): triangle,
    ("trapezoid", "cv"): trapezoid,
    ("bell", "cv"): lambda i: endless_boom_cv_frac(Bell(i["sigma_over_spacing"] * SPACING_M), SPACING_M),
    ("fan-width", "width"): lambda i: fan_width_m(i["angle"], i["height"]),
    ("full-overlap", "width"): overlapping_width,
    ("full-overlap", "height"): lambda i: height_for_width_m(i["angle"], overlapping_width(i)),
}


def test_overlap_and_boom_height(check, answer):
    check.compare(answer(check.inputs))


def test_published_working_heights_are_above_the_geometry_so_the_geometry_is_a_least():
    # sprayers101-spacing: real fans are narrower at low pressure; a narrower fan needs more height for its width.
    for degrees in (65, 73, 80, 110):
        stamped, narrower = degrees * 3.141592653589793 / 180.0, 0.95 * degrees * 3.141592653589793 / 180.0
        assert height_for_width_m(narrower, 1.0) > height_for_width_m(stamped, 1.0)
