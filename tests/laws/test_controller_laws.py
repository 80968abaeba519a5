"""Laws of the controller's limits: conversions invert, sections only tighten what they should, loss only costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.errors import OutOfRange
from wetrun.spray.controller import (
    Hydraulics,
    Loop,
    bound_curves,
    bounds,
    cab_pressure_pa,
    flow_at_tip_pressure_m3s,
    flows_at_cab_pressure_m3s,
    tip_pressure_pa,
)
from wetrun.spray.feedback import (
    DensityFault,
    DensityPlace,
    density_findings,
    density_places,
    gain_ratio,
    wear_effect,
)
from wetrun.spray.limits import Limit, Side
from wetrun.spray.losses import BodyLoss, SensorLoss, loss_from_gauges
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3, FlowLaw, FlowRows, law_of_iso_size
from wetrun.spray.pulse import DutySource, PulseSetting
from wetrun.spray.pulsed import flows_at_duty_m3s, open_flow_m3s
from wetrun.spray.supply import Hold, MeterRange, PumpPoint, PumpSupply

STREAMER = FlowRows((1e5, 2e5, 4e5), (2e-5, 2.9e-5, 4.4e-5), REFERENCE_WATER_KGPM3, "caught")
laws: st.SearchStrategy[FlowLaw] = st.sampled_from(
    [law_of_iso_size("02"), law_of_iso_size("05"), law_of_iso_size("10"), STREAMER]
)
losses = st.builds(
    SensorLoss,
    boom_paps2m6=st.floats(0, 2e10),
    body_paps2m6=st.floats(0, 5e12),
    passing_m3s=st.sampled_from([0.0, 1e-4, 1e-3]),
)
densities = st.floats(950.0, 1400.0)
pressures = st.floats(5e4, 8e5)
shares = st.floats(0.05, 1.0)


@st.composite
def setups(draw: st.DrawFn) -> Hydraulics:
    """A boom of some tips behind some losses, with some liquid."""
    return Hydraulics(
        loop=Loop.METER,
        law=draw(laws),
        low_pa=1e5,
        high_pa=4e5,
        tips=draw(st.integers(12, 140)),
        density_kgpm3=draw(densities),
        loss=draw(losses),
    )


@given(setups(), pressures, shares)
def test_flow_at_a_cab_pressure_shows_that_pressure(setup: Hydraulics, pressure_pa: float, share: float) -> None:
    flow = float(flows_at_cab_pressure_m3s(setup, pressure_pa, np.array([share]))[0])
    if flow == 0.0:
        # What passes and returns takes all of the pressure shown.
        assert cab_pressure_pa(setup, 0.0, share) >= pressure_pa
        return
    assert cab_pressure_pa(setup, flow, share) == pytest.approx(pressure_pa, rel=1e-9)


@given(setups(), pressures)
def test_flow_at_a_tip_pressure_has_that_pressure(setup: Hydraulics, pressure_pa: float) -> None:
    flow = flow_at_tip_pressure_m3s(setup, pressure_pa)
    assert tip_pressure_pa(setup, flow) == pytest.approx(pressure_pa, rel=1e-9)


@given(setups(), st.floats(1e-6, 1e-4), shares)
def test_the_tip_never_sees_more_than_the_cab(setup: Hydraulics, flow: float, share: float) -> None:
    assert cab_pressure_pa(setup, flow, share) >= tip_pressure_pa(setup, flow)


@given(setups(), pressures)
def test_closing_sections_raises_the_flow_of_a_tip_at_a_cab_pressure(setup: Hydraulics, pressure_pa: float) -> None:
    flows = flows_at_cab_pressure_m3s(setup, pressure_pa, np.array([0.1, 0.5, 1.0]))
    assert np.all(np.diff(flows) <= 1e-18)


@given(st.integers(12, 140), shares, st.floats(1e-5, 1e-3))
def test_a_hold_by_boom_flow_is_shared_by_the_tips_that_are_on(tips: int, share: float, held: float) -> None:
    setup = Hydraulics(loop=Loop.METER, law=STREAMER, low_pa=1e5, high_pa=4e5, tips=tips, hold=Hold(boom_flow_m3s=held))
    hold = next(bound for bound in bounds(setup, share) if bound.limit is Limit.HOLD)
    assert hold.flow_m3s * tips * share == pytest.approx(held, rel=1e-12)
    assert hold.acts
    assert hold.side is Side.LOW


@given(shares)
def test_few_sections_bring_the_meter_to_its_least_flow(share: float) -> None:
    meter = MeterRange(2e-4, 8e-3)
    setup = Hydraulics(loop=Loop.METER, law=law_of_iso_size("04"), low_pa=1e5, high_pa=4e5, tips=72, meter=meter)
    low = next(bound for bound in bounds(setup, share) if bound.limit is Limit.METER_LOW)
    assert low.flow_m3s * 72 * share == pytest.approx(meter.least_m3s, rel=1e-12)
    assert not low.acts


def test_return_flow_counts_at_the_meter_only_if_it_passes_the_meter() -> None:
    pump = PumpSupply(capacity_m3s=8e-3, agitation_m3s=1e-3, return_m3s=1e-3)

    def least(*, sees_return: bool) -> float:
        setup = Hydraulics(
            loop=Loop.METER,
            law=law_of_iso_size("04"),
            low_pa=1e5,
            high_pa=4e5,
            tips=100,
            meter=MeterRange(3e-3, 8e-3, sees_return=sees_return),
            pump=pump,
        )
        return next(bound.flow_m3s for bound in bounds(setup) if bound.limit is Limit.METER_LOW)

    assert least(sees_return=False) == pytest.approx(3e-5)
    assert least(sees_return=True) == pytest.approx(2e-5)


@given(densities)
def test_a_centrifugal_pump_meets_the_boom_where_both_pressures_agree(density: float) -> None:
    curve = tuple(PumpPoint(flow, pressure) for flow, pressure in ((0.0, 8e5), (4e-3, 6e5), (9e-3, 1e5)))
    pump = PumpSupply(capacity_m3s=9e-3, agitation_m3s=1e-3, curve=curve)
    setup = Hydraulics(
        loop=Loop.METER, law=law_of_iso_size("10"), low_pa=1e5, high_pa=6e5, tips=90, density_kgpm3=density, pump=pump
    )
    most = next(bound for bound in bounds(setup) if bound.limit is Limit.PUMP)
    assert cab_pressure_pa(setup, most.flow_m3s) == pytest.approx(
        pump.pressure_at_pa(most.flow_m3s * 90, density), rel=1e-6
    )


@given(densities)
def test_a_centrifugal_pump_gives_the_same_volume_of_any_liquid(density: float) -> None:
    """Pump pressure and tip pressure both go with density: it cancels, as the affinity laws say."""
    curve = (PumpPoint(0.0, 8e5), PumpPoint(9e-3, 1e5))
    pump = PumpSupply(capacity_m3s=9e-3, curve=curve)

    def most(density_kgpm3: float) -> float:
        setup = Hydraulics(
            loop=Loop.METER,
            law=law_of_iso_size("10"),
            low_pa=1e5,
            high_pa=6e5,
            tips=90,
            density_kgpm3=density_kgpm3,
            pump=pump,
        )
        return next(bound.flow_m3s for bound in bounds(setup) if bound.limit is Limit.PUMP)

    assert most(density) == pytest.approx(most(REFERENCE_WATER_KGPM3), rel=1e-9)


@st.composite
def pulsed(draw: st.DrawFn) -> tuple[Hydraulics, PulseSetting]:
    """A pulse-width machine behind some losses."""
    pulse = PulseSetting(frequency_hz=10.0, set_pressure_pa=draw(st.floats(2e5, 6e5)), least_frac=0.25)
    setup = draw(setups())
    return replace(setup, loop=Loop.PULSE, pulse=pulse), pulse


@given(pulsed(), st.floats(0.05, 1.0), shares)
def test_mean_flow_over_open_flow_is_the_duty(
    machine: tuple[Hydraulics, PulseSetting], duty: float, share: float
) -> None:
    setup, pulse = machine
    mean = float(flows_at_duty_m3s(setup, pulse, duty, np.array([share]))[0])
    if mean == 0.0:
        return
    assert mean / open_flow_m3s(setup, pulse, mean, share) == pytest.approx(duty, rel=1e-6)


@given(pulsed(), shares)
def test_a_pulsed_tip_sees_less_pressure_the_more_the_hoses_carry(
    machine: tuple[Hydraulics, PulseSetting], share: float
) -> None:
    """Hand check of the direction: loss in the hoses goes with the mean flow, so low duty leaves more at the tip."""
    setup, pulse = machine
    low, full = (float(flows_at_duty_m3s(setup, pulse, duty, np.array([share]))[0]) for duty in (0.25, 1.0))
    if low == 0.0:
        return
    assert tip_pressure_pa(setup, open_flow_m3s(setup, pulse, low, share)) >= tip_pressure_pa(setup, full) * (1 - 1e-9)
    assert low >= 0.25 * full * (1 - 1e-9)


@given(pulsed(), shares)
def test_a_pulsed_tip_is_inside_its_range_exactly_between_its_limits(
    machine: tuple[Hydraulics, PulseSetting], share: float
) -> None:
    setup, pulse = machine
    judged = [bound for bound in bounds(setup, share) if bound.limit in (Limit.TIP_LOW, Limit.TIP_HIGH)]
    for duty in (0.2, 0.5, 0.9):
        mean = float(flows_at_duty_m3s(setup, pulse, duty, np.array([share]))[0])
        if mean == 0.0 or any(abs(bound.flow_m3s / mean - 1) < 1e-6 for bound in judged):
            continue
        pressure = tip_pressure_pa(setup, open_flow_m3s(setup, pulse, mean, share))
        fits = all(mean >= b.flow_m3s if b.side is Side.LOW else mean <= b.flow_m3s for b in judged)
        assert fits == (setup.low_pa * (1 - 1e-9) <= pressure <= setup.high_pa * (1 + 1e-9))


def test_the_pulsed_tip_of_a_hand_computed_boom() -> None:
    """72 tips of size 10, 3.5 bar at the sensor, 1 bar lost in the hoses at full duty: 3.4 bar at the tip at 25 %."""
    law = law_of_iso_size("10")
    full = law.flow_m3s(2.5e5)
    loss = SensorLoss(boom_paps2m6=1e5 / (72 * full) ** 2)
    pulse = PulseSetting(frequency_hz=10.0, set_pressure_pa=3.5e5)
    setup = Hydraulics(loop=Loop.PULSE, law=law, low_pa=1e5, high_pa=6e5, tips=72, pulse=pulse, loss=loss)
    quarter = float(flows_at_duty_m3s(setup, pulse, 0.25, np.ones(1))[0])
    # p + 1e5 * (0.25)^2 * p / 2.5e5 = 3.5e5
    assert tip_pressure_pa(setup, open_flow_m3s(setup, pulse, quarter)) == pytest.approx(3.5e5 / (1 + 0.0625 * 0.4))
    assert float(flows_at_duty_m3s(setup, pulse, 1.0, np.ones(1))[0]) == pytest.approx(full)


def test_a_pulsed_tip_outside_its_pressure_range_holds_nothing() -> None:
    pulse = PulseSetting(frequency_hz=10.0, set_pressure_pa=5e5)
    setup = Hydraulics(loop=Loop.PULSE, law=law_of_iso_size("05"), low_pa=1e5, high_pa=4e5, tips=72, pulse=pulse)
    high = next(bound for bound in bounds(setup) if bound.limit is Limit.TIP_HIGH)
    assert (high.side, high.flow_m3s) == (Side.LOW, np.inf)


@given(st.floats(1e5, 5e5), st.floats(0.5, 1.0), st.floats(1e-3, 6e-3), st.floats(0.0, 1.0), st.floats(0.0, 2e-3))
def test_a_gauge_pair_gives_back_its_own_loss(
    cab_pa: float, part: float, boom_flow: float, in_body: float, passing: float
) -> None:
    lost_pa = (1 - part) * cab_pa
    body = BodyLoss(in_body * lost_pa * 0.999, boom_flow / 72, 72)
    loss = loss_from_gauges(cab_pa, part * cab_pa, boom_flow, body=body, passing_m3s=passing)
    drop = loss.drop_pa(boom_flow_m3s=boom_flow, tip_flow_m3s=boom_flow / 72)
    assert drop == pytest.approx(lost_pa, rel=1e-9, abs=1e-6)
    heavier = loss.drop_pa(
        boom_flow_m3s=boom_flow, tip_flow_m3s=boom_flow / 72, density_kgpm3=1.3 * REFERENCE_WATER_KGPM3
    )
    assert heavier == pytest.approx(1.3 * lost_pa, rel=1e-9, abs=1e-6)


def test_bodies_that_lose_more_than_the_gauges_show_are_refused() -> None:
    with pytest.raises(OutOfRange, match="nozzle bodies"):
        loss_from_gauges(3e5, 2.9e5, 3e-3, body=BodyLoss(2e4, 3e-3 / 72, 72))


@given(st.floats(1.0, 1.3))
def test_wear_costs_pressure_under_a_meter_and_product_without_one(wear: float) -> None:
    def setup(loop: Loop) -> Hydraulics:
        return Hydraulics(loop=loop, law=STREAMER, low_pa=1e5, high_pa=4e5, tips=72)

    metered = wear_effect(setup(Loop.METER), wear)
    assert metered.rate_ratio == 1.0
    assert metered.pressure_ratio == pytest.approx(1 / wear**2)
    for loop in (Loop.PRESSURE, Loop.FIXED):
        assert wear_effect(setup(loop), wear).rate_ratio == wear


def heavy(loop: Loop, duty_from: DutySource | None = None) -> Hydraulics:
    """UAN-like liquid on a given loop."""
    pulse = None
    if duty_from is not None:
        pulse = PulseSetting(frequency_hz=10.0, set_pressure_pa=3e5, duty_from=duty_from)
    return Hydraulics(loop=loop, law=STREAMER, low_pa=1e5, high_pa=4e5, tips=72, density_kgpm3=1280.0, pulse=pulse)


def test_density_never_enters_the_rate_of_a_metered_machine() -> None:
    for setup in (heavy(Loop.METER), heavy(Loop.PULSE, DutySource.METER)):
        assert DensityPlace.PRESSURE_DERIVED_FLOW not in density_places(setup)
    for setup in (heavy(Loop.PRESSURE), heavy(Loop.FIXED), heavy(Loop.PULSE, DutySource.PRESSURE)):
        assert DensityPlace.PRESSURE_DERIVED_FLOW in density_places(setup)


@pytest.mark.parametrize(
    ("setup", "setting", "equivalent", "fault", "rate"),
    [
        (heavy(Loop.METER), None, False, None, 1.0),
        (heavy(Loop.METER), 1280.0, False, DensityFault.WRONG_PLACE, 0.780),
        (heavy(Loop.METER), None, True, DensityFault.TWICE, 1.132),
        (heavy(Loop.PRESSURE), 1280.0, False, None, 1.0),
        (heavy(Loop.PRESSURE), None, False, DensityFault.MISSING, 0.883),
        (heavy(Loop.PRESSURE), 1300.0, False, DensityFault.WRONG_PLACE, 1.008),
        (heavy(Loop.PULSE, DutySource.PRESSURE), None, False, DensityFault.MISSING, 0.883),
    ],
)
def test_density_twice_missing_or_misplaced_is_recognised(
    setup: Hydraulics, setting: float | None, equivalent: bool, fault: DensityFault | None, rate: float
) -> None:
    found = density_findings(setup, setting_kgpm3=setting, rate_is_water_equivalent=equivalent)
    assert [finding.fault for finding in found] == ([] if fault is None else [fault])
    if found:
        assert found[0].rate_ratio == pytest.approx(rate, abs=5e-4)


@given(setups(), shares)
def test_every_limit_is_a_flow_of_one_tip_at_every_level(setup: Hydraulics, share: float) -> None:
    curves = bound_curves(setup, np.array([share, 1.0]))
    assert {curve.limit for curve in curves} >= {Limit.TIP_LOW, Limit.TIP_HIGH}
    assert all(curve.flows_m3s.shape == (2,) and np.all(curve.flows_m3s >= 0) for curve in curves)


@given(st.floats(1.01, 1.3), st.floats(1.0, 1.4))
def test_pressure_feedback_puts_down_what_wear_and_a_missing_density_make_of_it(wear: float, gravity: float) -> None:
    """The monitor's flow is k sqrt(p) of a new tip on water; the tip's is wear k sqrt(p / SG)."""
    metered = Hydraulics(loop=Loop.METER, law=STREAMER, low_pa=1e5, high_pa=4e5, tips=72)
    heavy_metered = replace(metered, density_kgpm3=gravity * REFERENCE_WATER_KGPM3)
    pressure = replace(heavy_metered, loop=Loop.PRESSURE)
    assert gain_ratio(heavy_metered, wear_ratio=wear, setting_kgpm3=None) == 1.0
    found = gain_ratio(pressure, wear_ratio=wear, setting_kgpm3=None)
    assert found == pytest.approx(wear / gravity**0.5)
    typed = gain_ratio(pressure, wear_ratio=wear, setting_kgpm3=pressure.density_kgpm3)
    assert typed == pytest.approx(wear)
