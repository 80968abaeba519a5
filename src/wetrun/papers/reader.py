"""One reader: a unit system, and every kind of number as that reader sees it on paper."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from wetrun.percent import per_cent, signed
from wetrun.planning.judging import Share
from wetrun.quantity import Kind, System, from_display, show, to_display, unit_text
from wetrun.units import M2, Cents, Frac, Kgpm3, M3pm2, M3s, Mps, Pa

# Decimals a monitor or a gauge is read to, US and SI; other kinds take the digits of `wetrun.quantity`.
DECIMALS: Final[Mapping[Kind, tuple[int, int]]] = {
    Kind.SPEED: (1, 1),
    Kind.PRESSURE: (0, 1),
    Kind.RATE: (1, 1),
    Kind.BOOM_FLOW: (1, 0),
    Kind.TIP_FLOW: (2, 2),
    Kind.AREA: (0, 0),
}
EXACT_FRAC: Final[Frac] = 0.001
"""A number to be typed loses less than this by being printed."""
LEAST_DECIMALS: Final[Mapping[Kind, tuple[int, int]]] = {Kind.RATE: (1, 0), Kind.SPACING: (1, 1)}
MOST_DECIMALS: Final = 6
HAIR: Final = 1e-9
THOUSANDS: Final = {System.US: ",", System.SI: "\u00a0"}
MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Reader:
    """Shows SI values in one unit system, as text for paper.

    Attributes
    ----------
    system : System
        US customary or SI.
    """

    system: System

    def unit(self, kind: Kind) -> str:
        """Return the unit a kind is shown in."""
        return unit_text(kind, self.system)

    def number(self, value: float, kind: Kind) -> float:
        """Return an SI value as a number in the reader's unit, unrounded."""
        return to_display(value, kind, self.system)

    def inside(self, shown: float, kind: Kind) -> float:
        """Return the SI value of a number in the reader's unit."""
        return from_display(shown, kind, self.system)

    def text(self, value: float, kind: Kind) -> str:
        """Return an SI value with its unit."""
        if kind not in DECIMALS or not math.isfinite(value):
            return show(value, kind, self.system)
        return f"{self.digits(value, kind)} {self.unit(kind)}"

    def digits(self, value: float, kind: Kind) -> str:
        """Return an SI value without its unit, thousands parted."""
        shown = self.number(value, kind)
        places = DECIMALS[kind][self.system is System.SI]
        if kind is Kind.AREA and 0 < abs(shown) < 10:
            places = 1
        return f"{shown:,.{places}f}".replace(",", THOUSANDS[self.system])

    def speed(self, speed_mps: Mps) -> str:
        """Return a speed [m/s] with its unit."""
        return self.text(speed_mps, Kind.SPEED)

    def pressure(self, pressure_pa: Pa) -> str:
        """Return a pressure [Pa] with its unit."""
        return self.text(pressure_pa, Kind.PRESSURE)

    def difference(self, pressure_pa: Pa) -> str:
        """Return what a pressure is off, or is lost [Pa], as finely as a gauge could still show it, with its unit."""
        places = 1 if self.system is System.US else 2
        return f"{signed(self.number(pressure_pa, Kind.PRESSURE), places, '')} {self.unit(Kind.PRESSURE)}"

    def rate(self, rate_m3pm2: M3pm2) -> str:
        """Return a carrier rate [m3/m2] with its unit, as exact as it has to be typed."""
        return self.exact(rate_m3pm2, Kind.RATE)

    def exact(self, value: float, kind: Kind) -> str:
        """Return an SI value with its unit and enough decimals to be typed: printing loses under a thousandth."""
        shown = self.number(value, kind)
        enough = (n for n in range(MOST_DECIMALS) if 0.5 * 10.0**-n < EXACT_FRAC * abs(shown))
        least = LEAST_DECIMALS.get(kind, (0, 0))[self.system is System.SI]
        digits = f"{shown:.{max(next(enough, MOST_DECIMALS), least)}f}"
        while "." in digits and digits[-1] in "0." and len(digits.partition(".")[2]) > least:
            digits = digits[:-1].removesuffix(".")
        return f"{digits} {self.unit(kind)}"

    def inward(self, low_mps: Mps, high_mps: Mps) -> tuple[str, str]:
        """Return both ends of a speed window [m/s] without unit, rounded into it: what is printed is held."""
        low, high = self.number(low_mps, Kind.SPEED), self.number(high_mps, Kind.SPEED)
        places, ends = DECIMALS[Kind.SPEED][0] - 1, (math.inf, -math.inf)
        while ends[0] > ends[1] and places < MOST_DECIMALS:
            places += 1
            ends = _rounded(low, places, math.ceil), _rounded(high, places, math.floor)
        return f"{ends[0]:.{places}f}", f"{ends[1]:.{places}f}"

    def at_least(self, speed_mps: Mps) -> str:
        """Return a speed [m/s] with its unit, rounded up: who drives at it is above the limit."""
        return f"{self.inward(speed_mps, math.inf)[0]} {self.unit(Kind.SPEED)}"

    def flow(self, flow_m3s: M3s) -> str:
        """Return a boom flow [m3/s] with its unit."""
        return self.text(flow_m3s, Kind.BOOM_FLOW)

    def area(self, area_m2: M2) -> str:
        """Return an area [m2] with its unit."""
        return self.text(area_m2, Kind.AREA)

    def density(self, density_kgpm3: Kgpm3) -> str:
        """Return a density [kg/m3] with its unit."""
        return self.text(density_kgpm3, Kind.DENSITY)


