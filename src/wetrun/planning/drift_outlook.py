"""Drift as an order of magnitude for one day: what published trials found, and what becomes of single drops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from wetrun.errors import OutOfRange
from wetrun.spray.drift import carried_m, drop_life_s, fall_speed_mps, sediment_frac
from wetrun.units import KELVIN, Frac, K, M, Mps, S

METHOD: Final = "drift outlook"
METHOD_NUMBER: Final = 1
DROPS_M: Final[tuple[M, ...]] = (50e-6, 100e-6, 150e-6, 200e-6, 300e-6)
TRIAL_HEIGHT_M: Final[M] = 0.5
TRIAL_WIND_MPS: Final[tuple[Mps, Mps]] = (1.0, 5.0)
TRIAL_SPEED_MPS: Final[Mps] = 8.0 / 3.6


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftQuestion:
    """The day.

    Attributes
    ----------
    height_m : float
        Tips above the crop [m].
    wind_mps : float
        At boom height [m/s].
    speed_mps : float or None
        Ground speed [m/s]; None where nobody said.
    dry_k, wet_k : float or None
        Dry-bulb and wet-bulb temperature [K]; both or neither.
    applications : int
        How often the field is sprayed in the season.
    """

    height_m: M
    wind_mps: Mps
    speed_mps: Mps | None = None
    dry_k: K | None = None
    wet_k: K | None = None
    applications: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class DropFate:
    """What becomes of one drop of clean water that only falls.

    Attributes
    ----------
    drop_m : float
        Diameter [m].
    fall_s : float
        Time to fall from the boom at its even speed [s].
    carried_m : float
        How far the wind takes it meanwhile, at most [m].
    life_s : float or None
        How long it lasts [s]; None where the air's dryness is not known.
    """

    drop_m: M
    fall_s: S
    carried_m: M
    life_s: S | None

    @property
    def dries_first(self) -> bool:
        """Whether its water is gone before it lands; what was dissolved drifts on."""
        return self.life_s is not None and self.life_s < self.fall_s


@dataclass(frozen=True, slots=True)
class FallenShare:
    """What fell at a distance from the last tip [m], over the rate [frac]."""

    distance_m: M
    share_frac: Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftOutlook:
    """What can be said, as an order of magnitude.

    Attributes
    ----------
    question : DriftQuestion
        The day.
    sediment : tuple of FallenShare
        What fell in published trials, by distance.
    drops : tuple of DropFate
        Finest first.
    unlike_trials : tuple of str
        In what the day is unlike those trials, in words.
    """

    question: DriftQuestion
    sediment: tuple[FallenShare, ...]
    drops: tuple[DropFate, ...]
    unlike_trials: tuple[str, ...]


def drift_outlook(question: DriftQuestion, *, distances_m: Sequence[M], drops_m: Sequence[M] = DROPS_M) -> DriftOutlook:
    """Return what can be said of drift on a day.

    Parameters
    ----------
    question : DriftQuestion
        The day.
    distances_m : sequence of float
        From the last tip, downwind [m].
    drops_m : sequence of float
        Diameters [m].

    Returns
    -------
    DriftOutlook
        Never a buffer: how far to stay away is the label's to say.

    Raises
    ------
    OutOfRange
        A distance or drop outside what was measured, a height or wind that is not positive, a wet bulb above the dry.
    NotDefined
        A number of applications nobody published a curve for.

    References
    ----------
    rautmann-2001, schiller-naumann, amsden-1962, omafra-drift-2013
    """
    depression_k = _depression_k(question)
    return DriftOutlook(
        question=question,
        sediment=tuple(FallenShare(far_m, sediment_frac(far_m, question.applications)) for far_m in distances_m),
        drops=tuple(_fate(drop_m, question, depression_k) for drop_m in drops_m),
        unlike_trials=_unlike(question),
    )


def _depression_k(question: DriftQuestion) -> K | None:
    if question.dry_k is None or question.wet_k is None:
        return None
    if not question.wet_k < question.dry_k:
        remedy = "The wet bulb shows less than the dry one, unless the air is full of water: read both again."
        raise OutOfRange("wet-bulb temperature", question.wet_k, KELVIN, high=question.dry_k, remedy=remedy)
    return question.dry_k - question.wet_k


def _fate(drop_m: M, question: DriftQuestion, depression_k: K | None) -> DropFate:
    return DropFate(
        drop_m=drop_m,
        fall_s=question.height_m / fall_speed_mps(drop_m),
        carried_m=carried_m(drop_m, question.height_m, question.wind_mps),
        life_s=None if depression_k is None else drop_life_s(drop_m, depression_k),
    )


def _unlike(question: DriftQuestion) -> tuple[str, ...]:
    low, high = TRIAL_WIND_MPS
    speed = question.speed_mps
    told = (
        (question.height_m > TRIAL_HEIGHT_M, "the boom is higher"),
        (question.wind_mps > high, "there is more wind"),
        (question.wind_mps < low, "there is less wind, and calm air may be an inversion"),
        (speed is not None and speed > TRIAL_SPEED_MPS, "the machine drives faster"),
    )
    return tuple(words for differs, words in told if differs)
