"""The forms of a customer who comes on the day: minutes there are, a day for the rest, what tests take."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.proving.day_model import DayTest
from wetrun.proving.short_run import BY_SECTION, BY_TIP, USUAL_TIMES
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.pages.wet_run_forms import DayInput
from wetrun.spray.definitions import MINUTE_S

MOST_MINUTES: Final = 24 * 60


class MinutesForm(forms.Form):
    """What there is on the day."""

    minutes = forms.FloatField(label=gettext_lazy("How many minutes are there?"), min_value=0, max_value=MOST_MINUTES)
    jugs = forms.IntegerField(label=gettext_lazy("Jugs that can be held under at once"), min_value=1, max_value=200)


class BookingForm(forms.Form):
    """When the rest is done."""

    on = forms.DateField(label=gettext_lazy("Book the rest for"), widget=DayInput)
    note = forms.CharField(label=gettext_lazy("Note"), max_length=600, required=False)

    def __init__(self, *args: Any, desk: Desk, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        self.today = desk.today

    def clean_on(self) -> Any:  # noqa: ANN401 - a day
        """Refuse a day that is over."""
        day = self.cleaned_data["on"]
        if day < self.today:
            raise forms.ValidationError(_("That day is over. Book a day that is still to come."))
        return day


class TestMinutesForm(forms.Form):
    """What each test takes in a branch: to set it up, and for each tip or section."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        for test in DayTest:
            for key, label in (("setup", _("minutes to set up")), ("each", self.each_words(test))):
                if label:
                    field = forms.FloatField(label=label, required=False, min_value=0, max_value=600)
                    field.widget.attrs["aria-label"] = f"{test.value}: {label}"
                    self.fields[f"{test.name}-{key}"] = field

    @staticmethod
    def each_words(test: DayTest) -> str:
        """Return what a test's time is counted by; empty if it takes the same on every boom."""
        if test in BY_TIP:
            return _("minutes for each jug-full of tips")
        return _("minutes for each section") if test in BY_SECTION else ""

    @property
    def rows(self) -> Iterator[tuple[DayTest, list[forms.BoundField]]]:
        """The tests with their fields, for the page."""
        for test in DayTest:
            names = [f"{test.name}-{key}" for key in ("setup", "each")]
            yield test, [self[name] for name in names if name in self.fields]

    @property
    def typed(self) -> dict[str, dict[str, str]]:
        """What was typed, by name of the test, to be kept."""
        found: dict[str, dict[str, str]] = {test.name: {} for test in DayTest}
        for name, value in self.cleaned_data.items():
            test, _dash, key = name.partition("-")
            if value is not None:
                found[test][key] = f"{value:g}"
        return found


def initial_of_minutes(typed: dict[str, Any]) -> dict[str, str]:
    """Return what the form of times is filled with: what was typed, or the usual."""
    found: dict[str, str] = {}
    for test, usual in USUAL_TIMES.items():
        times = {"setup": f"{usual.setup_s / MINUTE_S:g}", "each": f"{usual.each_s / MINUTE_S:g}"}
        found |= {f"{test.name}-{key}": str(text) for key, text in typed.get(test.name, times).items()}
    return found
