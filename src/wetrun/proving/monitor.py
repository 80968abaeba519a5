"""A monitor as it keeps its settings: form, resolution and range of each, and what was found and left in it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from typing import Final

from wetrun.errors import NotDefined
from wetrun.proving.number_form import (
    FOOT_M,
    IMPERIAL_GALLON_M3,
    Convention,
    NumberForm,
    TypedNumber,
    amount_per_pulse,
    density_factor,
    gravity,
    plain,
    pulses_per,
)
from wetrun.spray.definitions import LITRE_M3, US_GALLON_M3, pounds_per_gallon_kgpm3
from wetrun.spray.orifice import law_of_iso_size, law_of_us_size
from wetrun.units import Ratio


class Setting(StrEnum):
    """What a monitor is told."""

    TARGET_RATE = "target rate"
    SECTION_WIDTH = "section width"
    METER_NUMBER = "meter number"
    SPEED_NUMBER = "speed number"
    DENSITY = "density"
    HOLD_PRESSURE = "minimum hold, pressure"
    HOLD_FLOW = "minimum hold, flow"
    HOLD_DUTY = "minimum hold, duty"
    PRESSURE_LOW = "low-pressure limit"
    PRESSURE_HIGH = "high-pressure limit"
    TIP_SIZE = "tip size"


METER_FORMS: Final = (
    pulses_per("pulses per US gal", US_GALLON_M3),
    pulses_per("pulses per 10 US gal", 10.0 * US_GALLON_M3),
    pulses_per("pulses per imperial gal", IMPERIAL_GALLON_M3),
    pulses_per("pulses per L", LITRE_M3),
    amount_per_pulse("mL per pulse", 1e-3 * LITRE_M3),
)
SPEED_FORMS: Final = (
    pulses_per("pulses per m", 1.0),
    pulses_per("pulses per 100 m", 100.0),
    pulses_per("pulses per 300 ft", 300.0 * FOOT_M),
    amount_per_pulse("cm per pulse", 0.01),
    amount_per_pulse("cm per 100 pulses", 0.01, pulses=100.0),
)
DENSITY_FORMS: Final = (
    plain("lb per US gal", pounds_per_gallon_kgpm3(1.0)),
    plain("kg per L", 1000.0),
    gravity(),
    gravity("specific gravity, water at 8.34 lb per US gal", pounds_per_gallon_kgpm3(8.34)),
    density_factor(),
)
SIZE_FORMS: Final = (
    NumberForm("tip size, ISO", Convention.SIZE, law_of_iso_size("10").coef_m3spa05 / 10.0),
    NumberForm("tip size, US definition", Convention.SIZE, law_of_us_size("10").coef_m3spa05 / 10.0),
)


@dataclass(frozen=True, slots=True)
class Rounded:
    """What can be entered for a quantity.

    Attributes
    ----------
    text : str
        As it has to be typed.
    quantity : float
        What the monitor then takes it for, in SI.
    off_ratio : float
        That over what it should be, less one [ratio]: the cost of the monitor's steps.
    in_range : bool
        False if the monitor does not take so small or large a number.
    """

    text: str
    quantity: float
    off_ratio: Ratio
    in_range: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingForm:
    """How one monitor keeps one setting.

    Attributes
    ----------
    setting : Setting
        Which.
    form : NumberForm
        Its unit and convention.
    step : str
        Smallest step it takes, as typed, such as "0.1" or "1".
    low, high : float or None
        Smallest and largest number it takes.
    """

    setting: Setting
    form: NumberForm
    step: str
    low: float | None = None
    high: float | None = None

    def rounded(self, quantity: float) -> Rounded:
        """Return the nearest number that can be entered for a quantity in SI.

        Example
        -------
        >>> kept = SettingForm(setting=Setting.METER_NUMBER, form=METER_FORMS[0], step="1", high=9999)
        >>> found = kept.rounded(METER_FORMS[0].quantity(64.4))
        >>> found.text, round(found.off_ratio, 4), found.in_range
        ('64', -0.0062, True)
        """
        exact, step = Decimal(self.form.typed(quantity)), Decimal(self.step)
        number = (exact / step).quantize(Decimal(1), ROUND_HALF_EVEN) * step
        if number <= 0:
            reason = f"its step of {self.step} {self.form.words} is too coarse for {exact:.3g}"
            raise NotDefined(str(self.setting), reason=reason, remedy="Choose another unit in the monitor")
        taken = self.form.quantity(float(number))
        in_range = (self.low is None or number >= Decimal(self.low)) and (
            self.high is None or number <= Decimal(self.high)
        )
        return Rounded(f"{number:f}", taken, taken / quantity - 1.0, in_range)


@dataclass(frozen=True, slots=True)
class Profile:
    """One kind of monitor.

    Attributes
    ----------
    name : str
        What the shop calls it.
    forms : tuple of SettingForm
        How it keeps each setting; one that it does not have is left out.
    scales_meter_by_density : bool or None
        Whether it scales the flow meter by the density typed in; None if nobody has proved it either way.
    """

    name: str
    forms: tuple[SettingForm, ...]
    scales_meter_by_density: bool | None = None

    def form_of(self, setting: Setting) -> SettingForm | None:
        """Return how it keeps a setting; None if it has none such."""
        return next((form for form in self.forms if form.setting is setting), None)


@dataclass(frozen=True, slots=True)
class Entry:
    """One setting as it stands in a monitor, to the last zero; sections count from 1."""

    setting: Setting
    typed: TypedNumber
    section: int | None = None


class Moment(StrEnum):
    """When a monitor was read."""

    AS_FOUND = "as found"
    AS_LEFT = "as left"


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything that stood in a monitor at one moment."""

    moment: Moment
    entries: tuple[Entry, ...]

    def entry(self, setting: Setting, section: int | None = None) -> Entry | None:
        """Return one entry; None if it was not written down."""
        return next((e for e in self.entries if e.setting is setting and e.section == section), None)


@dataclass(frozen=True, slots=True)
class Change:
    """A setting that was left otherwise than it was found; None where it was not written down."""

    setting: Setting
    section: int | None
    found: TypedNumber | None
    left: TypedNumber | None


def changes(as_found: Snapshot, as_left: Snapshot) -> tuple[Change, ...]:
    """Return every setting that was left otherwise than found.

    Parameters
    ----------
    as_found, as_left : Snapshot
        The monitor before and after.

    Returns
    -------
    tuple of Change
        Settings whose text differs, in the order of the first snapshot; one that was only retyped ("64" for "64.0")
        is listed too, since the record keeps what was typed.
    """
    places = dict.fromkeys((e.setting, e.section) for e in (*as_found.entries, *as_left.entries))
    found = [Change(*place, _typed(as_found.entry(*place)), _typed(as_left.entry(*place))) for place in places]
    return tuple(change for change in found if change.found != change.left)


def _typed(entry: Entry | None) -> TypedNumber | None:
    return None if entry is None else entry.typed
