"""A set on pulses over a pass: duty, gaps, room for turns, set pressures, and what nobody said of the tip."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from tests.season_cases import KMH, LITRE_PER_HECTARE, planned, sprayer, tip

from wetrun.errors import NotDefined
from wetrun.machine.sprayer import Control
from wetrun.papers.pulse_words import caution_words
from wetrun.planning.evidence import evidence_of_stated
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import StatedSpeeds
from wetrun.planning.pulse_outlook import PulseCaution, pulse_outlook
from wetrun.planning.pulse_pressures import pressure_rows
from wetrun.planning.tip_set import hydraulics, tip_sets
from wetrun.planning.window import Trial
from wetrun.spray.controller import Loop
from wetrun.spray.droplets import Family
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.turn_across import TurnCompensation

RATE = 64 * LITRE_PER_HECTARE
PULSE = PulseSetting(frequency_hz=10, set_pressure_pa=3e5)
SPEEDS = StatedSpeeds(9 * KMH, 18 * KMH, 30 * KMH)


def _tip(family, may):
    made = replace(tip("04", family), pulse=may)
    return replace(made, pattern=None) if family is Family.STREAMER else made


def asked(family=Family.FLAT_FAN, *, pulse=PULSE, may=None, speeds=SPEEDS):
    """Size 04 at 3 bar gives 1.6 L/min; 64 L/ha on 0.5 m takes 0.96 L/min at 18 km/h."""
    loop = Loop.METER if pulse is None else Loop.PULSE
    machine = sprayer(
        control=Control(loop=loop, pulse=pulse, turns=TurnCompensation.TIP if pulse else TurnCompensation.NONE),
        pump=None,
    )
    one_pass = planned("p", rate_m3pm2=RATE)
    tip_set = tip_sets(machine, (_tip(family, may),))[-1]
    setup = hydraulics(tip_set, machine, one_pass.carrier)
    evidence = evidence_of_stated(speeds, machine.boom.width_m)
    return Trial(setup, tip_set, one_pass, combined_limits(one_pass), evidence.usual_mps), evidence, machine


def test_duty_and_gap_at_slow_usual_and_fast_by_hand():
    trial, evidence, machine = asked()
    outlook = pulse_outlook(trial, evidence, RATE, machine)
    assert outlook is not None
    assert [row.duty_frac for row in outlook.rows] == pytest.approx([0.3, 0.6, 1.0])
    assert [row.gap_m for row in outlook.rows] == pytest.approx([0.25 * 0.7, 0.5 * 0.4, 0.0])
    half_m = (machine.boom.width_m - machine.boom.spacing_m) / 2
    assert outlook.least_radius_m == pytest.approx(half_m / (1 / 0.6 - 1))  # up by two thirds, down by two thirds
    assert outlook.turns is TurnCompensation.TIP


@pytest.mark.parametrize(
    ("family", "may", "usual_kmh", "cautions"),
    [
        (Family.FLAT_FAN, True, 20.0, []),
        (Family.FLAT_FAN, None, 20.0, [PulseCaution.NOBODY_SAID]),
        (Family.FLAT_FAN, False, 20.0, [PulseCaution.BARRED]),
        (Family.AIR_INDUCTION, None, 20.0, [PulseCaution.BARRED, PulseCaution.INDUCTION_LOW]),
        (Family.AIR_INDUCTION, True, 20.0, [PulseCaution.INDUCTION_LOW]),
        (Family.STREAMER, True, 20.0, [PulseCaution.STREAMS]),
        (Family.FLAT_FAN, True, 27.0, [PulseCaution.LITTLE_ROOM]),
        (Family.FLAT_FAN, True, 12.0, [PulseCaution.LOW_DUTY]),
    ],
)
def test_what_nobody_said_and_what_is_too_much_or_too_little_is_told_with_what_to_do(family, may, usual_kmh, cautions):
    speeds = StatedSpeeds(9 * KMH, usual_kmh * KMH, 30 * KMH)
    trial, evidence, machine = asked(family, may=may, speeds=speeds)
    outlook = pulse_outlook(trial, evidence, RATE, machine)
    assert outlook is not None
    assert list(outlook.cautions) == cautions
    assert len(caution_words(outlook)) == len(cautions)


def test_full_duty_in_the_middle_leaves_nothing_to_turn_with():
    trial, evidence, machine = asked(speeds=StatedSpeeds(20 * KMH, 31 * KMH, 33 * KMH))
    outlook = pulse_outlook(trial, evidence, RATE, machine)
    assert outlook is not None
    assert math.isinf(outlook.least_radius_m)
    assert outlook.rows[1].gap_m == 0.0


def test_set_pressures_move_the_class_and_the_duty_but_not_with_speed():
    trial, evidence, machine = asked()
    rows = pressure_rows(trial, evidence, RATE, sprayer=machine, pressures_pa=[1.5e5, 2.5e5, 3.5e5])
    duties = [row.outlook.rows[1].duty_frac for row in rows]
    assert duties == pytest.approx([0.6 * (3.0 / bar) ** 0.5 for bar in (1.5, 2.5, 3.5)])
    drops_m = [row.usual.droplets.dv50_m for row in rows if row.usual.droplets]
    assert len(drops_m) == 3
    assert drops_m == sorted(drops_m, key=lambda drop_m: -(drop_m or 0.0))
    assert len(set(drops_m)) == 3
    assert [row.window.high_mps for row in rows] == sorted(row.window.high_mps for row in rows)


def test_a_machine_without_pulses_has_no_outlook_and_no_set_pressure():
    trial, evidence, machine = asked(pulse=None)
    assert pulse_outlook(trial, evidence, RATE, machine) is None
    with pytest.raises(NotDefined, match="pressure follows its speed"):
        pressure_rows(trial, evidence, RATE, sprayer=machine, pressures_pa=[3e5])
