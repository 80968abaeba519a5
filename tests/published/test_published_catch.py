"""Catch tests: the outlier test's published example, wear, doubt of a catch, water for a catch."""

from math import sqrt

import numpy as np

from wetrun.proving.catch_flow import caught_tips, shared_doubt
from wetrun.proving.catch_odd import critical_deviates, odd_tips
from wetrun.proving.catch_plan import CatchJob, catch_plan
from wetrun.proving.catch_rules import rule_of
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.proving.uncertainty import Budget
from wetrun.spray.flow_law import worn
from wetrun.spray.orifice import law_of_us_size
from wetrun.spray.square_root import OrificeLaw
from wetrun.spray.wear import time_at_wear_s

TABLES = ["catch_odd", "trade_catch"]

# As printed by the handbook, in its order.
ROSNER = np.array(
    [
        "-0.25",
        "0.68",
        "0.94",
        "1.15",
        "1.20",
        "1.26",
        "1.26",
        "1.34",
        "1.38",
        "1.43",
        "1.49",
        "1.49",
        "1.55",
        "1.56",
        "1.58",
        "1.65",
        "1.69",
        "1.70",
        "1.76",
        "1.77",
        "1.81",
        "1.91",
        "1.94",
        "1.96",
        "1.99",
        "2.06",
        "2.09",
        "2.10",
        "2.14",
        "2.15",
        "2.23",
        "2.24",
        "2.26",
        "2.35",
        "2.37",
        "2.40",
        "2.47",
        "2.54",
        "2.62",
        "2.64",
        "2.90",
        "2.92",
        "2.92",
        "2.93",
        "3.21",
        "3.26",
        "3.30",
        "3.59",
        "3.68",
        "4.30",
        "4.64",
        "5.34",
        "5.42",
        "6.01",
    ],
    dtype=np.float64,
)


def rosner_deviate(step):
    """The handbook's own recipe, to see that the values are copied right."""
    left = ROSNER
    for _ in range(step - 1):
        left = np.delete(left, np.argmax(np.abs(left - left.mean())))
    return float(np.max(np.abs(left - left.mean())) / left.std(ddof=1))


def one_catch(i):
    by_weight = "mass" in i
    tools = CatchInstruments(
        jug_m3=0.0 if by_weight else i["half"],
        scale_kg=i["half"] if by_weight else 0.0,
        watch_s=i["press"],
        density_kgpm3=i.get("density_half", 0.0),
    )
    reading = TipReading(tip=1, mass_kg=i.get("mass"), volume_m3=i.get("volume"))
    law = law_of_us_size("03")
    run = CatchRun(
        readings=(reading,), section_tips=(1,), law=law, pressure_pa=3e5, time_s=i["time"], instruments=tools
    )
    return caught_tips(run)[0], shared_doubt(run)


def expanded_with_2(i):
    caught, shared = one_catch(i)
    return 2.0 * caught.own.joined(shared).combined


def window(i, side):
    return i["stated"] * getattr(rule_of("stated-5"), side)


def water(i):
    flow = law_of_us_size(i["size"]).flow_m3s(i["pressure"])
    return catch_plan(CatchJob(section_tips=(i["tips"],), tip_flow_m3s=flow, catch_s=i["time"])).water_m3


def gauge_share(i):
    run = CatchRun(
        readings=(),
        section_tips=(1,),
        law=OrificeLaw(1e-8, "test"),
        pressure_pa=i["pressure"],
        instruments=CatchInstruments(gauge_pa=i["half"], density_kgpm3=0.0),
    )
    return sqrt(3.0) * Budget(shared_doubt(run).components).combined  # back from standard to half width


def scaled_flow(flow, by):
    return worn(OrificeLaw(flow / 3e5**0.5, "as printed"), by).flow_m3s(3e5)


ANSWERS = {
    ("rosner-54", "deviate"): lambda i: rosner_deviate(i["step"]),
    ("rosner-54", "limit"): lambda i: float(critical_deviates(54, 10, alarm_frac=0.05)[i["step"] - 1]),
    ("rosner-54", "odd_values"): lambda _: float(odd_tips(ROSNER[None, :], alarm_frac=0.05).odd.sum()),
    ("wear-limit-of-1.31", "new_flow"): lambda i: scaled_flow(i["worn"], 1.0 / (1.0 + i["wear"])),
    ("wear-at-the-end", "over_limit"): lambda i: i["wear"] / ((rule_of("new-10").high_ratio or 0.0) - 1.0),
    ("worn-03", "worn_flow"): lambda i: scaled_flow(i["new"], 1.0 + i["wear"]),
    ("stated-1.2", "lower_limit"): lambda i: window(i, "low_ratio"),
    ("stated-1.2", "upper_limit"): lambda i: window(i, "high_ratio"),
    ("sqrt-law", "time_share"): lambda i: time_at_wear_s(1.0, i["wear"], i["limit"]),
    ("catch-weighed", "expanded"): expanded_with_2,
    ("catch-jug", "expanded"): expanded_with_2,
    ("catch-jug-30", "expanded"): expanded_with_2,
    ("water-72-of-05", "water"): water,
    ("gauge-2-in-40", "flow_share"): gauge_share,
}


def test_catch_and_wear(check, answer):
    check.compare(answer(check.inputs))


def test_the_three_odd_values_of_rosner_are_the_three_greatest():
    assert sorted(ROSNER[odd_tips(ROSNER[None, :], alarm_frac=0.05).odd[0]]) == [5.34, 5.42, 6.01]
