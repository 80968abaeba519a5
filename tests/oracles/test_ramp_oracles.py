"""Step fits against scipy.signal, closed forms and curve_fit; swings against Lomb and Scargle; ends by simulation."""

import math

import numpy as np
import pytest
from scipy import optimize, signal

from wetrun.proving.hunting import hunting_of
from wetrun.proving.movement import movement
from wetrun.proving.ramp_ends import FlowPoint, flow_ends
from wetrun.proving.ramp_fit import first_order_response
from wetrun.proving.response import Response

STEPS = [(10.0, 20.0, 0.0, 1.0), (20.0, 8.0, 1.3, 2.5), (5.0, 6.0, 0.4, 0.7), (0.0, 100.0, 2.0, 4.0)]


def there(found):
    assert found is not None
    return found


def test_a_response_is_that_of_a_first_order_transfer_function():
    for before, after, delay_s, lag_s in STEPS:
        ours = Response(before=before, after=after, delay_s=delay_s, lag_s=lag_s)
        times, unit = signal.step(([1.0], [lag_s, 1.0]), N=200)
        theirs = before + (after - before) * unit
        assert [ours.at(t + delay_s) for t in times] == pytest.approx(theirs, rel=1e-9, abs=1e-9)


def test_settling_within_five_per_cent_takes_three_lags_from_rest():
    """Textbooks round ln 20 = 2.996 to three lags; seen here on scipy's own response too."""
    times, unit = signal.step(([1.0], [2.0, 1.0]), T=np.linspace(0.0, 20.0, 20_001))
    theirs = times[np.flatnonzero(np.abs(unit - 1.0) > 0.05)[-1] + 1]
    ours = Response(before=0.0, after=1.0, delay_s=0.0, lag_s=2.0).settling_s()
    assert ours == pytest.approx(theirs, abs=0.002)
    assert ours == pytest.approx(2.0 * math.log(20.0))
    assert round(ours / 2.0) == 3


@pytest.mark.parametrize(("before", "after", "delay_s", "lag_s"), STEPS)
def test_a_clean_log_gives_back_what_made_it(before, after, delay_s, lag_s):
    true = Response(before=before, after=after, delay_s=delay_s, lag_s=lag_s)
    times = np.arange(-2.0, 25.0, 0.5)
    found = there(first_order_response(times, [true.at(t) for t in times]))
    assert found.lag_s == pytest.approx(lag_s, rel=1e-4)
    assert found.delay_s == pytest.approx(delay_s, abs=1e-3)
    assert (found.before, found.after) == pytest.approx((before, after), rel=1e-5, abs=1e-5)


@pytest.mark.parametrize(("before", "after", "delay_s", "lag_s"), STEPS)
def test_no_other_fit_of_a_noisy_log_leaves_less(before, after, delay_s, lag_s):
    chance = np.random.default_rng(20)
    true = Response(before=before, after=after, delay_s=delay_s, lag_s=lag_s)
    times = np.arange(-3.0, 22.0, 0.5)
    readings = np.array([true.at(t) for t in times]) + chance.normal(0.0, 0.02 * abs(after - before), times.size)

    def curve(t, start, end, delay, lag):
        return end + (start - end) * np.exp(-np.maximum(t - delay, 0.0) / abs(lag))

    guess = (before, after, delay_s + 0.01, lag_s)
    theirs, _ = optimize.curve_fit(curve, times, readings, p0=guess, maxfev=20_000)
    found = there(first_order_response(times, readings))
    ours = (found.before, found.after, found.delay_s, found.lag_s)
    left = [float(np.sum((readings - curve(times, *answer)) ** 2)) for answer in (ours, theirs)]
    assert left[0] <= left[1] * (1.0 + 1e-6)
    assert found.scatter == pytest.approx(math.sqrt(left[0] / (times.size - 4)), rel=1e-9)


def test_the_stated_uncertainty_of_settling_covers_as_often_as_it_says():
    chance = np.random.default_rng(7)
    true = Response(before=10.0, after=20.0, delay_s=0.7, lag_s=2.0)
    times = np.arange(-3.0, 22.0, 0.5)
    clean = np.array([true.at(t) for t in times])
    fits = [there(first_order_response(times, clean + chance.normal(0.0, 0.2, times.size))) for _ in range(120)]
    inside = np.mean([abs(f.settling_s() - true.settling_s()) <= 2.0 * f.settling_standard_s for f in fits])
    ends = np.mean([abs(f.after - 20.0) <= 2.0 * f.after_standard for f in fits])
    # 95 % of 120 with three standard errors of a share; delay and lag bend the problem a little.
    assert inside > 0.95 - 3.0 * math.sqrt(0.95 * 0.05 / 120) - 0.03
    assert ends > 0.95 - 3.0 * math.sqrt(0.95 * 0.05 / 120)


