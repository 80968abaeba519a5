"""The forms of loads in season: a book with its tools, and one load, for a phone beside the tank."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.documents.fields import Ask
from wetrun.proving.monitor import METER_FORMS
from wetrun.quantity import Kind, System, Typed
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.handovers import number_problem
from wetrun.shop.pages.quantity_field import QuantityField
from wetrun.shop.pages.wet_run_forms import DayInput

VOLUME: Final = Ask(Kind.VOLUME, "0 gal", "10000 gal")
LOAD_QUANTITIES: Final = ("filled", "weight", "density", "aboard", "left", "counted", "area", "rate")
TOOLS: Final = ("fill_meter", "fill_step", "scale", "scale_step", "density", "mark", "monitor_step", "area_step")


class QuantitiesForm(forms.Form):
    """A form whose quantities print the reader's units."""

    def __init__(self, *args: Any, system: System, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, QuantityField):
                field.in_units_of(system)

    def texts(self, names: tuple[str, ...]) -> dict[str, str]:
        """Return quantities as typed, with their units; what is empty is left out."""
        given = {name: self.cleaned_data.get(name) for name in names}
        return {name: found.text for name, found in given.items() if isinstance(found, Typed)}


class BookForm(QuantitiesForm):
    """A season's loads: its title, the meter number they are counted with, how far each tool may be off."""

    title = forms.CharField(label=gettext_lazy("Title"), max_length=200)
    number = forms.CharField(
        label=gettext_lazy("Meter number in the monitor"),
        max_length=20,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        help_text=gettext_lazy("To the last zero, as the monitor shows it."),
    )
    form = forms.ChoiceField(
        label=gettext_lazy("How it is written"), choices=[(form.words, form.words) for form in METER_FORMS]
    )
    fill_meter = QuantityField(Ask(Kind.SHARE, "0 %", "50 %"), label=gettext_lazy("Fill meter ±"), required=False)
    fill_step = QuantityField(VOLUME, label=gettext_lazy("Step of the fill meter"), required=False)
    scale = QuantityField(Ask(Kind.SHARE, "0 %", "50 %"), label=gettext_lazy("Scale ±"), required=False)
    scale_step = QuantityField(
        Ask(Kind.MASS, "0 lb", "500 lb"), label=gettext_lazy("Step of the scale"), required=False
    )
    density = QuantityField(Ask(Kind.SHARE, "0 %", "50 %"), label=gettext_lazy("Density ±"), required=False)
    mark = QuantityField(
        Ask(Kind.VOLUME, "0 gal", "50 gal"), label=gettext_lazy("Reading of the tank ±"), required=False
    )
    monitor_step = QuantityField(
        Ask(Kind.VOLUME, "0 gal", "50 gal"), label=gettext_lazy("Step of the monitor's total"), required=False
    )
    area_step = QuantityField(
        Ask(Kind.AREA, "0 ac", "50 ac"), label=gettext_lazy("Step of the monitor's area"), required=False
    )

    def clean_number(self) -> str:
        """Refuse what is no number."""
        text = str(self.cleaned_data["number"]).strip()
        if text and (wrong := number_problem(text)):
            raise forms.ValidationError(wrong)
        return text

    def document(self, before: dict[str, Any]) -> dict[str, Any]:
        """Return the head of the book's file: what was typed, over what else stood there."""
        rest = {key: value for key, value in before.items() if key not in {"title", "meter", "tools"}}
        number, tools = self.cleaned_data["number"], self.texts(TOOLS)
        meter = {"meter": {"number": number, "form": self.cleaned_data["form"]}} if number else {}
        return {**rest, "title": self.cleaned_data["title"], **meter, **({"tools": tools} if tools else {})}


def initial_of_book(title: str, document: dict[str, Any]) -> dict[str, Any]:
    """Return what the form of a book is filled with."""
    return {"title": title, **document.get("meter", {}), **document.get("tools", {})}


class LoadForm(QuantitiesForm):
    """One load: filled, counted, left."""

    on = forms.DateField(label=gettext_lazy("Day"), widget=DayInput)
    pass_name = forms.CharField(label=gettext_lazy("Pass"), max_length=200, required=False)
    filled = QuantityField(VOLUME, label=gettext_lazy("Filled, by the fill meter"), required=False)
    weight = QuantityField(
        Ask(Kind.MASS, "0 lb", "200000 lb"),
        label=gettext_lazy("Or weighed, net, off the scale ticket"),
        required=False,
    )
    density = QuantityField(
        Ask(Kind.DENSITY, "0.5 kg/L", "3 kg/L"), label=gettext_lazy("Density of what was weighed"), required=False
    )
    carried = forms.BooleanField(label=gettext_lazy("What the load before it left is still aboard"), required=False)
    aboard = QuantityField(VOLUME, label=gettext_lazy("Or aboard before, read anew"), required=False)
    left = QuantityField(VOLUME, label=gettext_lazy("Left in the tank after it"), required=False)
    counted = QuantityField(VOLUME, label=gettext_lazy("The monitor's total for it"))
    area = QuantityField(
        Ask(Kind.AREA, "0.01 ac", "100000 ac"), label=gettext_lazy("The monitor's area for it"), required=False
    )
    rate = QuantityField(
        Ask(Kind.RATE, "0.5 gal/ac", "300 gal/ac"), label=gettext_lazy("Rate asked for"), required=False
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=600, required=False)
    entry = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, desk: Desk, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        kwargs["initial"] = {"on": desk.today, "entry": uuid.uuid4(), **(kwargs.get("initial") or {})}
        super().__init__(*args, system=desk.system, **kwargs)
        self.today = desk.today

    def clean_on(self) -> date:
        """Refuse a day that is still to come."""
        day: date = self.cleaned_data["on"]
        if day > self.today:
            raise forms.ValidationError(_("That day is still to come. Write a load down once it is out."))
        return day

    def document(self) -> dict[str, Any]:
        """Return the load as a table of its file."""
        given = self.cleaned_data
        words = {"pass": given["pass_name"], "note": given["note"]}
        found: dict[str, Any] = {"on": given["on"], **self.texts(LOAD_QUANTITIES)}
        found |= {key: text for key, text in words.items() if text}
        return found | ({"carried": True} if given["carried"] else {})


def initial_of_load(document: dict[str, Any]) -> dict[str, Any]:
    """Return what the form of a correction is filled with: what stands, as it was typed."""
    return {"pass_name" if key == "pass" else key: value for key, value in document.items()}
