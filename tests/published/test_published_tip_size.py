"""Tip sizes and the rate identity."""

from wetrun.spray.orifice import demand_per_tip_m3s, law_of_iso_size, law_of_us_size

TABLES = ["checks_tip_size"]
FORTY_PSI = 40 * 0.45359237 * 9.80665 / 0.0254**2
THREE_BAR = 3e5


def per_tip(i):
    return demand_per_tip_m3s(i["rate"], i["speed"], i["spacing"])


ANSWERS = {
    ("size-01-at-3-bar", "flow"): lambda i: law_of_us_size(i["size"]).flow_m3s(i["pressure"]),
    ("iso-over-us", "ratio"): lambda i: (
        law_of_iso_size(i["size"]).flow_m3s(1.0) / law_of_us_size(i["size"]).flow_m3s(1.0)
    ),
    ("size-flows", "iso_at_3_bar"): lambda i: law_of_iso_size(i["size"]).flow_m3s(THREE_BAR),
    ("size-flows", "us_at_40_psi"): lambda i: law_of_us_size(i["size"]).flow_m3s(FORTY_PSI),
    ("size-flows", "us_at_3_bar"): lambda i: law_of_us_size(i["size"]).flow_m3s(THREE_BAR),
    ("per-tip-us", "flow"): per_tip,
    ("per-tip-metric", "flow"): per_tip,
    ("constant-5940", "constant"): lambda i: i["rate"] * i["speed"] * i["spacing"] / per_tip(i),
}


def test_size_and_rate(check, answer):
    check.compare(answer(check.inputs))
