"""The monitor's own arithmetic: shown rate times shown speed times width is shown flow.

What a monitor computes carries no error of its own, so this is no measurement and never a row of the covariance. It
tells exactly, but for the last digits of the screen, which width the monitor works with; and that is held against the
tape.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, sqrt

from wetrun.proving.budget import Budget
from wetrun.proving.faults import SETTINGS, Fault, FaultKind
from wetrun.proving.reference import direction_chance
from wetrun.spray.controller import Loop
from wetrun.units import Frac, M, M3pm2, M3s, Mps, Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """What the monitor shows at one moment, and how fine.

    Attributes
    ----------
    rate_m3pm2, rate_step_m3pm2 : float
        Shown rate and its last digit [m3/m2].
    speed_mps, speed_step_mps : float
        Shown speed and its last digit [m/s].
    flow_m3s, flow_step_m3s : float
        Shown flow and its last digit [m3/s]; of a machine without a meter, the chart's flow at the shown pressure.
    width_m : float
        Working width by tape of what is on [m].
    tape : Budget
        How sure the tape is, in metres.
    loop : Loop
        What the controller steers by: without a meter the monitor's flow rests on its density and its tips, too.
    """

    rate_m3pm2: M3pm2
    rate_step_m3pm2: M3pm2
    speed_mps: Mps
    speed_step_mps: Mps
    flow_m3s: M3s
    flow_step_m3s: M3s
    width_m: M
    tape: Budget
    loop: Loop = Loop.METER


@dataclass(frozen=True, slots=True)
class Identity:
    """The width that the monitor works with, against the tape.

    Attributes
    ----------
    low_m, high_m : float
        Between these lies the monitor's width, from its last digits [m].
    off_ratio : float
        Middle of them over the taped width, less one [ratio].
    standard_ratio : float
        Standard uncertainty of that, tape and last digits [ratio].
    excess : float
        How far the taped width is outside, in the tape's standard uncertainties; 0 inside.
    chance_frac : float
        How often an honest screen stands so far off [frac]; 1 inside.
    explains : tuple of Fault
        What could be wrong.
    """

    low_m: M
    high_m: M
    off_ratio: Ratio
    standard_ratio: Ratio
    excess: float
    chance_frac: Frac
    explains: tuple[Fault, ...]


def identity_of(screen: Screen) -> Identity:
    """Return the width the monitor works with, held against the tape.

    Parameters
    ----------
    screen : Screen
        What it shows.

    Returns
    -------
    Identity
        Bracket, difference, chance. The chance is an upper bound: the last digits are taken at their worst.

    References
    ----------
    rate-identity

    Example
    -------
    Bodies 50.8 cm apart, typed as 50 cm: 84 of them are 42.67 m, and the monitor works with 42 m.

    >>> from wetrun.proving.budget import Component
    >>> tape = Budget((Component("tape", 0.05),))
    >>> seen = identity_of(
    ...     Screen(
    ...         rate_m3pm2=1e-5,
    ...         rate_step_m3pm2=1e-8,
    ...         speed_mps=5.0,
    ...         speed_step_mps=0.01,
    ...         flow_m3s=0.0021,
    ...         flow_step_m3s=1e-6,
    ...         width_m=42.67,
    ...         tape=tape,
    ...     )
    ... )
    >>> round(seen.off_ratio, 4), seen.low_m < 42.0 < seen.high_m, seen.chance_frac < 0.001
    (-0.0157, True, True)
    """
    half = [screen.rate_step_m3pm2 / 2.0, screen.speed_step_mps / 2.0, screen.flow_step_m3s / 2.0]
    low_m = (screen.flow_m3s - half[2]) / ((screen.rate_m3pm2 + half[0]) * (screen.speed_mps + half[1]))
    high_m = (screen.flow_m3s + half[2]) / ((screen.rate_m3pm2 - half[0]) * (screen.speed_mps - half[1]))
    tape = screen.tape.combined / screen.width_m
    outside = max(log(low_m / screen.width_m), log(screen.width_m / high_m), 0.0)
    digits = sum(
        (h / v) ** 2 for h, v in zip(half, (screen.rate_m3pm2, screen.speed_mps, screen.flow_m3s), strict=True)
    )
    return Identity(
        low_m=low_m,
        high_m=high_m,
        off_ratio=sqrt(low_m * high_m) / screen.width_m - 1.0,
        standard_ratio=sqrt(tape**2 + digits / 3.0),
        excess=outside / tape,
        chance_frac=float(direction_chance((outside / tape) ** 2, screen.tape.freedom)),
        explains=tuple(map(Fault, (FaultKind.WIDTH,) if screen.loop is Loop.METER else SETTINGS)),
    )
