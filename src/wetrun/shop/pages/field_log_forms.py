"""The forms of a field log: handing files in, and which passes a log stands for."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.records.models import ColumnMap, Machine, Season

MOST_FILES = 50


class SeveralFiles(forms.ClearableFileInput):
    """A field for several files at once."""

    allow_multiple_selected = True


class SeveralFilesField(forms.FileField):
    """Takes one file or several; cleaned it is a list."""

    widget = SeveralFiles

    def clean(self, data: Any, initial: Any = None) -> Any:  # noqa: ANN401 - Django's own
        """Return the files that came, each looked at as one alone would be."""
        given = data if isinstance(data, list) else [data]
        return [super(SeveralFilesField, self).clean(each, initial) for each in given or [None]]


class LogUseForm(forms.Form):
    """Which passes a log stands for, and by which map its columns are read."""

    season = forms.ModelChoiceField(
        label=gettext_lazy("Season"),
        queryset=Season.objects.none(),
        required=False,
        empty_label=gettext_lazy("none in particular"),
    )
    passes = forms.MultipleChoiceField(
        label=gettext_lazy("Passes it stands for"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("None ticked: every pass of the season that has no log of its own."),
    )
    column_map = forms.ChoiceField(
        label=gettext_lazy("Map of its columns"),
        required=False,
        help_text=gettext_lazy("For text tables whose columns do not say what they are; task data needs none."),
    )

    def __init__(self, *args: Any, machine: Machine, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        seasons = Season.objects.filter(machine=machine, put_away_at=None).order_by("-first_day", "-pk")
        self.fields["season"].queryset = seasons  # type: ignore[attr-defined]
        names = dict.fromkeys(name for season in seasons for name in pass_names_of(season))
        self.fields["passes"].choices = [(name, name) for name in names]  # type: ignore[attr-defined]
        maps = ColumnMap.objects.filter(branch=machine.branch, replaced_at=None).values_list("name", flat=True)
        chosen = [("", _("none")), *((name, name) for name in maps)]
        self.fields["column_map"].choices = chosen  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Ask for the season of named passes."""
        cleaned = super().clean() or {}
        season, passes = cleaned.get("season"), cleaned.get("passes") or []
        if passes and season is None:
            self.add_error("season", _("Choose the season whose passes are ticked."))
        elif season is not None and (strange := [name for name in passes if name not in pass_names_of(season)]):
            self.add_error("passes", _("The season has no pass called %(names)s.") % {"names": ", ".join(strange)})
        return cleaned


class NewLogForm(LogUseForm):
    """Takes field logs as they come."""

    sent = SeveralFilesField(
        label=gettext_lazy("Files"),
        help_text=gettext_lazy(
            "A zip of task data, shapefiles zipped, text, GPX, GeoJSON: as the terminal wrote them."
        ),
    )
    field_order = ("sent", "season", "passes", "column_map")


def pass_names_of(season: Season) -> list[str]:
    """Return the names of a season's passes as they are called."""
    passes = season.document.get("pass")
    typed = [one for one in passes if isinstance(one, dict)] if isinstance(passes, list) else []
    return [" ".join(str(one.get("name", "")).split()) for one in typed]
