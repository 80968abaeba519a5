"""A first-order answer with delay to a step: what a rate controller does when speed or sections change."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log
from typing import Final

from wetrun.errors import NotDefined
from wetrun.units import Frac, S

SETTLED_BAND_FRAC: Final[Frac] = 0.05
"""A reading within this share of where it ends has settled: the band the finished rate is held to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """A reading that stays for a delay, then goes to its new value by the same share in every second.

    Attributes
    ----------
    before, after : float
        Where it starts and where it ends, in the unit of the reading.
    delay_s : float
        From the change until anything moves [s].
    lag_s : float
        Time constant of the approach: after one of them 63 % of the step is done [s].
    after_standard : float
        Standard uncertainty of `after`.
    settling_standard_s : float
        Standard uncertainty of the time to settle within 5 % [s].
    scatter : float
        Standard deviation of single readings around the fit.
    freedom : float
        Readings less the four numbers fitted.
    """

    before: float
    after: float
    delay_s: S
    lag_s: S
    after_standard: float = 0.0
    settling_standard_s: S = 0.0
    scatter: float = 0.0
    freedom: float = 0.0

    def at(self, time_s: S) -> float:
        """Return the value a time after the change.

        Parameters
        ----------
        time_s : float
            Time since the change [s].

        Returns
        -------
        float
            In the unit of the reading.

        Example
        -------
        >>> Response(before=0.0, after=100.0, delay_s=1.0, lag_s=2.0).at(1.0)
        0.0
        >>> round(Response(before=0.0, after=100.0, delay_s=1.0, lag_s=2.0).at(3.0), 1)
        63.2
        """
        if time_s <= self.delay_s:
            return self.before
        return self.after + (self.before - self.after) * exp((self.delay_s - time_s) / self.lag_s)

    def settling_s(self, band_frac: Frac = SETTLED_BAND_FRAC) -> S:
        """Return the time from the change until the value stays within a share of where it ends.

        Parameters
        ----------
        band_frac : float
            Share of the final value, not of the step [frac].

        Returns
        -------
        float
            Time [s]; zero if the step itself lies within the band.

        Example
        -------
        >>> round(Response(before=0.0, after=100.0, delay_s=1.0, lag_s=2.0).settling_s(), 2)  # 1 + 2 ln 20
        6.99
        """
        step, band = abs(self.after - self.before), band_frac * abs(self.after)
        if step <= band:
            return 0.0
        if band == 0.0:
            raise NotDefined("settling time", reason="the reading ends at zero", remedy="Judge it by when it is shut")
        return self.delay_s + self.lag_s * log(step / band)
