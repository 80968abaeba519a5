"""The forms of what happens to a machine between wet runs, and of how long proofs last in a branch."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.documents.fields import Ask
from wetrun.machine.proofs import USUAL, Event, Lasts, Proof
from wetrun.quantity import Kind, System, Typed, to_display
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.pages.quantity_field import QuantityField
from wetrun.shop.pages.wet_run_forms import DayInput
from wetrun.shop.records.models import MachineEvent
from wetrun.shop.records.models.upkeep import COUNTERS, KINDS
from wetrun.spray.definitions import MINUTE_S

AREA: Final = Ask(Kind.AREA, "0 ac", "1000000 ac")
HOURS: Final = Ask(Kind.TIME, "0 h", "50000 h")
DENSITY: Final = Ask(Kind.DENSITY, "0.5 kg/L", "3 kg/L")
QUANTITIES: Final = {
    "area": "area_m2",
    "hours": "spraying_s",
    "density_was": "was_kgpm3",
    "density_now": "now_kgpm3",
}
"""Quantities of an event, and the column each goes into."""


class HoursField(QuantityField):
    """A time in hours: nobody counts a machine's work in seconds."""

    @property
    def unit(self) -> str:
        """Hours."""
        return "h"


class EventForm(forms.Form):
    """What happened, on which day, and who says so."""

    kind = forms.ChoiceField(label=gettext_lazy("What happened"), choices=[("", gettext_lazy("choose")), *KINDS])
    on = forms.DateField(label=gettext_lazy("Day"), widget=DayInput)
    before_tests = forms.BooleanField(
        label=gettext_lazy("It was done before the tests of that day"),
        required=False,
        help_text=gettext_lazy("Left empty, tests of the same day count as made before it, and are to be made again."),
    )
    who = forms.CharField(
        label=gettext_lazy("Who"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("Who did it; for a new operator, the operator."),
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=600, required=False)
    area = QuantityField(
        AREA,
        label=gettext_lazy("Area counted so far"),
        required=False,
        help_text=gettext_lazy("As the machine shows it: all it ever did."),
    )
    hours = HoursField(HOURS, label=gettext_lazy("Hours of spraying counted so far"), required=False)
    density_was = QuantityField(DENSITY, label=gettext_lazy("Density of the carrier before"), required=False)
    density_now = QuantityField(DENSITY, label=gettext_lazy("Density of the carrier now"), required=False)
    entry = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, desk: Desk, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        kwargs["initial"] = {"on": desk.today, "entry": uuid.uuid4(), **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)
        self.today = desk.today
        for field in self.fields.values():
            if isinstance(field, QuantityField):
                field.in_units_of(desk.system)

    def clean(self) -> dict[str, Any]:
        """Refuse a day that is still to come, counters without a number, one density without the other."""
        given = super().clean() or {}
        if given.get("on") and given["on"] > self.today:
            self.add_error("on", _("That day is still to come. Enter what happened once it has."))
        if given.get("kind") == COUNTERS and not (given.get("area") or given.get("hours")):
            self.add_error("area", _("Neither area nor hours stands here. Type what the machine shows."))
        if given.get("kind") == Event.NEW_CARRIER.name and bool(given.get("density_was")) != bool(
            given.get("density_now")
        ):
            self.add_error("density_now", _("Type both densities, or neither: then it is taken to matter."))
        return given

    def fill(self, event: MachineEvent) -> MachineEvent:
        """Lay what was typed on a new record; it is not saved yet."""
        given = self.cleaned_data
        for name in ("kind", "on", "before_tests", "who", "note"):
            setattr(event, name, given[name])
        typed: dict[str, Typed] = {name: given[name] for name in QUANTITIES if given.get(name) is not None}
        event.typed = {name: found.text for name, found in typed.items()}
        for name, column in QUANTITIES.items():
            setattr(event, column, typed[name].si_value if name in typed else None)
        event.entry = given.get("entry") or event.entry
        return event


def initial_of_event(event: MachineEvent) -> dict[str, Any]:
    """Return what the form of a correction is filled with: what stands, as it was typed."""
    plain = {name: getattr(event, name) for name in ("kind", "on", "before_tests", "who", "note")}
    return plain | {name: text for name, text in event.typed.items() if name in QUANTITIES}


class LimitsForm(forms.Form):
    """How long each proof lasts: acres, hours, days, each of them or none."""

    def __init__(self, *args: Any, system: System, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        for proof in Proof:
            area = QuantityField(AREA, label=_("Area"), required=False)
            hours = HoursField(HOURS, label=_("Hours"), required=False)
            for quantity in (area, hours):
                quantity.in_units_of(system)
            days = forms.IntegerField(label=_("Days"), required=False, min_value=1, max_value=3650)
            fields: dict[str, forms.Field] = {"area": area, "hours": hours, "days": days}
            for name, field in fields.items():
                field.widget.attrs["aria-label"] = f"{proof.value}: {field.label}"
                self.fields[f"{proof.name}-{name}"] = field

    @property
    def rows(self) -> Iterator[tuple[Proof, list[forms.BoundField]]]:
        """The proofs with their three fields, for the page."""
        for proof in Proof:
            yield proof, [self[f"{proof.name}-{name}"] for name in ("area", "hours", "days")]

    @property
    def typed(self) -> dict[str, dict[str, str]]:
        """What was typed, by name of the proof, to be kept."""
        found: dict[str, dict[str, str]] = {proof.name: {} for proof in Proof}
        for key, value in self.cleaned_data.items():
            name, _dash, limit = key.partition("-")
            if value is not None:
                found[name][limit] = value.text if isinstance(value, Typed) else str(value)
        return found


def initial_of_limits(typed: dict[str, Any], system: System) -> dict[str, str]:
    """Return what the limits' form is filled with: what was typed, or the usual in the reader's units."""
    found: dict[str, str] = {}
    for proof in Proof:
        stands = typed[proof.name] if proof.name in typed else usual_texts(USUAL[proof], system)
        found |= {f"{proof.name}-{name}": str(text) for name, text in stands.items()}
    return found


def usual_texts(lasts: Lasts, system: System) -> dict[str, str]:
    """Return the usual limits as a person of a unit system would type them."""
    return dict(_texts(lasts, system))


def _texts(lasts: Lasts, system: System) -> Iterator[tuple[str, str]]:
    if lasts.area_m2 is not None:
        unit = Kind.AREA.shown_in(system)
        yield "area", f"{to_display(lasts.area_m2, Kind.AREA, system):.0f} {unit}"
    if lasts.spraying_s is not None:
        yield "hours", f"{lasts.spraying_s / (60.0 * MINUTE_S):.0f} h"
    if lasts.days is not None:
        yield "days", str(lasts.days)