def _rounded(shown: float, places: int, towards: Callable[[float], int]) -> float:
    """Round one way; a hair of floating point is no reason to go a whole step."""
    if not math.isfinite(shown):
        return shown
    nearest = round(shown, places)
    return nearest if math.isclose(shown, nearest, rel_tol=HAIR) else towards(shown * 10**places) / 10**places


def percent(share_frac: Frac) -> str:
    """Return a share as whole per cent, with words at the ends that rounding would blur.

    Parameters
    ----------
    share_frac : float
        Share [frac].

    Returns
    -------
    str
        Such as "94 %"; "over 99 %" and "under 1 %" rather than a false 100 or 0.

    Example
    -------
    >>> percent(0.9412), percent(0.9991), percent(1.0), percent(0.002)
    ('94 %', 'over 99 %', '100 %', 'under 1 %')
    """
    if 0.0 < share_frac < 0.01:
        return "under 1 %"
    if 0.99 < share_frac < 1.0:
        return "over 99 %"
    return f"{per_cent(share_frac, places=0)}"


def bracket(share: Share) -> str:
    """Return both ends of a share in tenths of a per cent; one number where they agree.

    Parameters
    ----------
    share : Share
        The bracket.

    Returns
    -------
    str
        Such as "93.6–94.1 %".

    Example
    -------
    >>> bracket(Share(0.936, 0.941)), bracket(Share(0.5, 0.50001))
    ('93.6–94.1 %', '50.0 %')
    """
    low, high = f"{100 * share.lower_frac:.1f}", f"{100 * share.upper_frac:.1f}"
    return f"{low} %" if low == high else f"{low}–{high} %"


def money(price_cents: Cents | None) -> str:
    """Return an amount in the shop's currency [cents]; words if no price is known."""
    return "price not known" if price_cents is None else f"{price_cents / 100:,.2f}"


def day(when: date) -> str:
    """Return a date that no reader takes for another: 1 May 2026.

    Example
    -------
    >>> day(date(2026, 5, 1))
    '1 May 2026'
    """
    return f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def listed(parts: list[str], *, joint: str = "and") -> str:
    """Return words as a list in a sentence.

    Example
    -------
    >>> listed(["wind", "rate", "dates"])
    'wind, rate and dates'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} {joint} {parts[-1]}" if parts else ""
