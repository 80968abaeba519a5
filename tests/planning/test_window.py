"""Speed windows against printed values, and what each kind of limit does to them."""

from __future__ import annotations

from dataclasses import replace
from math import isinf, sqrt

import numpy as np
import pint
import pytest
from tests.season_cases import HECTARE, KMH, LITRE_PER_HECTARE, planned, sprayer, tip

from wetrun.machine.boom import Boom, OddPositions, PositionKind
from wetrun.machine.sprayer import Control
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import PermittedTip, Product, StatedSpeeds
from wetrun.planning.speed_point import point_at
from wetrun.planning.tip_set import Refusal, hydraulics, refusal, tip_sets
from wetrun.planning.window import Trial, limit_curves, speed_window
from wetrun.sources import source
from wetrun.spray.carrier import fertiliser, water
from wetrun.spray.controller import Loop
from wetrun.spray.delivery import steady_delivery
from wetrun.spray.droplets import DropletClass, Family
from wetrun.spray.limits import Limit
from wetrun.spray.losses import SensorLoss
from wetrun.spray.orifice import law_of_us_size
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.supply import Hold

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
PSI = UNITS.Quantity(1.0, "psi").m_as("Pa")
MPH = UNITS.Quantity(1.0, "mile/hour").m_as("m/s")
GPA = UNITS.Quantity(1.0, "gallon/acre").m_as("m")
INCH = UNITS.Quantity(1.0, "inch").m_as("m")


def trial(one_tip, machine, one_pass) -> Trial:
    """One new set of a tip on a machine for a pass."""
    tip_set = tip_sets(machine, (one_tip,))[-1]
    setup = hydraulics(tip_set, machine, one_pass.carrier)
    return Trial(setup, tip_set, one_pass, combined_limits(one_pass), one_pass.speeds.usual_mps)


@pytest.fixture
def printed() -> Trial:
    """Checks F1 to F4: size 03 by its US definition, 20 in, 10 gal/ac, held from 20 to 60 psi."""
    law = law_of_us_size("03")
    size_03 = replace(tip("03", Family.FLAT_FAN), law=law, low_pa=15 * PSI, high_pa=80 * PSI)
    control = Control(loop=Loop.METER, hold=Hold(cab_pressure_pa=20 * PSI), cab_high_pa=60 * PSI)
    machine = sprayer(boom=Boom(spacing_m=20 * INCH, section_tips=(72,)), control=control, pump=None)
    return trial(size_03, machine, planned("printed", rate_m3pm2=10 * GPA))


def test_the_printed_window_of_a_size_03(printed: Trial) -> None:
    """6.30 to 10.913 mph (rate equation, checks F1), ratio 1.7321 (F2)."""
    window = speed_window(printed, 10 * GPA)
    assert window.low_mps / MPH == pytest.approx(6.30, abs=0.005)
    assert window.high_mps / MPH == pytest.approx(10.913, abs=0.0005)
    assert window.high_mps / window.low_mps == pytest.approx(1.7321, abs=5e-5)
    assert (window.low_by, window.high_by) == (Limit.HOLD, Limit.CAB_HIGH)


@pytest.mark.parametrize(("speed_mph", "rate_gpa", "limit"), [(4, 15.75, Limit.HOLD), (13, 8.395, Limit.CAB_HIGH)])
def test_the_printed_rates_outside_the_window(printed: Trial, speed_mph: float, rate_gpa: float, limit: Limit) -> None:
    """Checks F3 (minimum hold) and F4 (pressure cap)."""
    curves = limit_curves(printed, np.ones(1))
    demand = 10 * GPA * speed_mph * MPH * 20 * INCH
    delivery = steady_delivery(demand, [curve.at(0) for curve in curves])
    assert 10 * delivery.rate_ratio == pytest.approx(rate_gpa, abs=0.005)
    assert delivery.binding is not None
    assert delivery.binding.limit is limit


def test_common_practice_of_8_to_10_mph_a_tip_has_no_source_and_is_about_right() -> None:
    """A rule of thumb, not a check: a size 08 at 15 gal/ac spans what people say a tip spans."""
    assert source("common-practice-8-10-mph").status == "common practice, no source"
    size_08 = replace(tip("08", Family.FLAT_FAN), law=law_of_us_size("08"), low_pa=15 * PSI, high_pa=60 * PSI)
    machine = sprayer(boom=Boom(spacing_m=20 * INCH, section_tips=(72,)), control=Control(loop=Loop.METER), pump=None)
    window = speed_window(trial(size_08, machine, planned("rule", rate_m3pm2=15 * GPA)), 15 * GPA)
    assert 8 <= (window.high_mps - window.low_mps) / MPH <= 10


