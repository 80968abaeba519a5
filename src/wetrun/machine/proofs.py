"""What is proven on a machine, what cancels a proof, and how much work it lasts. Our own list, from the trade.

A proof is a test that was done and passed: it speaks of the machine as it stood that day. An event changes what it
spoke of. Limits of acres, hours and days are each shop's own; the ones here are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import sqrt
from types import MappingProxyType
from typing import Final

from wetrun.spray.bounds import check_positive
from wetrun.spray.definitions import INCH_M, MINUTE_S
from wetrun.units import KILOGRAM_PER_CUBIC_METRE, M2, Kgpm3, Ratio, S

_ACRE_M2: Final[M2] = 43_560.0 * (12.0 * INCH_M) ** 2
_HOUR_S: Final[S] = 60.0 * MINUTE_S
DENSITY_MATTERS_RATIO: Final[Ratio] = 0.01
"""Change of flow at one pressure from which another density counts. Common practice, no source."""


class Proof(StrEnum):
    """What is proven, each by a test of its own."""

    WHEEL = "wheel speed number"
    RADAR = "radar speed number"
    GPS = "GPS speed"
    METER = "meter number"
    CATCH = "catch of the tips"
    PRESSURE = "pressure at the tips"
    SETTINGS = "monitor settings"
    HOLDS = "minimum hold"
    OPERATOR = "operator's check"


AGAIN: Final[Mapping[Proof, str]] = MappingProxyType(
    {
        Proof.WHEEL: "Drive the timed course both ways and set the wheel's number again.",
        Proof.RADAR: "Drive the timed course both ways and set the radar's number again.",
        Proof.GPS: "Drive the timed course both ways against GPS speed.",
        Proof.METER: "Weigh meter catches at two flows and set the meter's number again.",
        Proof.CATCH: "Catch every tip again.",
        Proof.PRESSURE: "Hold cab pressure against a gauge at the tip, section by section.",
        Proof.SETTINGS: "Read every number off the monitor and compare it with what it must be.",
        Proof.HOLDS: "Run the ramp over the speeds again and read the minimum hold.",
        Proof.OPERATOR: "Walk round with the operator, compare the numbers, sign again.",
    }
)
"""What is done again once a proof has lapsed."""


class Event(StrEnum):
    """What happens to a machine between two wet runs."""

    NEW_TIRES = "new tires"
    NEW_WHEEL_SENSOR = "wheel sensor changed or moved"
    NEW_RADAR = "radar changed or moved"
    NEW_RECEIVER = "GPS receiver changed"
    NEW_METER = "new flow meter"
    DISPLAY_SWAPPED = "display swapped"
    DISPLAY_RESET = "display reset"
    DISPLAY_UPDATED = "display updated"
    TIPS_CHANGED = "tips changed"
    PLUMBING_CHANGED = "pump, valve, hose or pressure sensor changed"
    NEW_OPERATOR = "new operator"
    NEW_CARRIER = "density of the carrier changed"


SPEED_SOURCES: Final = (Proof.WHEEL, Proof.RADAR, Proof.GPS)
CANCELS: Final[Mapping[Event, tuple[Proof, ...]]] = MappingProxyType(
    {
        Event.NEW_TIRES: (Proof.WHEEL,),
        Event.NEW_WHEEL_SENSOR: (Proof.WHEEL,),
        Event.NEW_RADAR: (Proof.RADAR,),
        Event.NEW_RECEIVER: (Proof.GPS,),
        Event.NEW_METER: (Proof.METER,),
        Event.DISPLAY_SWAPPED: (Proof.SETTINGS,),
        Event.DISPLAY_RESET: (Proof.SETTINGS,),
        Event.DISPLAY_UPDATED: (Proof.SETTINGS,),
        Event.TIPS_CHANGED: (Proof.CATCH, Proof.SETTINGS, Proof.HOLDS),
        Event.PLUMBING_CHANGED: (Proof.PRESSURE, Proof.HOLDS),
        Event.NEW_OPERATOR: (Proof.OPERATOR,),
        Event.NEW_CARRIER: (Proof.SETTINGS, Proof.HOLDS),
    }
)
"""Which proofs an event cancels; a new carrier only where it matters, see `cancelled_by`."""


@dataclass(frozen=True, slots=True)
class Proven:
    """A test that was done and passed.

    Attributes
    ----------
    proof : Proof
        What it proved.
    on : date
        Its day.
    """

    proof: Proof
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """Something that happened to the machine.

    Attributes
    ----------
    event : Event
        What.
    on : date
        Its day.
    before_tests : bool
        True if it was done before the tests of that same day; untold, it is taken to have come after them.
    was_kgpm3, now_kgpm3 : float or None
        Densities of the carrier before and after, for a new carrier [kg/m3]; None if nobody knows.
    density_in_monitor : bool
        False where the monitor's flow hangs on no density: it counts a flow meter's pulses as they are.
    """

    event: Event
    on: date
    before_tests: bool = False
    was_kgpm3: Kgpm3 | None = None
    now_kgpm3: Kgpm3 | None = None
    density_in_monitor: bool = True

    def comes_after(self, proven: Proven) -> bool:
        """Whether it changed the machine after a proof; on the same day only if not told to have come before."""
        return self.on > proven.on or (self.on == proven.on and not self.before_tests)


@dataclass(frozen=True, slots=True)
class Lasts:
    """How much work a proof lasts; None where nothing is limited.

    Attributes
    ----------
    area_m2 : float or None
        Area sprayed since [m2].
    spraying_s : float or None
        Hours sprayed since [s].
    days : int or None
        Days since.
    """

    area_m2: M2 | None = None
    spraying_s: S | None = None
    days: int | None = None


USUAL: Final[Mapping[Proof, Lasts]] = MappingProxyType(
    {
        **dict.fromkeys(SPEED_SOURCES, Lasts(days=365)),
        Proof.METER: Lasts(area_m2=5000.0 * _ACRE_M2, spraying_s=250.0 * _HOUR_S, days=365),
        Proof.CATCH: Lasts(area_m2=5000.0 * _ACRE_M2, spraying_s=250.0 * _HOUR_S, days=365),
        Proof.PRESSURE: Lasts(spraying_s=250.0 * _HOUR_S, days=365),
        Proof.SETTINGS: Lasts(days=365),
        Proof.HOLDS: Lasts(days=365),
        Proof.OPERATOR: Lasts(days=365),
    }
)
"""What a shop begins with. Common practice, no source: every shop types its own."""


def density_effect(was_kgpm3: Kgpm3, now_kgpm3: Kgpm3) -> Ratio:
    """Return what another density does to the flow at one pressure.

    Parameters
    ----------
    was_kgpm3, now_kgpm3 : float
        Densities [kg/m3].

    Returns
    -------
    float
        New over old flow, less one [ratio].

    Raises
    ------
    OutOfRange
        A density that is not above zero.

    References
    ----------
    orifice-law

    Example
    -------
    >>> round(density_effect(998.0, 1280.0), 3)
    -0.117
    """
    for density_kgpm3 in (was_kgpm3, now_kgpm3):
        check_positive("density", density_kgpm3, KILOGRAM_PER_CUBIC_METRE, remedy="Type what a gallon weighs.")
    return sqrt(was_kgpm3 / now_kgpm3) - 1.0


def cancelled_by(happened: Happened) -> tuple[Proof, ...]:
    """Return the proofs that an event cancels.

    Parameters
    ----------
    happened : Happened
        The event.

    Returns
    -------
    tuple of Proof
        A new carrier cancels the minimum hold, for a hold is a pressure; and the settings where a density stands among
        them. It cancels nothing if flow at one pressure stays within `DENSITY_MATTERS_RATIO`. Densities nobody knows
        are taken to matter.

    References
    ----------
    orifice-law
    """
    found = CANCELS[happened.event]
    if happened.event is not Event.NEW_CARRIER:
        return found
    was_kgpm3, now_kgpm3 = happened.was_kgpm3, happened.now_kgpm3
    known = was_kgpm3 is not None and now_kgpm3 is not None
    if known and abs(density_effect(was_kgpm3, now_kgpm3)) <= DENSITY_MATTERS_RATIO:  # type: ignore[arg-type]
        return ()
    return found if happened.density_in_monitor else tuple(proof for proof in found if proof is not Proof.SETTINGS)
