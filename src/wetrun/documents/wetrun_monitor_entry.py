"""The monitor as it is written in a wet-run file: its profile, and the numbers that stood in it, to the last zero."""

from __future__ import annotations

from typing import Final, Self

from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Density
from wetrun.documents.plain_fields import Words
from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_fields import Number
from wetrun.errors import QuantityRefused
from wetrun.proving.monitor import DENSITY_FORMS, METER_FORMS, SIZE_FORMS, SPEED_FORMS, Setting
from wetrun.proving.number_form import NumberForm, plain
from wetrun.quantity import Kind, read

SETTINGS: Final = {
    "target_rate": Setting.TARGET_RATE,
    "section_width": Setting.SECTION_WIDTH,
    "meter_number": Setting.METER_NUMBER,
    "speed_number": Setting.SPEED_NUMBER,
    "density": Setting.DENSITY,
    "hold_pressure": Setting.HOLD_PRESSURE,
    "hold_flow": Setting.HOLD_FLOW,
    "hold_duty": Setting.HOLD_DUTY,
    "low_pressure": Setting.PRESSURE_LOW,
    "high_pressure": Setting.PRESSURE_HIGH,
    "tip_size": Setting.TIP_SIZE,
}
"""Settings by their keys in the file."""

_FORMS: Final = {
    Setting.METER_NUMBER: METER_FORMS,
    Setting.SPEED_NUMBER: SPEED_FORMS,
    Setting.DENSITY: DENSITY_FORMS,
    Setting.TIP_SIZE: SIZE_FORMS,
}
_KINDS: Final = {
    Setting.TARGET_RATE: Kind.RATE,
    Setting.SECTION_WIDTH: Kind.WIDTH,
    Setting.HOLD_PRESSURE: Kind.PRESSURE,
    Setting.HOLD_FLOW: Kind.BOOM_FLOW,
    Setting.HOLD_DUTY: Kind.SHARE,
    Setting.PRESSURE_LOW: Kind.PRESSURE,
    Setting.PRESSURE_HIGH: Kind.PRESSURE,
}


def form_named(setting: Setting, words: str, *, at: str = "form") -> NumberForm:
    """Return the form a monitor keeps a setting in.

    Parameters
    ----------
    setting : Setting
        Which.
    words : str
        One of the forms known for it, or a plain unit such as "gal/ac".
    at : str
        Where it stands in its table, for the refusal.

    Returns
    -------
    NumberForm
        Unit and convention.

    Raises
    ------
    PydanticCustomError
        If it is not known.

    Example
    -------
    >>> round(form_named(Setting.TARGET_RATE, "L/ha").quantity(100.0), 9)  # 10 mL on a square metre
    1e-05
    """
    forms = _FORMS.get(setting)
    if forms is not None:
        found = next((form for form in forms if form.words.casefold() == words.casefold()), None)
        if found is None:
            known = "; ".join(form.words for form in forms)
            raise refuse(f"this form of a {setting.value} is not known", f"Known here: {known}", at=at)
        return found
    try:
        return plain(words, read(f"1 {words}", _KINDS[setting]).si_value)
    except QuantityRefused as refused:
        accepted = ", ".join(refused.accepted)
        raise refuse(f"the unit of a {setting.value} belongs here", f"Accepted: {accepted}", at=at) from None


class FormEntry(Entry):
    """How the monitor keeps one setting."""

    form: Words
    step: Number | None = None
    low: float | None = None
    high: float | None = None


class ProfileEntry(Entry):
    """Form, step and range of each setting this monitor has."""

    target_rate: FormEntry | None = None
    section_width: FormEntry | None = None
    meter_number: FormEntry | None = None
    speed_number: FormEntry | None = None
    density: FormEntry | None = None
    hold_pressure: FormEntry | None = None
    hold_flow: FormEntry | None = None
    hold_duty: FormEntry | None = None
    low_pressure: FormEntry | None = None
    high_pressure: FormEntry | None = None
    tip_size: FormEntry | None = None

    @model_validator(mode="after")
    def _forms_are_known(self) -> Self:
        for key, setting in SETTINGS.items():
            kept: FormEntry | None = getattr(self, key)
            if kept is not None:
                form_named(setting, kept.form, at=f"{key}.form")
        return self


class SnapshotEntry(Entry):
    """What stood in the monitor, each number exactly as shown."""

    target_rate: Number | None = None
    section_width: list[Number] = Field(default=[], max_length=200)
    meter_number: Number | None = None
    speed_number: Number | None = None
    density: Number | None = None
    hold_pressure: Number | None = None
    hold_flow: Number | None = None
    hold_duty: Number | None = None
    low_pressure: Number | None = None
    high_pressure: Number | None = None
    tip_size: Number | None = None


class MonitorEntry(Entry):
    """The monitor: profile, as found, as left."""

    name: Words
    scales_meter_by_density: bool | None = None
    profile: ProfileEntry
    as_found: SnapshotEntry
    as_left: SnapshotEntry | None = None
    water_density: Number | None = None
    product_density: Density | None = None
    density_signed_by: str = Field(default="", max_length=60)

    @model_validator(mode="after")
    def _every_number_has_a_form(self) -> Self:
        for moment in ("as_found", "as_left"):
            snapshot: SnapshotEntry | None = getattr(self, moment)
            for key in SETTINGS if snapshot is not None else ():
                if getattr(snapshot, key) and getattr(self.profile, key) is None:
                    remedy = f'Add a table [monitor.profile.{key}] with form = "…"'
                    raise refuse("the profile does not say in which form it is kept", remedy, at=f"{moment}.{key}")
        if self.water_density is not None and self.profile.density is None:
            raise refuse(
                "the profile has no density", 'Add [monitor.profile.density] form = "lb per US gal"', at="profile"
            )
        return self
