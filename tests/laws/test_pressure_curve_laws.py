"""The pressure table of millions of instants against the scalar law, for plain, fertiliser-row and pulsed tips."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from tests.replay_cases import SPACING_M, made_setup, made_trace

from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.replay import ReplayMode
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.droplet_bands import class_bands
from wetrun.spray.droplets import Family, SprayPattern, probability_within
from wetrun.spray.flow_rows import FlowRows
from wetrun.spray.hydraulics import flow_at_tip_pressure_m3s, tip_pressure_pa
from wetrun.spray.losses import loss_from_gauges
from wetrun.spray.orifice import REFERENCE_WATER_KGPM3, law_of_iso_size
from wetrun.spray.pressure_curve import pressure_curve
from wetrun.spray.pulse import PulseSetting, gap_per_cycle_m
from wetrun.spray.pulsed import open_flow_m3s

ROWS = FlowRows((1e5, 2e5, 4e5), (1.0e-5, 1.5e-5, 2.0e-5), REFERENCE_WATER_KGPM3, "made rows")
PLAIN = Hydraulics(loop=Loop.METER, law=law_of_iso_size("04"), low_pa=1e5, high_pa=5e5, tips=48)
PULSED = replace(PLAIN, loop=Loop.PULSE, pulse=PulseSetting(frequency_hz=10.0, set_pressure_pa=3e5))


@pytest.mark.parametrize(("setup", "near"), [(PLAIN, 1e-12), (replace(PLAIN, law=ROWS), 1e-4)])
def test_the_table_gives_the_scalar_pressure(setup, near):
    curve = pressure_curve(setup, np.ones(1))
    flows = np.linspace(1e-6, 4e-5, 97)
    found = curve.pressures_pa(flows, 0)
    assert found == pytest.approx([tip_pressure_pa(setup, float(flow)) for flow in flows], rel=near)
    assert curve.duties_frac(flows, 0) is None


def test_a_pulsed_tip_behind_hoses_sees_more_pressure_the_less_it_is_open():
    loss = loss_from_gauges(3.5e5, 3e5, 48 * flow_at_tip_pressure_m3s(PLAIN, 3e5))
    setup = replace(PULSED, loss=loss)
    fracs = np.array([0.5, 1.0])
    curve = pressure_curve(setup, fracs)
    assert setup.pulse is not None
    for level, share in enumerate(fracs.tolist()):
        flows = np.linspace(0.1, 0.95, 20) * curve.flows_m3s[level, -1]
        opens = [open_flow_m3s(setup, setup.pulse, float(flow), share) for flow in flows]
        assert curve.pressures_pa(flows, level) == pytest.approx(
            [tip_pressure_pa(setup, one) for one in opens], rel=1e-3
        )
        assert (np.diff(curve.pressures_pa(flows, level)) < 0).all()
        assert curve.duties_frac(flows, level) == pytest.approx(flows / opens, rel=1e-3)


def test_a_pulsed_machine_at_18_kmh_and_half_duty_leaves_25_cm():
    """grdc-17-3, as printed: 10 Hz at 18 km/h is 0.5 m per cycle, 25 cm of it on at 50 %."""
    full = flow_at_tip_pressure_m3s(PLAIN, 3e5) / SPACING_M
    setup = replace(
        made_setup(rate_m3pm2=0.5 * full / 5.0), curve=pressure_curve(PULSED, np.ones(1)), pulse=PULSED.pulse
    )
    done = exact_replay(made_trace(np.full(9, 5.0), np.full(9, 0.2)), setup, ReplayMode.SAME_SPEED)
    assert done.duty_frac is not None
    assert done.duty_frac[1:] == pytest.approx(0.5)
    assert done.pressure_pa[1:] == pytest.approx(3e5)
    assert gap_per_cycle_m(5.0, 10.0, float(done.duty_frac[-1])) == pytest.approx(0.25, abs=0.005)


@pytest.mark.parametrize("family", [Family.FLAT_FAN, Family.PRE_ORIFICE, Family.AIR_INDUCTION])
@pytest.mark.parametrize("size", [2.0, 4.0, 8.0])
def test_class_bands_cover_the_range_and_name_a_class_only_where_it_is_sure(family, size):
    pattern = SprayPattern(size, math.radians(110), family, 1e5, 6e5)
    bands = class_bands(pattern)
    assert (bands[0].low_pa, bands[-1].high_pa) == (1e5, 6e5)
    for before, after in pairwise(bands):
        assert before.high_pa == after.low_pa
    for band in bands:
        middle = 0.5 * (band.low_pa + band.high_pa)
        assert band.finest <= band.coarsest
        sure = [probability_within(pattern, middle, frozenset({one})) for one in (band.finest, band.coarsest)]
        assert (max(sure) >= 0.7) is band.decided