def test_the_strongest_period_is_that_of_lomb_and_scargle():
    chance = np.random.default_rng(3)
    times = np.sort(chance.uniform(0.0, 60.0, 120))
    readings = 50.0 + 3.0 * np.sin(2.0 * np.pi * times / 7.3 + 0.4) + chance.normal(0.0, 0.5, 120)
    found = there(hunting_of(times, readings))
    rates = np.linspace(0.05, 0.5, 20_000)
    power = signal.lombscargle(times, readings - readings.mean(), 2.0 * np.pi * rates)
    assert found.period_s == pytest.approx(1.0 / rates[int(np.argmax(power))], rel=0.01)
    assert abs(found.amplitude - 3.0) < 3.0 * found.amplitude_standard
    assert found.persistent


def test_scatter_alone_is_seldom_called_hunting():
    chance = np.random.default_rng(11)
    times = np.arange(0.0, 40.0)
    found = sum(hunting_of(times, chance.normal(10.0, 1.0, times.size)) is not None for _ in range(400))
    assert found / 400 < 0.01 + 3.0 * math.sqrt(0.01 * 0.99 / 400) + 0.005


def test_a_swing_that_dies_out_is_not_called_persistent():
    chance = np.random.default_rng(12)
    times = np.arange(0.0, 60.0, 0.5)
    dying = 20.0 + 3.0 * np.exp(-times / 15.0) * np.sin(2.0 * np.pi * times / 5.0) + chance.normal(0.0, 0.1, times.size)
    staying = 20.0 + 3.0 * np.sin(2.0 * np.pi * times / 5.0) + chance.normal(0.0, 0.1, times.size)
    assert not there(hunting_of(times, dying)).persistent
    assert there(hunting_of(times, staying)).persistent


def test_a_ringing_loop_is_settled_where_its_envelope_says_and_does_not_hunt():
    """Second order, damping 0.2: overshoot exp(-pi z / sqrt(1 - z2)) of the step, a closed form of the textbooks."""
    damping, natural = 0.2, 1.5
    times, unit = signal.step(([natural**2], [1.0, 2.0 * damping * natural, natural**2]), T=np.arange(0.0, 60.0, 0.05))
    times, readings = np.concatenate(([-1.0], times)), np.concatenate(([10.0], 10.0 + 10.0 * unit))
    found = movement(times, readings)
    overshoot = math.exp(-math.pi * damping / math.sqrt(1.0 - damping**2))
    assert found.settled.value == pytest.approx(20.0, rel=1e-3)
    assert found.overshoot_frac == pytest.approx(overshoot * 10.0 / 20.0, rel=0.01)
    assert found.settling_s == pytest.approx(float(times[np.flatnonzero(np.abs(readings - 20.0) > 1.0)[-1]]), abs=0.1)
    assert found.hunting is None or not found.hunting.persistent


def test_floor_and_ceiling_are_found_where_they_were_put():
    chance = np.random.default_rng(5)
    demands = np.array([2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]) * 1e-4
    right, off = 0, []
    for _ in range(300):
        slope, floor, ceiling = chance.normal(1.0, 0.01), 3.7e-4, 7.6e-4
        clean = np.clip(slope * demands, floor, ceiling)
        standard = 0.01 * clean
        flows = clean + chance.normal(0.0, standard)
        points = [FlowPoint(float(d), float(q), float(u)) for d, q, u in zip(demands, flows, standard, strict=True)]
        found = flow_ends(points)
        if found.floor is None or found.ceiling is None:
            continue
        right += (found.floor.steps, found.ceiling.steps) == (2, 2)
        off += [(found.floor.flow_m3s - floor) / found.floor.standard_m3s]
    assert right >= 0.97 * 300
    assert np.std(off) == pytest.approx(1.0, abs=0.15)


def test_a_line_without_ends_is_seldom_given_one():
    chance = np.random.default_rng(6)
    demands = np.array([2.0, 4.0, 6.0, 4.0, 2.0]) * 1e-4
    false = 0
    for _ in range(300):
        points = [FlowPoint(float(d), float(d * chance.normal(1.0, 0.01)), float(0.01 * d)) for d in demands]
        found = flow_ends(points)
        false += found.floor is not None or found.ceiling is not None
    # Two ends at 1 % each, with three standard errors of 300 runs.
    assert false / 300 < 0.02 + 3.0 * math.sqrt(0.02 * 0.98 / 300)
    far = [FlowPoint(float(d), float(d), float(0.01 * d)) for d in demands]
    assert flow_ends(far).floor is flow_ends(far).ceiling is None
