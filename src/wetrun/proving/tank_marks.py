"""Readings on tank marks, to be shown beside the meter and never to set it by."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.proving.meter import Basis, MeterTest
from wetrun.units import M3, Pulsepm3, Ratio


@dataclass(frozen=True, slots=True)
class Beside:
    """What tank marks said against the proven meter; it is no basis of any number.

    Attributes
    ----------
    name : str
        As on the sheet.
    marks_m3 : float
        Volume by the marks [m3].
    metered_m3 : float
        What the proven meter makes of its pulses [m3].
    marks_off_ratio : float
        Marks over meter, less one [ratio].
    """

    name: str
    marks_m3: M3
    metered_m3: M3
    marks_off_ratio: Ratio


def beside(test: MeterTest, measured_pulsepm3: Pulsepm3) -> tuple[Beside, ...]:
    """Return how far the tank's marks are off the proven meter.

    Parameters
    ----------
    test : MeterTest
        The test; only its readings on tank marks are used.
    measured_pulsepm3 : float
        The meter's number from catches that count [pulse/m3].

    Returns
    -------
    tuple of Beside
        Volumes [m3]; a reading without pulses or volume is left out.

    Notes
    -----
    Marks are often wrong, and read on level ground only. The meter proves the marks, never the other way round.

    References
    ----------
    grdc-13-3
    """
    found = []
    for catch in test.catches:
        pulses = test.pulses_of(catch)
        if catch.basis is Basis.TANK_MARK and pulses and catch.volume_m3:
            metered_m3 = pulses / measured_pulsepm3
            found.append(Beside(catch.name, catch.volume_m3, metered_m3, catch.volume_m3 / metered_m3 - 1.0))
    return tuple(found)
