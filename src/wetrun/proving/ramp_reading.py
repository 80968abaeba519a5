"""What is read at a step of a ramp, how far each instrument may be trusted, and the rules it is held to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.errors import NotDefined
from wetrun.proving.rule import WHOLE_RATE_5, Rule
from wetrun.proving.uncertainty import Budget, Component, rectangular
from wetrun.units import Frac, S


class Shown(StrEnum):
    """What is read at a step; values in m3/m2, m3/s, Pa, and shares of a pulse."""

    RATE = "shown rate"
    METER = "meter flow"
    CAB = "cab pressure"
    TIP = "tip pressure"
    DUTY = "shown duty"


PRESSURES: Final = frozenset({Shown.CAB, Shown.TIP})

PRESSURE_OF_FLOW_5: Final = Rule("pressure that ±5 % of flow takes", 0.95**2 - 1.0, 1.05**2 - 1.0, "orifice-law")
DUTY_OF_FLOW_5: Final = Rule("duty that ±5 % of flow takes", -0.05, 0.05, "rate-identity")
CLOSING_10: Final = Rule("pressure within ±10 % when sections close", -0.10, 0.10, "iso-16122-2-closing")
HUNTING_5: Final = Rule("swings that stay within ±5 %", -0.05, 0.05, "osu-5-percent")


@dataclass(frozen=True, slots=True, kw_only=True)
class RampRules:
    """What a ramp is judged by; every limit named with its source.

    Attributes
    ----------
    flow, pressure : Rule
        How far rate and flow, and pressures, may be from what was predicted.
    duty : Rule
        How far the duty of a pulse-width machine may be from what was predicted.
    closing : Rule
        How far the pressure may move when sections close.
    hunting : Rule
        How far a settled reading may swing.
    settle_s : float
        Time within which a reading should settle [s]. Nothing published sets one.
    settle_source : str
        Where that limit is from.

    References
    ----------
    osu-5-percent, iso-16122-2-closing, ramp-own-choice, sharda-boom-valves, section-control-settling
    """

    flow: Rule = WHOLE_RATE_5
    pressure: Rule = PRESSURE_OF_FLOW_5
    duty: Rule = DUTY_OF_FLOW_5
    closing: Rule = CLOSING_10
    hunting: Rule = HUNTING_5
    settle_s: S = 5.0
    settle_source: str = "ramp-own-choice"

    def of(self, what: Shown) -> Rule:
        """Return the rule a kind of reading is held to."""
        of_duty = self.duty if what is Shown.DUTY else self.flow
        return self.pressure if what in PRESSURES else of_duty


@dataclass(frozen=True, slots=True)
class Reading:
    """What one instrument showed at one step.

    Attributes
    ----------
    what : Shown
        Which.
    values : tuple of float
        Settled readings, repeats of one another; or the whole log if times are given. SI.
    times_s : tuple of float
        Times since the change [s]; empty for settled readings.
    """

    what: Shown
    values: tuple[float, ...]
    times_s: tuple[S, ...] = ()

    def __post_init__(self) -> None:
        if not self.values:
            raise NotDefined(self.what.value, reason="no reading was entered", remedy="Enter it or leave the line out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """How far an instrument may be off, as standard uncertainties.

    Attributes
    ----------
    what : Shown
        Which.
    relative_frac : float
        Share of the reading [frac]; the same at every step.
    absolute : float
        In the unit of the reading; the same at every step.
    display_step : float
        Last step of its display, in the unit of the reading.
    source_key : str
        Where these are from.
    """

    what: Shown
    relative_frac: Frac = 0.0
    absolute: float = 0.0
    display_step: float = 0.0
    source_key: str = "user"

    def budget(self, value: float) -> Budget:
        """Return the doubt of one reading of it; what is the same at every step carries a shared cause."""
        name, key = self.what.value, self.source_key
        relative, zero = f"{name}, share of reading", f"{name}, zero"
        return Budget(
            (
                Component(relative, self.relative_frac * value, source_key=key, cause=relative),
                Component(zero, self.absolute, source_key=key, cause=zero),
                Component(f"{name}, display", rectangular(0.5 * self.display_step), source_key=key),
            )
        )
