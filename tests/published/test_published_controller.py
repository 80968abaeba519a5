"""Speed windows, holds and caps, turns and pulse width."""

import numpy as np
import pytest

from wetrun.sources import source
from wetrun.spray.orifice import (
    ISO_FLOW_M3S,
    ISO_PRESSURE_PA,
    demand_per_tip_m3s,
    law_of_iso_size,
    law_of_us_size,
    rate_at,
    speed_at,
)
from wetrun.spray.pulse import duty_ratio, gap_per_cycle_m, travel_per_cycle_m
from wetrun.spray.turn_across import turn_across
from wetrun.spray.turning import turn_radius_m, turn_rate_ratio, turn_speed_ratio

TABLES = ["checks_controller", "trade_turning"]


def speed_holding(i, pressure):
    return speed_at(law_of_us_size(i["size"]).flow_m3s(i[pressure]), i["rate"], i["spacing"])


def rate_at_pressure(i, pressure):
    return rate_at(law_of_us_size(i["size"]).flow_m3s(i[pressure]), i["speed"], i["spacing"])


def size_needed(i):
    """Size by the ISO series whose nominal flow at that pressure is the demand."""
    demand = demand_per_tip_m3s(i["rate"], i["speed"], i["spacing"])
    return demand / (ISO_FLOW_M3S * (i["pressure"] / ISO_PRESSURE_PA) ** 0.5)


def duty(i):
    demand = demand_per_tip_m3s(i["rate"], i["speed"], i["spacing"])
    return duty_ratio(demand, law_of_iso_size(i["size"]).flow_m3s(i["pressure"]))


def on_distance(i, share):
    return travel_per_cycle_m(i["speed"], i["frequency"]) - gap_per_cycle_m(i["speed"], i["frequency"], i[share])


def ends(i):
    """Offsets of the ends and the radius of the middle, when the inner end runs round the inner circle."""
    half = i["boom"] / 2.0
    return -half, half, i["inner_circle_diameter"] / 2.0 + half


def inner_speed(i):
    inner, _, radius = ends(i)
    return turn_speed_ratio(inner, radius)


def outer_speed(i):
    _, outer, radius = ends(i)
    return turn_speed_ratio(outer, radius)


def inner_rate(i):
    inner, _, radius = ends(i)
    return i["rate"] * turn_rate_ratio(inner, radius)


def outer_rate(i):
    _, outer, radius = ends(i)
    return i["rate"] * turn_rate_ratio(outer, radius)


def end_error(i):
    """Rate error of one tip of an uncompensated boom."""
    return float(turn_across(np.array([i["offset"]]), i["radius"]).rate_ratio[0]) - 1.0


ANSWERS = {
    ("window-of-03", "least_speed"): lambda i: speed_holding(i, "low"),
    ("window-of-03", "greatest_speed"): lambda i: speed_holding(i, "high"),
    ("window-ratio", "speed_ratio"): lambda i: speed_holding(i, "high") / speed_holding(i, "low"),
    ("held-at-20-psi", "rate"): lambda i: rate_at_pressure(i, "low"),
    ("capped-at-60-psi", "rate"): lambda i: rate_at_pressure(i, "high"),
    ("turn-at-30-m", "outer_rate_ratio"): lambda i: turn_rate_ratio(i["offset"], i["radius"]),
    ("turn-at-30-m", "inner_rate_ratio"): lambda i: turn_rate_ratio(i["offset"], i["radius"]),
    ("radius-of-published-errors", "radius"): lambda i: turn_radius_m(i["offset"], 1.0 + i["error"]),
    ("published-turn-errors", "outer_error"): end_error,
    ("published-turn-errors", "inner_error"): end_error,
    ("duty-of-05", "duty"): duty,
    ("pulse-10-hz-18-km-h", "travel"): lambda i: travel_per_cycle_m(i["speed"], i["frequency"]),
    ("pulse-10-hz-18-km-h", "travel_on"): lambda i: on_distance(i, "duty"),
    ("grdc-80-l-ha", "size_number"): size_needed,
    ("round-a-40-ft-circle", "inner_tip_speed_share"): inner_speed,
    ("round-a-40-ft-circle", "inner_tip_speed"): lambda i: i["speed"] * inner_speed(i),
    ("round-a-40-ft-circle", "inner_tip_rate"): inner_rate,
    ("round-a-40-ft-circle", "outer_tip_speed"): lambda i: i["speed"] * outer_speed(i),
    ("round-a-40-ft-circle", "outer_tip_rate"): outer_rate,
    ("distance-per-cycle", "speed_m_s"): lambda i: travel_per_cycle_m(i["speed"], i["frequency"]) * i["frequency"],
    ("distance-per-cycle", "distance_per_cycle"): lambda i: travel_per_cycle_m(i["speed"], i["frequency"]),
    ("distance-per-cycle", "distance_on"): lambda i: on_distance(i, "duty_cycle"),
    ("distance-per-cycle", "distance_off"): lambda i: gap_per_cycle_m(i["speed"], i["frequency"], i["duty_cycle"]),
    # Gain from the duty in use up to a tip held open: relative to the flow in use.
    ("head-room-of-duty", "outer_gain_low"): lambda i: duty_ratio(1.0, i["duty_cycle_high"]) - 1.0,
    ("head-room-of-duty", "outer_gain_high"): lambda i: duty_ratio(1.0, i["duty_cycle_low"]) - 1.0,
    ("head-room-of-duty", "inner_fold_reduction"): lambda i: i["duty_cycle_low"] / i["minimum_duty"],
}


def test_controller_turns_and_pulses(check, answer):
    check.compare(answer(check.inputs))


def test_the_printed_head_room_is_right_in_points_of_capacity():
    # sprayers101-pwm: 20 and 40 are what is left up to 100 %, in percentage points.
    assert pytest.approx(0.20) == 1.0 - 0.80
    assert pytest.approx(0.40) == 1.0 - 0.60


def test_common_practice_of_8_to_10_mph_is_marked_as_such_and_decides_nothing():
    # What a tip spans follows from its pressures: 8 to 10 mph takes 1.56 times the pressure, and 15 to 60 psi
    # (ksu-mf3178) gives twice the speed. The saying itself is kept, marked, and used nowhere in a calculation.
    assert source("common-practice-8-10-mph").status == "common practice, no source"
    tip = law_of_us_size("03")
    assert tip.pressure_pa(tip.flow_m3s(1e5) * 10.0 / 8.0) == pytest.approx(1.5625e5)
    assert tip.flow_m3s(60.0) / tip.flow_m3s(15.0) == pytest.approx(2.0)
