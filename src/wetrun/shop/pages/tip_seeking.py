"""What a list of tips can be asked for, and the liquid a tip is looked at with."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.documents.carrier_words import carrier_named
from wetrun.errors import WetrunError
from wetrun.machine.tip import Tip
from wetrun.quantity import Kind, read, sentence
from wetrun.shop.accounts.desk import Desk
from wetrun.spray.carrier import CARRIER_GRADES, Carrier, carrier_of_density, water
from wetrun.spray.droplets import Family

FAMILIES = [("", gettext_lazy("every family")), *((family.name, family.value) for family in Family)]
LIQUIDS = [("water", gettext_lazy("water")), *((grade, grade) for grade in CARRIER_GRADES)]


class TipSeekForm(forms.Form):
    """Words and family of tips."""

    q = forms.CharField(label=gettext_lazy("Find by name or size"), required=False, max_length=80)
    family = forms.ChoiceField(label=gettext_lazy("Family"), required=False, choices=FAMILIES)

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        self.fields["q"].widget = forms.TextInput(attrs={"type": "search", "autocomplete": "off"})
        self.full_clean()
        self._words = self.cleaned_data.get("q", "").casefold().split()
        self._family = self.cleaned_data.get("family", "")

    @property
    def is_narrow(self) -> bool:
        """Whether anything was asked for."""
        return bool(self._words or self._family)

    def wants(self, tip: Tip) -> bool:
        """Return whether a tip is among those asked for: every word in its name, ident or size."""
        told = f"{tip.ident} {tip.words} {tip.size}".casefold()
        return all(word in told for word in self._words) and self._family in {"", tip.family.name}


class LiquidForm(forms.Form):
    """A liquid by name, or by the density it was weighed at. `liquid` is water until a form is valid."""

    carrier = forms.ChoiceField(label=gettext_lazy("With"), choices=LIQUIDS)
    density = forms.CharField(label=gettext_lazy("or at a density of"), required=False, max_length=40)

    def __init__(self, *args: Any, desk: Desk, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        self._desk = desk
        unit = desk.reader.unit(Kind.DENSITY)
        self.fields["density"].help_text = _("As weighed, in %(unit)s if you type no unit.") % {"unit": unit}
        self.fields["density"].widget.attrs.update({"autocomplete": "off", "inputmode": "decimal"})
        self.liquid: Carrier = water()
        self.is_valid()

    def clean(self) -> dict[str, Any]:
        """Find the liquid."""
        try:
            self.liquid = self._found()
        except WetrunError as refused:
            self.add_error("density", sentence(refused, self._desk.system))
        return self.cleaned_data

    def _found(self) -> Carrier:
        typed = self.cleaned_data.get("density", "").strip()
        if not typed:
            return carrier_named(self.cleaned_data.get("carrier") or "water")
        density = read(typed, Kind.DENSITY, default_unit=self._desk.reader.unit(Kind.DENSITY))
        return carrier_of_density(_("a liquid as weighed"), density.si_value)
