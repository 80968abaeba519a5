"""What the wear of a set costs on this machine, and when to look again."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.errors import OutOfRange
from wetrun.percent import off_per_cent, per_cent
from wetrun.spray.controller import Hydraulics
from wetrun.spray.feedback import wear_effect
from wetrun.spray.wear import time_at_wear_s
from wetrun.units import FRACTION, M2, M3, Cents, Frac, M3pm2, Ratio, S


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonUse:
    """What the machine sprays in a season.

    Attributes
    ----------
    sprayed_m2 : float
        Area, every pass counted [m2].
    rate_m3pm2 : float
        Usual rate [m3/m2].
    product_cents : int
        What the products for it cost [cents].
    """

    sprayed_m2: M2
    rate_m3pm2: M3pm2
    product_cents: Cents


@dataclass(frozen=True, slots=True)
class WearCost:
    """What wear costs by control loop.

    Attributes
    ----------
    rate_ratio, pressure_ratio : float
        Delivered over target rate, and pressure over that of a new set [ratio].
    least_speed_ratio : float
        Slow end of the speed window over that of a new set, where the pressure has a floor [ratio].
    over_m3 : float or None
        Liquid put down beyond target in a season [m3]; None where the rate is held.
    over_cents : int or None
        What the product in it costs [cents]; None where the rate is held.
    words : str
        The same for a reader.
    """

    rate_ratio: Ratio
    pressure_ratio: Ratio
    least_speed_ratio: Ratio
    over_m3: M3 | None
    over_cents: Cents | None
    words: str


def wear_cost(setup: Hydraulics, wear_ratio: Ratio, season: SeasonUse, *, cv_frac: Frac | None = None) -> WearCost:
    """Return what an evenly worn set costs in a season.

    Parameters
    ----------
    setup : Hydraulics
        The tip set on its machine.
    wear_ratio : float
        Flow of the set over new at the same pressure [ratio].
    season : SeasonUse
        What is sprayed.
    cv_frac : float or None
        Evenness of the tips caught [frac]; lost under every loop.

    Returns
    -------
    WearCost
        Volume and money only where nothing holds the rate: pressure is controlled, or nothing is.

    Notes
    -----
    The droplet class that goes with the lower pressure is the tip's own matter: `wetrun.spray.droplets` at the pressure
    a new set would need, times ``pressure_ratio``.

    References
    ----------
    iclass-2018-334, rate-identity

    Example
    -------
    >>> from wetrun.spray.controller import Loop
    >>> fixed = Hydraulics(loop=Loop.FIXED, law=None, low_pa=1, high_pa=2, tips=1)
    >>> cost = wear_cost(fixed, 1.1, SeasonUse(sprayed_m2=1e6, rate_m3pm2=1e-5, product_cents=100_000))
    >>> round(cost.over_m3, 6), cost.over_cents
    (1.0, 10000)
    """
    effect = wear_effect(setup, wear_ratio)
    held = effect.rate_ratio == 1.0
    over = effect.rate_ratio - 1.0
    uneven = (
        ""
        if cv_frac is None
        else f" Tip to tip the set spreads {per_cent(cv_frac)} (CV); no controller takes that out."
    )
    slow = wear_ratio if held and effect.pressure_ratio != 1.0 else 1.0
    window = f" The slowest speed rises {off_per_cent(slow - 1.0, places=0)}." if slow != 1.0 else ""
    return WearCost(
        effect.rate_ratio,
        effect.pressure_ratio,
        slow,
        None if held else over * season.sprayed_m2 * season.rate_m3pm2,
        None if held else round(over * season.product_cents),
        f"{effect.words}{window}{uneven}",
    )


@dataclass(frozen=True, slots=True)
class NextCheck:
    """When the set will have worn to the limit, in spraying time from new.

    Attributes
    ----------
    expected_s : float
        By the square root of time [s].
    earliest_s : float
        If wear goes straight in time and is today as high as its doubt allows [s].
    words : str
        What to rely on.
    """

    expected_s: S
    earliest_s: S
    words: str


def next_check(time_s: S, wear_ratio: Ratio, limit_ratio: Ratio, *, expanded: float = 0.0) -> NextCheck:
    """Return when to catch the set again.

    Parameters
    ----------
    time_s : float
        Spraying time of the set so far [s].
    wear_ratio, limit_ratio : float
        Flow over new today, and at which the set goes [ratio].
    expanded : float
        Expanded uncertainty of today's wear, as a share.

    Returns
    -------
    NextCheck
        The expected time, and the earliest on which to rely.

    Raises
    ------
    OutOfRange
        No wear that can be seen yet, or a limit already passed.

    Notes
    -----
    Two published tests disagree: one has wear by the square root of time, one nearly straight in time. Between the
    first measured wear and the limit the straight law is the earlier, so it sets the date.

    References
    ----------
    reichard-1991, sciendo-wear-2018

    Example
    -------
    >>> check = next_check(360_000.0, 1.05, 1.10)
    >>> round(check.expected_s / 3600), round(check.earliest_s / 3600)
    (400, 200)
    """
    wear_frac, limit_frac = wear_ratio - 1.0, limit_ratio - 1.0
    if not 0.0 < wear_frac < limit_frac:
        remedy = "Below zero there is no wear to go by; at the limit the set goes now."
        raise OutOfRange("wear over new", wear_frac, FRACTION, low=0.0, high=limit_frac, remedy=remedy)
    expected_s = time_at_wear_s(time_s, wear_frac, limit_frac)
    most_frac = min(wear_frac + expanded, limit_frac)
    earliest_s = time_s * limit_frac / most_frac
    sure = "" if wear_frac > expanded else " Today's wear is within its own doubt: catch again before relying on it."
    words = f"Catch again before {limit_frac / most_frac:.1f} times the spraying time so far.{sure}"
    return NextCheck(expected_s, earliest_s, words)
