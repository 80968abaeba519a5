"""A tip set on a pulse-width machine over a pass: duty and the ground passed shut, room for turns, and what to ask."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from wetrun.errors import NotDefined
from wetrun.machine.sprayer import Sprayer
from wetrun.machine.tip import Tip
from wetrun.planning.boom_turn import tip_offsets_m
from wetrun.planning.evidence import Evidence
from wetrun.planning.speed_point import point_at
from wetrun.planning.window import Trial
from wetrun.spray.droplets import Family
from wetrun.spray.pulse import gap_per_cycle_m
from wetrun.spray.turn_across import TurnCompensation, least_radius_m, reach_of_duty
from wetrun.units import Frac, M, M3pm2, Mps

PLANNED_DUTY: Final[tuple[Frac, Frac]] = (0.6, 0.8)
"""What is planned at usual speed; sprayers101-pwm."""
HAIR: Final = 1e-6
LEAST_INDUCTION_FRAC: Final[Frac] = 0.4
"""Below 30 to 40 % air-induction tips are generally not pulsed; grdc-17-4."""


class PulseCaution(Enum):
    """What to look up or to change."""

    BARRED = "this tip is not to be pulsed unless its maker says so"
    NOBODY_SAID = "nobody said whether this tip may be pulsed"
    INDUCTION_LOW = "an air-induction tip at a duty below 40 %"
    STREAMS = "streams have no depth along the way that would fill a gap"
    LITTLE_ROOM = "little duty is left for more speed and for the outer end of a turn"
    LOW_DUTY = "a low duty at usual speed: long gaps, and little room to slow down"


@dataclass(frozen=True, slots=True)
class PulseRow:
    """One speed: what share of the time a tip is open [frac], and the ground it passes shut, per pulse [m]."""

    name: str
    speed_mps: Mps
    duty_frac: Frac
    gap_m: M


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseOutlook:
    """A set on pulses over one pass.

    Attributes
    ----------
    rows : tuple of PulseRow
        At slow, usual and fast.
    least_radius_m : float
        From this radius of the boom's middle outwards every tip can follow at the usual speed [m]; infinite for none.
    turns : TurnCompensation
        What the machine is said to do in turns.
    cautions : tuple of PulseCaution
        What to look up or to change.
    """

    rows: tuple[PulseRow, ...]
    least_radius_m: M
    turns: TurnCompensation
    cautions: tuple[PulseCaution, ...]


def pulse_outlook(trial: Trial, evidence: Evidence, rate_m3pm2: M3pm2, sprayer: Sprayer) -> PulseOutlook | None:
    """Return what a set does on a pulse-width machine over a pass.

    Parameters
    ----------
    trial : Trial
        The set and the pass.
    evidence : Evidence
        Its slow, usual and fast speed.
    rate_m3pm2 : float
        Rate [m3/m2].
    sprayer : Sprayer
        The machine.

    Returns
    -------
    PulseOutlook or None
        None for a machine without pulses.

    Notes
    -----
    A gap is that of one tip. Neighbours that pulse in turn and the fan's own depth fill part of it; both are left out.

    References
    ----------
    grdc-17-3, grdc-17-4, sprayers101-pwm
    """
    pulse = trial.setup.pulse
    if pulse is None:
        return None
    speeds = {"slow": evidence.slow_mps, "usual": evidence.usual_mps, "fast": evidence.fast_mps}
    rows = tuple(_row(name, speed_mps, trial, rate_m3pm2) for name, speed_mps in speeds.items())
    usual_frac = rows[1].duty_frac
    return PulseOutlook(
        rows=rows,
        least_radius_m=least_radius_m(float(tip_offsets_m(sprayer.boom)[-1]), reach_of_duty(pulse, usual_frac)),
        turns=sprayer.control.turns,
        cautions=_cautions((trial.tip_set.tip, *trial.tip_set.odd), rows),
    )


def _row(name: str, speed_mps: Mps, trial: Trial, rate_m3pm2: M3pm2) -> PulseRow:
    pulse = trial.setup.pulse
    duty_frac = point_at(trial, speed_mps=speed_mps, rate_m3pm2=rate_m3pm2).duty_frac
    if pulse is None or duty_frac is None:
        raise NotDefined("duty", reason="this machine does not pulse its tips", remedy="Ask for its pressures instead.")
    # Full duty comes out of two roots; what they differ by is no gap.
    if duty_frac > pulse.greatest_frac - HAIR:
        duty_frac = pulse.greatest_frac
    return PulseRow(name, speed_mps, duty_frac, gap_per_cycle_m(speed_mps, pulse.frequency_hz, duty_frac))


def _cautions(tips: tuple[Tip, ...], rows: tuple[PulseRow, ...]) -> tuple[PulseCaution, ...]:
    least_frac, usual_frac = min(row.duty_frac for row in rows), rows[1].duty_frac
    induction = any(tip.family is Family.AIR_INDUCTION for tip in tips)
    barred = not all(tip.may_pulse for tip in tips)
    told = (
        (barred, PulseCaution.BARRED),
        (not barred and any(tip.pulse is None for tip in tips), PulseCaution.NOBODY_SAID),
        (induction and least_frac < LEAST_INDUCTION_FRAC, PulseCaution.INDUCTION_LOW),
        (any(tip.family is Family.STREAMER for tip in tips), PulseCaution.STREAMS),
        (usual_frac > PLANNED_DUTY[1], PulseCaution.LITTLE_ROOM),
        (usual_frac < PLANNED_DUTY[0], PulseCaution.LOW_DUTY),
    )
    return tuple(caution for holds, caution in told if holds)
