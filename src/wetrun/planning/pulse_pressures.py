"""What if a pulse-width machine held another pressure: droplet class, speeds held, duty, gaps and room for turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from wetrun.errors import NotDefined
from wetrun.machine.sprayer import Sprayer
from wetrun.planning.evidence import Evidence
from wetrun.planning.pulse_outlook import PulseOutlook, pulse_outlook
from wetrun.planning.speed_point import SpeedPoint, point_at
from wetrun.planning.window import SpeedWindow, Trial, speed_window
from wetrun.units import M3pm2, Pa

METHOD: Final = "set pressures of a pulse-width machine"
METHOD_NUMBER: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureRow:
    """One set pressure.

    Attributes
    ----------
    set_pressure_pa : float
        Held at the cab sensor [Pa].
    window : SpeedWindow
        Speeds held.
    usual : SpeedPoint
        At the usual speed.
    outlook : PulseOutlook
        Duty, gaps and turns.
    """

    set_pressure_pa: Pa
    window: SpeedWindow
    usual: SpeedPoint
    outlook: PulseOutlook


def pressure_rows(
    trial: Trial, evidence: Evidence, rate_m3pm2: M3pm2, *, sprayer: Sprayer, pressures_pa: Sequence[Pa]
) -> tuple[PressureRow, ...]:
    """Return what a set would do at other set pressures.

    Parameters
    ----------
    trial : Trial
        The set and the pass.
    evidence : Evidence
        The pass's speeds.
    rate_m3pm2 : float
        Rate [m3/m2].
    sprayer : Sprayer
        The machine.
    pressures_pa : sequence of float
        At the cab sensor [Pa].

    Returns
    -------
    tuple of PressureRow
        In the order asked.

    Raises
    ------
    NotDefined
        A machine without pulses: its pressure follows its speed.

    Notes
    -----
    The droplet class is that of the tip's pressure, which hoses and bodies keep below the set one. It stays while the
    speed changes; duty takes up the difference.

    References
    ----------
    uga-1277-1305, sprayers101-pwm
    """
    pulse = trial.setup.pulse
    if pulse is None:
        remedy = "See the speed window of `wetrun plan`."
        raise NotDefined("set pressure", reason="this machine's pressure follows its speed", remedy=remedy)
    rows = []
    for pressure_pa in pressures_pa:
        setup = replace(trial.setup, pulse=replace(pulse, set_pressure_pa=pressure_pa))
        tried = replace(trial, setup=setup)
        window, usual = (
            speed_window(tried, rate_m3pm2),
            point_at(tried, speed_mps=evidence.usual_mps, rate_m3pm2=rate_m3pm2),
        )
        outlook = pulse_outlook(tried, evidence, rate_m3pm2, sprayer)
        if outlook is not None:
            rows.append(PressureRow(set_pressure_pa=pressure_pa, window=window, usual=usual, outlook=outlook))
    return tuple(rows)
