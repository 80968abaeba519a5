"""Agitation against the tank it has to keep mixed, and the pump that has to feed boom and agitation."""

from __future__ import annotations

from typing import Final

from wetrun.spray.bounds import check_positive
from wetrun.spray.definitions import MINUTE_S
from wetrun.units import CUBIC_METRE, CUBIC_METRE_PER_SECOND, M3, Frac, M3s, Ratio, S

LEAST_PER_MINUTE_FRAC: Final[Frac] = 0.02
"""Share of the tank's volume agitation should move each minute, at least; see grdc-pump-video."""
MOST_PER_MINUTE_FRAC: Final[Frac] = 0.03
"""The greater of the two published shares; see grdc-pump-video."""
PUMP_RESERVE_RATIO: Final[Ratio] = 0.2
"""What a pump is chosen larger than boom and agitation need, for wear; see vt-442-452."""


def agitation_flow_m3s(tank_m3: M3, per_minute_frac: Frac) -> M3s:
    """Return the flow that moves a share of the tank each minute.

    Parameters
    ----------
    tank_m3 : float
        Volume in the tank [m3].
    per_minute_frac : float
        Share of it a minute [frac].

    Returns
    -------
    float
        Agitation flow [m3/s].

    Notes
    -----
    Published shares differ (2 to 3 % here; sellers of jets ask 8 to 12 % before any boost by the jets). The flow is
    that of the pump, not what jets drag along.

    References
    ----------
    grdc-pump-video

    Example
    -------
    >>> round(agitation_flow_m3s(6.5, 0.03) * 60e3)  # 6500 L at 3 % a minute: L/min
    195
    """
    return tank_m3 * per_minute_frac / MINUTE_S


def turnover_s(tank_m3: M3, agitation_m3s: M3s) -> S:
    """Return how long agitation takes to move the whole tank once.

    Parameters
    ----------
    tank_m3 : float
        Volume in the tank [m3].
    agitation_m3s : float
        Flow of the agitation [m3/s].

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    OutOfRange
        For an empty tank or no flow.

    References
    ----------
    grdc-pump-video

    Example
    -------
    >>> round(turnover_s(6.5, 6.5 * 0.02 / 60) / 60)  # 2 % a minute: minutes
    50
    """
    check_positive("volume in the tank", tank_m3, CUBIC_METRE, remedy="Enter the tank's volume.")
    check_positive("agitation flow", agitation_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter what agitation takes.")
    return tank_m3 / agitation_m3s


def pump_flow_needed_m3s(boom_m3s: M3s, agitation_m3s: M3s, *, reserve_ratio: Ratio = PUMP_RESERVE_RATIO) -> M3s:
    """Return the flow a pump should be chosen for.

    Parameters
    ----------
    boom_m3s, agitation_m3s : float
        What boom (at top speed and rate) and agitation take [m3/s].
    reserve_ratio : float
        Reserve for wear, over what is needed [ratio].

    Returns
    -------
    float
        Flow at working pressure [m3/s]; the printed rating of a pump is at low pressure.

    References
    ----------
    vt-442-452, pump-20-percent

    Example
    -------
    >>> round(pump_flow_needed_m3s(8.0, 2.0), 9)
    12.0
    """
    return (boom_m3s + agitation_m3s) * (1.0 + reserve_ratio)
