"""The forms a wet run begins with: a new one, one from a file, one in the place of another."""

from __future__ import annotations

from typing import Any, Final, cast

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.errors import InputProblems
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.accounts.models import UNITS
from wetrun.shop.answers.files import FileProposal, wet_run_from
from wetrun.shop.answers.wet_run_begun import passes_of_season, tip_of_plan, tips_owned
from wetrun.shop.pages.tip_names import tip_idents
from wetrun.shop.pages.uploads import HandedText, TextFileField
from wetrun.shop.records.models import Machine, Season

ALONE: Final = "machine"


class DayInput(forms.DateInput):
    """A day, picked or typed as year, month, day."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class NewRunForm(forms.Form):
    """What a wet run needs to be begun."""

    title = forms.CharField(label=gettext_lazy("Title"), max_length=200)
    on = forms.DateField(label=gettext_lazy("Day"), widget=DayInput)
    technician = forms.CharField(label=gettext_lazy("Technician"), max_length=200)
    proved_for = forms.ChoiceField(
        label=gettext_lazy("Proved for"),
        help_text=gettext_lazy("The pass says rate, speeds and what the monitor should show."),
    )
    fitted = forms.CharField(
        label=gettext_lazy("Tip on the boom"),
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"list": "offered", "autocomplete": "off"}),
        help_text=gettext_lazy("Its ident. Left empty, it is the one the tip plan puts on for that pass."),
    )
    units = forms.ChoiceField(
        label=gettext_lazy("Units it is written in"),
        choices=UNITS,
        help_text=gettext_lazy("Everybody reads it in their own."),
    )

    def __init__(self, *args: Any, machine: Machine, desk: Desk, **kwargs: Any) -> None:  # noqa: ANN401
        self.seasons = {one.pk: one for one in machine.seasons.filter(put_away_at=None)}
        kwargs.setdefault("initial", self._usual(desk))
        super().__init__(*args, **kwargs)
        cast("forms.ChoiceField", self.fields["proved_for"]).choices = self._offered()
        self.offered = list(dict.fromkeys((*tips_owned(machine), *tip_idents(machine.branch_id))))

    def _usual(self, desk: Desk) -> dict[str, Any]:
        first = next(iter(self.seasons.values()), None)
        passes = [] if first is None else passes_of_season(first)
        return {
            "title": _("Before the season"),
            "on": desk.today,
            "technician": desk.user.name,
            "proved_for": f"{first.pk}:{passes[0]}" if first is not None and passes else ALONE,
            "units": desk.system.value,
        }

    def _offered(self) -> list[Any]:
        groups = [
            (one.title, [(f"{key}:{name}", name) for name in passes_of_season(one)] or [(f"{key}:", _("no pass yet"))])
            for key, one in self.seasons.items()
        ]
        return [*groups, (ALONE, _("the machine alone, no season"))]

    @property
    def season(self) -> Season | None:
        """The season it is proved for."""
        key = self.cleaned_data.get("proved_for", "").partition(":")[0]
        return self.seasons.get(int(key)) if key.isdigit() else None

    @property
    def head(self) -> dict[str, Any]:
        """What the document of the run says first."""
        given = self.cleaned_data
        return {
            "title": given["title"],
            "on": given["on"],
            "technician": given["technician"],
            "pass": given["proved_for"].partition(":")[2],
            "tips": {"fitted": given["fitted"]},
        }

    def clean(self) -> dict[str, Any]:
        """Take the tip of the plan where none was typed."""
        given = super().clean() or self.cleaned_data
        if not given.get("fitted") and "proved_for" in given:
            given["fitted"] = tip_of_plan(self.season, given["proved_for"].partition(":")[2])
            if not given["fitted"]:
                self.add_error("fitted", _("No tip plan says which tip is on the boom. Write its ident."))
        return given


class RunFileForm(forms.Form):
    """A wet run as a file. `proposal` is what would come of it, once it can be read."""

    file = TextFileField(label=gettext_lazy("Wet-run file"), endings=".toml", required=False)
    season = forms.ModelChoiceField(
        Season.objects.none(),
        label=gettext_lazy("Season it is proved for"),
        required=False,
        empty_label=gettext_lazy("the latest, if the file names one"),
    )
    text = forms.CharField(
        label=gettext_lazy("Or its text"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false", "autocomplete": "off", "wrap": "off"}),
        help_text=gettext_lazy("Where both are given, the file counts."),
    )
    name = forms.CharField(widget=forms.HiddenInput, required=False)
    sure = forms.BooleanField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, machine: Machine, desk: Desk, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        offered = machine.seasons.filter(put_away_at=None).select_related("branch", "machine__customer")
        cast("forms.ModelChoiceField[Season]", self.fields["season"]).queryset = offered
        self.machine, self.desk = machine, desk
        self.proposal: FileProposal | None = None

    def clean(self) -> dict[str, Any]:
        """Read the file, and ask before the machine is changed by it."""
        given = super().clean() or self.cleaned_data
        handed: HandedText | None = given.get("file")
        text, name = (
            (given.get("text", ""), given.get("name") or "wetrun.toml")
            if handed is None
            else (handed.text, handed.name)
        )
        if not text and "file" not in self.errors:
            self.add_error("file", _("Choose a file, or paste its text."))
        if text:
            self._propose(text, name, given)
        return given

    def _propose(self, text: str, name: str, given: dict[str, Any]) -> None:
        try:
            self.proposal = wet_run_from(text, self.machine, name, given.get("season"))
        except InputProblems as refused:
            for problem in refused.problems:
                self.add_error("season" if problem.key == "season" else "file", str(problem))
            return
        data = cast("QueryDict", self.data).copy()
        data["text"], data["name"] = text, name  # a file does not come back with the page, its text does
        self.data = data
        if self.proposal.machine_changes and not self.desk.may_plan:
            words = _("The file would change the machine. Your role does not allow that; a specialist can take it in.")
            self.add_error(None, words)
        elif self.proposal.machine_changes and not given.get("sure"):
            self.add_error(None, _("The file would change the machine. Look at what it changes, then send again."))
            data["sure"] = "on"


class ProofForm(forms.Form):
    """The confirmation that closes a wet run."""

    digest = forms.CharField(widget=forms.HiddenInput, max_length=64)
    sure = forms.BooleanField(
        label=gettext_lazy("I have looked at the evidence. The run is closed as it stands and not changed any more."),
        error_messages={"required": gettext_lazy("Look at the evidence, then tick this.")},
    )

    def __init__(self, *args: Any, stands: str, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        kwargs.setdefault("initial", {"digest": stands})
        super().__init__(*args, **kwargs)
        self._stands = stands

    def clean_digest(self) -> str:
        """Refuse to close on an answer that is not the one that was looked at."""
        if self.cleaned_data["digest"] != self._stands:
            raise ValidationError(_("Something was typed since this page was shown. Look at the answer as it is now."))
        return self._stands


class SuccessorForm(forms.Form):
    """What a run in the place of another begins with."""

    with_readings = forms.TypedChoiceField(
        label=gettext_lazy("It begins with"),
        choices=[
            ("no", gettext_lazy("nothing read yet: course, instruments and the monitor's profile only")),
            ("yes", gettext_lazy("everything that was read, to be corrected")),
        ],
        coerce=lambda typed: typed == "yes",
        widget=forms.RadioSelect,
        initial="no",
    )
