"""The forms of a changeover: beginning one, writing a step down, signing."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

CLASSES = [
    ("self-propelled", gettext_lazy("self-propelled")),
    ("trailed", gettext_lazy("trailed")),
    ("mounted", gettext_lazy("mounted")),
]
WHAT = [
    ("begun", gettext_lazy("begun")),
    ("done", gettext_lazy("done")),
    ("skipped", gettext_lazy("left out")),
]


class NewChangeoverForm(forms.Form):
    """What a changeover needs to be begun; everything else is typed on its sheet."""

    title = forms.CharField(label=gettext_lazy("Title"), max_length=200)
    on = forms.DateField(label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}))
    earlier = forms.ChoiceField(label=gettext_lazy("Out of the machine: the pass that was sprayed"))
    later = forms.ChoiceField(label=gettext_lazy("The pass that comes next"))
    machine_class = forms.ChoiceField(
        label=gettext_lazy("Kind of machine"),
        choices=CLASSES,
        help_text=gettext_lazy("Typical volumes of its circuits stand in until somebody measures them."),
    )

    def __init__(self, *args: Any, passes: list[str], **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        for name in ("earlier", "later"):
            self.fields[name].choices = [(one, one) for one in passes]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Refuse a changeover from a pass to itself."""
        cleaned = super().clean() or {}
        if cleaned.get("earlier") and cleaned.get("earlier") == cleaned.get("later"):
            self.add_error("later", _("Both are the same pass: nothing has to be cleaned out between its loads."))
        return cleaned

    def document(self, units: str) -> dict[str, Any]:
        """Return the document that was begun."""
        typed = self.cleaned_data
        return {
            "format_version": 1,
            "title": typed["title"],
            "units": units,
            "on": typed["on"],
            "from": typed["earlier"],
            "to": typed["later"],
            "plumbing": {"class": typed["machine_class"]},
        }


class NoteForm(forms.Form):
    """What is written down of one step."""

    entry = forms.UUIDField(widget=forms.HiddenInput)
    step = forms.CharField(widget=forms.HiddenInput, max_length=300)
    what = forms.ChoiceField(choices=WHAT)
    by = forms.CharField(label=gettext_lazy("By"), max_length=200)
    water = forms.CharField(label=gettext_lazy("Water used"), max_length=40, required=False)
    because = forms.CharField(label=gettext_lazy("Why it is left out"), max_length=600, required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for the reason of what is left out."""
        cleaned = super().clean() or {}
        if cleaned.get("what") == "skipped" and not cleaned.get("because", "").strip():
            self.add_error("because", _("Write down why the step is left out: the next crop pays for it."))
        return cleaned


def new_entry() -> str:
    """Return a name for an entry, so that sending it twice keeps it once."""
    return str(uuid4())