def test_density_moves_the_window_by_its_square_root_and_nothing_else() -> None:
    machine = sprayer(control=Control(loop=Loop.METER), pump=None)
    liquid = fertiliser("UAN 28", 288.7)
    one_tip = tip("05", Family.FLAT_FAN)
    water_window = speed_window(trial(one_tip, machine, planned("w")), 150 * LITRE_PER_HECTARE)
    uan = trial(one_tip, machine, planned("n", carrier=liquid))
    uan_window = speed_window(uan, 150 * LITRE_PER_HECTARE)
    factor = sqrt(uan.setup.density_kgpm3 / planned("w").carrier.density_kgpm3)
    assert water_window.low_mps / uan_window.low_mps == pytest.approx(factor, rel=1e-6)
    assert water_window.high_mps / uan_window.high_mps == pytest.approx(factor, rel=1e-6)


def test_a_hold_typed_at_the_cab_is_less_at_the_tip() -> None:
    one_pass, one_tip = planned("p"), tip("05", Family.FLAT_FAN)
    near = sprayer(control=Control(loop=Loop.METER, hold=Hold(cab_pressure_pa=2e5)), pump=None)
    far = replace(near, loss=SensorLoss(boom_paps2m6=1.5e10))
    without = speed_window(trial(one_tip, near, one_pass), one_pass.rate_m3pm2)
    with_loss = trial(one_tip, far, one_pass)
    window = speed_window(with_loss, one_pass.rate_m3pm2)
    assert window.low_mps < without.low_mps
    point = point_at(with_loss, speed_mps=window.low_mps, rate_m3pm2=one_pass.rate_m3pm2)
    assert point.cab_pa == pytest.approx(2e5, rel=1e-6)
    assert point.tip_pa < 2e5


def test_odd_positions_share_the_boom_flow_by_their_size() -> None:
    ends = OddPositions(PositionKind.BOOM_END, (1, 72), "10-flat_fan")
    plain_boom = Boom(spacing_m=0.5, section_tips=(36, 36))
    machine = sprayer(boom=replace(plain_boom, exceptions=(ends,)), control=Control(loop=Loop.METER), pump=None)
    base, odd = tip("05", Family.FLAT_FAN), tip("10", Family.FLAT_FAN)
    tip_set = tip_sets(machine, (base, odd))[0]
    assert tip_set.equivalent_tips == pytest.approx(70 + 2 * 2)
    one_pass = planned("p")
    odd_trial = Trial(hydraulics(tip_set, machine, one_pass.carrier), tip_set, one_pass, combined_limits(one_pass), 5.0)
    point = point_at(odd_trial, speed_mps=5.0, rate_m3pm2=one_pass.rate_m3pm2)
    assert point.boom_flow_m3s == pytest.approx(one_pass.rate_m3pm2 * 5.0 * 36.0, rel=1e-9)


def test_a_worn_owned_set_holds_higher_speeds_at_the_same_pressures() -> None:
    from wetrun.machine.tip import OwnedSet

    machine = sprayer(owned=(OwnedSet("05-flat_fan", 1.08),), control=Control(loop=Loop.METER), pump=None)
    worn, new = tip_sets(machine, (tip("05", Family.FLAT_FAN),))
    one_pass = planned("p")

    def low(tip_set) -> float:
        setup = hydraulics(tip_set, machine, water())
        fitted = Trial(setup, tip_set, one_pass, combined_limits(one_pass), 5.0)
        return speed_window(fitted, one_pass.rate_m3pm2).low_mps

    assert worn.owned
    assert worn.cost_cents == 0
    assert low(worn) / low(new) == pytest.approx(1.08)


def test_a_machine_without_feedback_holds_only_around_the_usual_speed() -> None:
    machine = sprayer(control=Control(loop=Loop.FIXED), pump=None)
    one_pass = planned("p", speeds=StatedSpeeds(10 * KMH, 15 * KMH, 20 * KMH))
    window = speed_window(trial(tip("05", Family.FLAT_FAN), machine, one_pass), one_pass.rate_m3pm2)
    assert window.low_by is Limit.FIXED_PRESSURE
    assert window.near_low_mps == pytest.approx(15 * KMH / 1.05)
    assert window.near_high_mps == pytest.approx(15 * KMH / 0.95)


