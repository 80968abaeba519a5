"""The exact replay of a pulse-width machine: its duty and the ground between two pulses, held against hand numbers.

A size 04 gives 1.6 L/min at 3 bar (ISO 10625). 64 L/ha under a tip that answers for 0.5 m take 0.96 L/min at 18 km/h:
a duty of 0.6. At 10 Hz the tip passes 0.5 m in a cycle, 0.2 m of it shut.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.replay_cases import made_trace
from tests.season_cases import KMH, LITRE_PER_HECTARE, planned, sprayer, tip

from wetrun.fieldlog.boom_sections import BoomSections
from wetrun.fieldlog.exact_records import LIMITS, NO_LIMIT
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.replay import ReplayMode
from wetrun.fieldlog.section_rates import section_chunks
from wetrun.fieldlog.section_tally import section_tally
from wetrun.machine.sprayer import Control
from wetrun.planning.exact_replaying import exact_setup
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.tip_set import hydraulics, tip_sets
from wetrun.planning.window import Trial
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import Family
from wetrun.spray.limits import Limit
from wetrun.spray.pulse import PulseSetting, gap_per_cycle_m
from wetrun.spray.response import AT_ONCE, Response
from wetrun.spray.turn_across import TurnCompensation

RATE = 64 * LITRE_PER_HECTARE
LEAST, GREATEST = 0.25, 0.9
WIDTH_M = 36.0


def replayed(speed_mps, response=AT_ONCE, turns=TurnCompensation.NONE, **columns):
    pulse = PulseSetting(frequency_hz=10, set_pressure_pa=3e5, least_frac=LEAST, greatest_frac=GREATEST)
    machine = sprayer(control=Control(loop=Loop.PULSE, pulse=pulse), pump=None)
    one_pass = planned("p", rate_m3pm2=RATE)
    tip_set = tip_sets(machine, (tip("04", Family.FLAT_FAN),))[-1]
    setup = hydraulics(tip_set, machine, one_pass.carrier)
    trial = Trial(setup, tip_set, one_pass, combined_limits(one_pass), usual_mps=16 * KMH)
    trace = made_trace(speed_mps, np.full(len(speed_mps), 0.2), width=WIDTH_M, full_width_m=WIDTH_M, **columns)
    ready = exact_setup(trial, trace, RATE, off_below_mps=0.0, response=response, turns=turns)
    return exact_replay(trace, ready, ReplayMode.SAME_SPEED), ready


@pytest.mark.parametrize(
    ("speed_kmh", "wanted", "duty", "gap_m", "bound"),
    [
        (18.0, 0.6, 0.6, 0.5 * 0.4, None),
        (9.0, 0.3, 0.3, 0.25 * 0.7, None),
        (4.5, 0.15, LEAST, 0.125 * 0.75, Limit.DUTY_LOW),
        (36.0, 1.2, GREATEST, 1.0 * 0.1, Limit.DUTY_HIGH),
    ],
)
def test_the_duty_is_demand_over_full_flow_between_its_limits(speed_kmh, wanted, duty, gap_m, bound) -> None:
    result, ready = replayed(np.full(20, speed_kmh * KMH))
    assert result.duty_frac is not None
    driven = slice(1, None)  # the first instant has no interval
    assert result.duty_frac[driven] == pytest.approx(duty)
    assert result.ratio[driven] == pytest.approx(duty / wanted)
    assert result.pressure_pa[driven] == pytest.approx(3e5)
    assert {None if one == NO_LIMIT else LIMITS[one] for one in result.bound[driven].tolist()} == {bound}
    assert ready.pulse is not None
    found_m = gap_per_cycle_m(speed_kmh * KMH, ready.pulse.frequency_hz, float(result.duty_frac[5]))
    assert found_m == pytest.approx(gap_m)


def test_the_duty_follows_a_step_of_speed_with_the_machine_s_lag() -> None:
    """By hand: one lag after a step from 9 to 18 km/h the duty has gone 1 - 1/e of the way from 0.3 to 0.6."""
    speed = np.where(np.arange(200) < 100, 9.0, 18.0) * KMH
    result, _ = replayed(speed, Response(lag_s=1.0))
    assert result.duty_frac is not None
    # The mean over the fifth and the sixth interval of 0.2 s lies beside its value 1 s after the step.
    near = float(result.duty_frac[104:106].mean())
    assert near == pytest.approx(0.6 - 0.3 * np.exp(-1.0), abs=0.002)
    assert result.duty_frac[99] == pytest.approx(0.3, abs=1e-6)
    assert result.duty_frac[-1] == pytest.approx(0.6, abs=1e-6)


def test_turn_compensation_gives_a_section_what_its_own_speed_asks_for_as_far_as_duty_reaches() -> None:
    """By hand: duty 0.6 reaches from 0.25/0.6 to 0.9/0.6 of the flow; a turn to the right of 30 m, sections at ±9 m.

    Left, outside: 1.3 times the speed, within reach. At ±18 m: 1.6 times the speed outside gets 1.5 times the flow.
    """
    boom = BoomSections(np.array([-18.0, -9.0, 9.0, 18.0]), np.full(4, 9.0))
    for turns, ratios in (
        (TurnCompensation.NONE, [1 / 1.6, 1 / 1.3, 1 / 0.7, 1 / 0.4]),
        (TurnCompensation.SECTION, [1.5 / 1.6, 1.0, 1.0, (0.25 / 0.6) / 0.4]),
    ):
        result, _ = replayed(np.full(20, 18 * KMH), turns=turns, curvature_radpm=np.full(20, 1 / 30.0))
        chunk = next(section_chunks(result, boom, AT_ONCE))
        assert chunk.ratio[-1].tolist() == pytest.approx(ratios)
        assert chunk.turn_ratio[-1].tolist() == pytest.approx(ratios)
        # Compensated, the outer end is 6 % under (full duty) and the inner one 4 % over (least duty): within 10 %.
        tally = section_tally(result, boom, AT_ONCE, tolerance_frac=0.1)
        assert (tally.off_cm2 == 0) == (turns is TurnCompensation.SECTION)
