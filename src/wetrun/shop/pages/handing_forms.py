"""The forms of a handover over a link: one step a page, kept as typed whatever is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.machine.walk_round import Answered, Found, open_points
from wetrun.proving.rate_effect import Steering
from wetrun.shop.accounts.models import UNITS
from wetrun.shop.answers.handovers import LeftNumber, compared_numbers, number_problem
from wetrun.shop.pages.handover_form import (
    answers_in,
    look_fields,
    not_compared,
    number_fields,
    rows_of_walk,
)
from wetrun.shop.records.models import Handover

USUAL_DAYS = 120
"""A season of spraying: whoever drives next month takes the machine over by the same code."""
MOST_DAYS = 366


class OfferForm(forms.Form):
    """What a link shows, and how long it opens."""

    card = forms.ChoiceField(label=gettext_lazy("Cab card"), required=False)
    units = forms.ChoiceField(label=gettext_lazy("Units the operator reads"), choices=UNITS)
    until = forms.DateField(
        label=gettext_lazy("Last day of the link"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    once = forms.BooleanField(
        label=gettext_lazy("For one operator: the first signature closes it"),
        required=False,
        help_text=gettext_lazy("Otherwise every new operator does the walk on the same link, each for himself."),
    )

    def __init__(self, *args: Any, passes: list[str], today: date, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **more)
        self.today = today
        chosen = [(name, name) for name in passes]
        self.fields["card"].choices = [*chosen, ("", _("none"))]  # type: ignore[attr-defined]

    def clean_until(self) -> date:
        """Refuse a day that is over, or too far away."""
        until: date = self.cleaned_data["until"]
        if not self.today <= until <= self.today + timedelta(days=MOST_DAYS):
            raise forms.ValidationError(_("A link opens until a day between today and a year from now."))
        return until


class BeginForm(forms.Form):
    """Who takes the machine."""

    operator = forms.CharField(
        label=gettext_lazy("Your name"), max_length=200, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )


class StepForm(forms.Form):
    """A step of a walk; it remembers which version it was filled from."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=1)

    def say_changed(self, now: Handover, stands: Mapping[str, Any], words: str) -> None:
        """Say that somebody else was quicker: what was typed stays, and what stands there now is shown."""
        self.add_error(None, words)
        for name in self.fields:
            there = str(stands.get(name) or "")
            if name != "version" and there != str(self.data.get(name) or ""):
                self.add_error(name, _("Now stands there: %(value)s") % {"value": there or _("nothing")})
        self.data = {**self.data.dict(), "version": str(now.version)}  # type: ignore[attr-defined]


class WalkForm(StepForm):
    """What was found on the walk round."""

    def __init__(self, *args: Any, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **more)
        self.fields |= look_fields()

    def lay(self, handover: Handover) -> None:
        """Lay what was typed on a record."""
        handover.checks = rows_of_walk(answers_in(self.cleaned_data))


class NumbersForm(StepForm):
    """What the monitor shows, number by number; one that is none is kept as typed all the same."""

    def __init__(
        self,
        *args: Any,  # noqa: ANN401 - Django's own
        left: tuple[LeftNumber, ...],
        steering: Steering,
        **more: Any,  # noqa: ANN401
    ) -> None:
        super().__init__(*args, **more)
        self.left, self.steering = left, steering
        self.fields |= number_fields(left)

    def lay(self, handover: Handover) -> None:
        """Lay what was typed on a record, each number against the one the monitor was left with."""
        shown = {one.key: self.cleaned_data.get(f"number-{one.key}", "") for one in self.left}
        handover.numbers = list(compared_numbers(self.left, shown, self.steering))

    def rows(self, handover: Handover) -> list[dict[str, Any]]:
        """Return each number with its field, what was found of it, and what is wrong with what was typed."""
        found = {row["key"]: row for row in handover.numbers}
        rows = []
        for one in self.left:
            kept = found.get(one.key)
            wrong = number_problem(kept["shown"]) if kept and kept["shown"] else ""
            rows.append({"one": one, "field": self[f"number-{one.key}"], "kept": kept, "wrong": wrong})
        return rows


class SignForm(StepForm):
    """The operator's name, and what else there is to say."""

    operator = forms.CharField(label=gettext_lazy("Who takes the machine"), max_length=200)
    remarks = forms.CharField(
        label=gettext_lazy("Remarks"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    signed_name = forms.CharField(
        label=gettext_lazy("Signed (your full name)"),
        max_length=200,
        error_messages={"required": gettext_lazy("Nobody signed. Type your full name.")},
        help_text=gettext_lazy("I walked round the machine, compared the numbers, and read the card and the label."),
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )

    def lay(self, handover: Handover) -> None:
        """Lay what was typed on a record."""
        typed = self.cleaned_data
        handover.operator = " ".join(typed["operator"].split())
        handover.remarks, handover.signed_name = typed["remarks"], typed.get("signed_name", "").strip()

    def may_keep(self) -> bool:
        """Return whether what was typed can be kept, a name still missing or not."""
        return self.is_bound and not set(self.errors) - {"signed_name"}


def still_open(handover: Handover, left: tuple[LeftNumber, ...]) -> tuple[str, ...]:
    """Return what keeps a walk from being signed, as sentences.

    Parameters
    ----------
    handover : Handover
        With walk and numbers as they were typed.
    left : tuple of LeftNumber
        As the monitor was left, by now.

    Returns
    -------
    tuple of str
        Points nobody looked at or said nothing of, numbers nobody read, what is no number.
    """
    rows = {row["key"]: row for row in handover.checks}
    walked = tuple(Answered(key, Found(r["found"]) if r["found"] else None, r["remark"]) for key, r in rows.items())
    shown = {row["key"]: row["shown"] for row in handover.numbers}
    bad = [f"{one.name}: {wrong}" for one in left if shown.get(one.key) and (wrong := number_problem(shown[one.key]))]
    return (*open_points(walked), *not_compared(left, shown), *bad)


def compared_again(handover: Handover, left: tuple[LeftNumber, ...], steering: Steering) -> list[dict[str, Any]]:
    """Return the numbers of a walk against what the monitor was left with by now, which may be newer than the walk."""
    return list(compared_numbers(left, {row["key"]: row["shown"] for row in handover.numbers}, steering))
