"""The form of a handover: who takes the machine, the walk round, and the numbers in the monitor."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.machine.walk_round import WALK, Answered, Found, Look, open_points
from wetrun.shop.answers.handovers import LeftNumber, compared_numbers, number_problem
from wetrun.shop.records.models import Handover

FOUND = [(found.value, found.value) for found in Found]


def look_fields() -> dict[str, forms.Field]:
    """Return the two fields of each point of the walk: what was found, and a remark."""
    fields: dict[str, forms.Field] = {}
    for look in WALK:
        fields[f"look-{look.key}"] = forms.ChoiceField(
            choices=FOUND, required=False, widget=forms.RadioSelect, label=look.words, help_text=look.why
        )
        fields[f"remark-{look.key}"] = forms.CharField(label=_("Remark"), required=False, max_length=300)
    return fields


def number_fields(left: tuple[LeftNumber, ...]) -> dict[str, forms.Field]:
    """Return a field for each number a monitor was left with."""
    decimal = {"inputmode": "decimal", "autocomplete": "off"}
    return {
        f"number-{one.key}": forms.CharField(
            label=one.name, required=False, max_length=20, widget=forms.TextInput(attrs=decimal)
        )
        for one in left
    }


def answers_in(cleaned: Mapping[str, Any]) -> tuple[Answered, ...]:
    """Return what was found on the walk, of what its fields hold."""
    found = {look.key: cleaned.get(f"look-{look.key}", "") for look in WALK}
    return tuple(
        Answered(key, Found(each) if each else None, cleaned.get(f"remark-{key}", "")) for key, each in found.items()
    )


def rows_of_walk(answers: tuple[Answered, ...]) -> list[dict[str, str]]:
    """Return what was found on a walk as a record keeps it."""
    return [{"key": one.key, "found": one.found.value if one.found else "", "remark": one.remark} for one in answers]


def not_compared(left: tuple[LeftNumber, ...], typed: Mapping[str, str]) -> tuple[str, ...]:
    """Return the sentence that names the numbers nobody read off the monitor; empty if all were."""
    unseen = [one.name for one in left if not typed.get(one.key)]
    return (_("Not compared yet: %(names)s.") % {"names": ", ".join(unseen)},) if unseen else ()


class HandoverForm(forms.Form):
    """Takes down a handover; it may be kept unfinished and is signed only when nothing is left open."""

    operator = forms.CharField(label=gettext_lazy("Who takes the machine"), max_length=200)
    pass_name = forms.ChoiceField(label=gettext_lazy("For which pass"), required=False)
    remarks = forms.CharField(
        label=gettext_lazy("Remarks"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    signed_name = forms.CharField(
        label=gettext_lazy("Signed by the operator (full name)"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("I walked round with the specialist, the numbers were compared, and I read the label."),
    )
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, passes: list[str], left: tuple[LeftNumber, ...], **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.left = left
        chosen = [("", _("none in particular")), *((name, name) for name in passes)]
        self.fields["pass_name"].choices = chosen  # type: ignore[attr-defined]
        self.fields |= {**look_fields(), **number_fields(left)}

    def clean(self) -> dict[str, Any]:
        """Refuse numbers that are none, and a signature while anything is open."""
        cleaned = super().clean() or {}
        for one in self.left:
            typed = cleaned.get(f"number-{one.key}", "")
            if typed and (wrong := number_problem(typed)):
                self.add_error(f"number-{one.key}", wrong)
        if "sign" in self.data:
            self._check_signed(cleaned)
        return cleaned

    def _check_signed(self, cleaned: dict[str, Any]) -> None:
        if not cleaned.get("signed_name", "").strip():
            self.add_error("signed_name", _("Nobody signed. The operator types the full name."))
        typed = {one.key: self.data.get(f"number-{one.key}", "").strip() for one in self.left}
        for sentence in (*open_points(self.answers), *not_compared(self.left, typed)):
            self.add_error(None, sentence)

    @property
    def answers(self) -> tuple[Answered, ...]:
        """What was found on the walk."""
        return answers_in(self.cleaned_data)

    @property
    def walk(self) -> Iterator[tuple[Look, forms.BoundField, forms.BoundField]]:
        """The walk with its two fields a point, for the page."""
        for look in WALK:
            yield look, self[f"look-{look.key}"], self[f"remark-{look.key}"]

    @property
    def numbers(self) -> Iterator[tuple[LeftNumber, forms.BoundField]]:
        """The numbers with their fields, for the page."""
        for one in self.left:
            yield one, self[f"number-{one.key}"]

    def fill(self, handover: Handover, steering: Any) -> Handover:  # noqa: ANN401 - as the core makes it
        """Lay what was typed on a record; it is not saved yet."""
        typed = self.cleaned_data
        handover.operator, handover.pass_name, handover.remarks = (
            " ".join(typed["operator"].split()),
            typed["pass_name"],
            typed["remarks"],
        )
        handover.checks = rows_of_walk(self.answers)
        shown = {one.key: typed.get(f"number-{one.key}", "") for one in self.left}
        handover.numbers = list(compared_numbers(self.left, shown, steering))
        handover.signed_name = typed["signed_name"].strip()
        return handover


def initial_of(handover: Handover) -> dict[str, Any]:
    """Return what the form of a handover begun earlier is filled with."""
    looks = {f"look-{row['key']}": row["found"] for row in handover.checks}
    remarks = {f"remark-{row['key']}": row["remark"] for row in handover.checks}
    numbers = {f"number-{row['key']}": row["shown"] for row in handover.numbers}
    return {
        "operator": handover.operator,
        "pass_name": handover.pass_name,
        "remarks": handover.remarks,
        "signed_name": handover.signed_name,
        "version": handover.version if handover.pk else None,
        **looks,
        **remarks,
        **numbers,
    }
