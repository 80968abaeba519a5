"""A field of a form that takes one quantity: a bare number takes the unit printed at it, and what was typed stays."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from wetrun.documents.fields import Ask
from wetrun.errors import QuantityRefused
from wetrun.quantity import System, Typed, read, sentence, show
from wetrun.shop.typed.printed_units import with_unit


class QuantityField(forms.CharField):
    """Reads a quantity inside bounds that only a mistake passes; nothing typed is nothing.

    Parameters
    ----------
    ask : Ask
        What it takes.
    **more
        As `forms.CharField`.
    """

    def __init__(self, ask: Ask, **more: Any) -> None:  # noqa: ANN401 - Django's own
        more.setdefault("max_length", 60)
        more.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**more)
        self.ask, self.system = ask, System.US

    def in_units_of(self, system: System) -> None:
        """Print the unit of a reader at the field; to be called before the form is filled."""
        self.system = system
        self.label = f"{self.label} ({self.unit})"

    @property
    def unit(self) -> str:
        """The unit printed at it."""
        return self.ask.kind.shown_in(self.system)

    def clean(self, value: Any) -> Typed | None:  # noqa: ANN401
        """Return the quantity, its text with the unit it was read in.

        Raises
        ------
        ValidationError
            If it is none, or beyond its bounds, with what is accepted.
        """
        text = super().clean(value).strip()
        if not text:
            return None
        try:
            found = read(with_unit(text, self.unit), self.ask.kind)
            low, high = (read(bound, self.ask.kind).si_value for bound in (self.ask.low, self.ask.high))
        except QuantityRefused as refused:
            raise ValidationError(sentence(refused, self.system)) from refused
        if not low <= found.si_value <= high:
            span = {end: show(si, self.ask.kind, self.system) for end, si in (("low", low), ("high", high))}
            words = _("“%(text)s” is not from %(low)s to %(high)s. Check the number and its unit.")
            raise ValidationError(words % {"text": text, **span})
        return found