def test_a_pulse_width_machine_spans_its_duty_and_keeps_its_droplets() -> None:
    pulse = PulseSetting(frequency_hz=10, set_pressure_pa=2.5e5, least_frac=0.25)
    machine = sprayer(control=Control(loop=Loop.PULSE, pulse=pulse), pump=None)
    coarse = frozenset({DropletClass.M, DropletClass.C})
    one_pass = planned("p", classes=coarse)
    pulsed = trial(tip("06", Family.FLAT_FAN), machine, one_pass)
    window = speed_window(pulsed, one_pass.rate_m3pm2)
    assert window.high_mps / window.low_mps == pytest.approx(4.0)
    slow, fast = (point_at(pulsed, speed_mps=v, rate_m3pm2=one_pass.rate_m3pm2) for v in (2.0, 4.0))
    assert slow.tip_pa == fast.tip_pa
    assert slow.duty_frac is not None
    assert fast.duty_frac == pytest.approx(2 * slow.duty_frac)


def test_an_air_induction_tip_is_not_pulsed_unless_somebody_says_so() -> None:
    pulse = PulseSetting(frequency_hz=10, set_pressure_pa=3e5)
    machine = sprayer(control=Control(loop=Loop.PULSE, pulse=pulse))
    one_pass = planned("p")
    limits = combined_limits(one_pass)
    cautious, told = (
        tip_sets(machine, (replace(tip("06", Family.AIR_INDUCTION), pulse=said),))[0] for said in (None, True)
    )
    assert refusal(cautious, one_pass, limits, Loop.PULSE) is Refusal.NOT_PULSED
    assert refusal(told, one_pass, limits, Loop.PULSE) is None


def test_a_label_that_names_tips_is_not_met_by_a_droplet_class() -> None:
    named = Product(name="label", permitted_tips=(PermittedTip("04-air_induction", 3e5),))
    one_pass = planned("p", products=(named,), classes=frozenset({DropletClass.VC, DropletClass.XC}))
    limits, machine = combined_limits(one_pass), sprayer()
    allowed, other = tip_sets(machine, (tip("04", Family.AIR_INDUCTION), tip("05", Family.AIR_INDUCTION)))
    assert refusal(other, one_pass, limits, Loop.METER) is Refusal.NOT_PERMITTED
    assert refusal(allowed, one_pass, limits, Loop.METER) is None
    window = speed_window(trial(allowed.tip, machine, one_pass), one_pass.rate_m3pm2)
    assert window.high_by is Limit.LABEL_PRESSURE


def test_a_label_s_highest_speed_closes_the_window() -> None:
    one_pass = planned("p", products=(Product(name="label", speed_high_mps=14 * KMH),))
    window = speed_window(trial(tip("05", Family.FLAT_FAN), sprayer(), one_pass), one_pass.rate_m3pm2)
    assert (window.high_by, window.high_mps) == (Limit.LABEL_SPEED, 14 * KMH)


def test_the_speed_below_which_a_label_s_maximum_is_passed() -> None:
    """At the floor the rate goes with one over speed: 25 % head-room is used up at four fifths of the floor's speed."""
    product = Product(name="label", rate_m3pm2=2e-7, label_high_m3pm2=2.5e-7)
    one_pass = planned("p", products=(product,))
    window = speed_window(trial(tip("05", Family.FLAT_FAN), sprayer(), one_pass), one_pass.rate_m3pm2)
    assert window.over_label_mps == pytest.approx(window.floor_mps / 1.25)


def test_a_class_no_pressure_gives_leaves_an_empty_window() -> None:
    one_pass = planned("p", classes=frozenset({DropletClass.VF}))
    window = speed_window(trial(tip("08", Family.FLAT_FAN), sprayer(), one_pass), one_pass.rate_m3pm2)
    assert window.empty
    assert isinf(window.low_mps)
    assert window.low_by is Limit.CLASS_COARSE


def test_area_units_of_the_cases() -> None:
    assert UNITS.Quantity(1, "hectare").m_as("m^2") == HECTARE
    assert pytest.approx(UNITS.Quantity(1, "liter/hectare").m_as("m")) == LITRE_PER_HECTARE
