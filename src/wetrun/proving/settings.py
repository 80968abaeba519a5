"""What stands in the monitor against what wet run and plan say should: every difference, with what it does to the rate.

A wet run sets the density to water. Putting the product's back is a step that somebody signs; where it is missing, that
is a finding like any other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import log

from wetrun.proving.monitor import Profile, Rounded, Setting, Snapshot
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.rate_effect import RateEffect, Steering, rate_effect
from wetrun.proving.slip_search import SLIP_WITHIN
from wetrun.proving.slips import DECIMAL_SLIPS, VOLUME_SLIPS
from wetrun.proving.uncertainty import Budget
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.feedback import SAME_DENSITY_RATIO
from wetrun.units import Kgpm3, Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a setting should be.

    Attributes
    ----------
    setting : Setting
        Which.
    quantity : float
        In SI; numbers of meter and speed as pulses per amount.
    why : str
        Who says so: the wet run, the plan, a tape.
    section : int or None
        For widths, counted from 1.
    budget : Budget or None
        Doubt of it, as a ratio of the quantity; None for what is simply wanted.
    """

    setting: Setting
    quantity: float
    why: str
    section: int | None = None
    budget: Budget | None = None


class Agreement(StrEnum):
    """How a setting stands."""

    AGREES = "agrees as closely as the monitor can show it"
    WITHIN_DOUBT = "differs by less than the doubt of what it should be"
    DIFFERS = "differs"
    NOT_SHOWN = "not written down"


@dataclass(frozen=True, slots=True)
class Compared:
    """One setting, as it stands against what it should be.

    Attributes
    ----------
    wanted : Wanted
        What it should be, and who says so.
    shown : TypedNumber or None
        What stands in the monitor, exactly as typed.
    enter : Rounded or None
        What to type, with the error of the monitor's steps; None if the profile does not know the setting.
    agreement : Agreement
        How it stands.
    shown_ratio : float or None
        Shown over wanted [ratio].
    effect : RateEffect or None
        What it does to the rate; of a section's width, to the rate of that section alone.
    whole_boom_ratio : float or None
        What a section's width does to the rate with every section on [ratio].
    slips : tuple of str
        Known slips that would explain it; none is corrected.
    """

    wanted: Wanted
    shown: TypedNumber | None
    enter: Rounded | None
    agreement: Agreement
    shown_ratio: Ratio | None = None
    effect: RateEffect | None = None
    whole_boom_ratio: Ratio | None = None
    slips: tuple[str, ...] = ()


def compared(
    snapshot: Snapshot, wanted: Sequence[Wanted], profile: Profile, steering: Steering
) -> tuple[Compared, ...]:
    """Return every setting against what it should be.

    Parameters
    ----------
    snapshot : Snapshot
        The monitor, as found or as left.
    wanted : sequence of Wanted
        What wet run and plan say.
    profile : Profile
        How the monitor keeps its settings.
    steering : Steering
        What the machine steers by.

    Returns
    -------
    tuple of Compared
        In the order of `wanted`; one that was not written down is listed as such.

    References
    ----------
    rate-identity, number-identity
    """
    boom = sum(w.quantity for w in wanted if w.setting is Setting.SECTION_WIDTH)
    return tuple(_compared(snapshot, want, profile, (steering, boom)) for want in wanted)


def _compared(snapshot: Snapshot, want: Wanted, profile: Profile, machine: tuple[Steering, float]) -> Compared:
    steering, boom = machine
    kept = profile.form_of(want.setting)
    enter = None if kept is None else kept.rounded(want.quantity)
    entry = snapshot.entry(want.setting, want.section)
    if entry is None:
        return Compared(want, None, enter, Agreement.NOT_SHOWN)
    shown = entry.typed.quantity
    ratio = shown / want.quantity
    whole = 1.0 + (shown - want.quantity) / boom if want.setting is Setting.SECTION_WIDTH else None
    agreement = _agreement(ratio, want, enter)
    effect = rate_effect(want.setting, ratio, steering) if ratio != 1.0 else None
    slips = _slips(want.setting, ratio) if agreement is Agreement.DIFFERS else ()
    return Compared(want, entry.typed, enter, agreement, ratio, effect, whole, slips)


def _agreement(ratio: Ratio, want: Wanted, enter: Rounded | None) -> Agreement:
    step = 0.0 if enter is None else abs(enter.off_ratio)
    if abs(ratio - 1.0) <= step * (1.0 + 1e-9) + 1e-12:
        return Agreement.AGREES
    if want.budget is not None and abs(ratio - 1.0) <= want.budget.expanded():
        return Agreement.WITHIN_DOUBT
    return Agreement.DIFFERS


def _slips(setting: Setting, ratio: Ratio) -> tuple[str, ...]:
    known = (*DECIMAL_SLIPS, *(VOLUME_SLIPS if setting is Setting.METER_NUMBER else ()))
    return tuple(slip.words for slip in known if abs(log(ratio) - log(slip.factor)) <= SLIP_WITHIN)


class DensityStep(StrEnum):
    """What is wrong with the density at the end of a wet run."""

    NOT_WATER = "the density did not stand at water during the test"
    NOT_RESTORED = "the product's density was not put back"
    NOT_SIGNED = "nobody signed that the product's density was put back"


@dataclass(frozen=True, slots=True)
class DensityFinding:
    """A step left out, with what it does to the rate of the product."""

    step: DensityStep
    effect: RateEffect | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityRecord:
    """The density in the monitor over a wet run.

    Attributes
    ----------
    during : TypedNumber or None
        During the test; None if the monitor has no density to set.
    left : TypedNumber or None
        As left.
    signed_by : str
        Who signed that it was put back; empty if nobody did.
    product_kgpm3 : float
        Density of what will be sprayed [kg/m3].
    """

    during: TypedNumber | None
    left: TypedNumber | None
    signed_by: str
    product_kgpm3: Kgpm3


def density_steps_missing(record: DensityRecord, steering: Steering) -> tuple[DensityFinding, ...]:
    """Return which steps of setting the density to water and back were left out.

    Parameters
    ----------
    record : DensityRecord
        What stood in the monitor.
    steering : Steering
        What the machine steers by.

    Returns
    -------
    tuple of DensityFinding
        Empty if all is done and signed. A product as heavy as water needs a signature no less: nobody else will know.
    """
    water = _off(record.during, REFERENCE_WATER_KGPM3)
    left = _off(record.left, record.product_kgpm3)
    found = []
    if record.during is not None and water is not None:
        found.append(DensityFinding(DensityStep.NOT_WATER, rate_effect(Setting.DENSITY, water, steering)))
    if record.left is None or left is not None:
        effect = None if left is None else rate_effect(Setting.DENSITY, left, steering)
        found.append(DensityFinding(DensityStep.NOT_RESTORED, effect))
    if not record.signed_by.strip():
        found.append(DensityFinding(DensityStep.NOT_SIGNED, None))
    return tuple(found)


def _off(typed: TypedNumber | None, density_kgpm3: Kgpm3) -> Ratio | None:
    """Typed over wanted density [ratio]; None if they are one liquid as far as the digits typed [kg/m3] can tell."""
    if typed is None:
        return None
    ratio = typed.quantity / density_kgpm3
    return ratio if abs(ratio - 1.0) > max(SAME_DENSITY_RATIO, typed.half_digit_ratio * (1.0 + 1e-9)) else None
