"""Wear of a tip over time."""

from __future__ import annotations

from wetrun.spray.bounds import check_positive
from wetrun.units import FRACTION, SECOND, Frac, S


def time_at_wear_s(time_s: S, wear_frac: Frac, limit_frac: Frac) -> S:
    """Return the spraying time at which wear reaches a limit, from wear measured once.

    Parameters
    ----------
    time_s
        Spraying time after which the wear was measured [s].
    wear_frac
        Flow above new, as a share of new [frac].
    limit_frac
        Flow above new at which the tips are changed [frac].

    Returns
    -------
    S
        Spraying time from new to the limit [s].

    Raises
    ------
    OutOfRange
        A time, wear or limit that is not positive.

    Notes
    -----
    Wear by the square root of time. New tips wear in fastest, and one accelerated test was nearly straight in time:
    measure again before relying on it.

    References
    ----------
    reichard-1991

    Example
    -------
    >>> round(time_at_wear_s(100.0, 0.10, 0.05), 9)
    25.0
    """
    check_positive("spraying time", time_s, SECOND, remedy="Enter the time since the tips were new.")
    check_positive("wear", wear_frac, FRACTION, remedy="Wear that cannot be measured yet says nothing of its limit.")
    check_positive("limit of wear", limit_frac, FRACTION, remedy="Enter the limit above new, such as 0.10.")
    return time_s * (limit_frac / wear_frac) ** 2
