"""The speed course: one more run in a few boxes, beside the sheet of the whole course."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from pydantic import ValidationError

from wetrun.documents.refusals import Document, problems_of
from wetrun.documents.wetrun_tests_entry import RunEntry
from wetrun.quantity import Kind, System
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.course_runs import next_way, run_row, runs_told, said_of, sources_of
from wetrun.shop.answers.one_more import keep_row
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.pages.wet_run_sheet import sheet_of_test
from wetrun.shop.pages.wet_run_told import told_at_test
from wetrun.shop.records.models import WetRun
from wetrun.shop.typed.page_words import page_words
from wetrun.shop.typed.printed_units import with_unit

SEEN: Final = "seen"
"""Name of the box that holds how many runs the page showed; one more run is known by it."""
_NUMBERS: Final = {"inputmode": "decimal", "enterkeyhint": "next", "autocomplete": "off"}


class RunForm(forms.Form):
    """One more run over the course."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    way = forms.ChoiceField(
        label=gettext_lazy("Way"), choices=[("out", gettext_lazy("out")), ("back", gettext_lazy("back"))]
    )
    time = forms.CharField(label=gettext_lazy("Time, s"), max_length=40, widget=forms.TextInput(attrs=_NUMBERS))

    def __init__(self, *args: Any, document: Mapping[str, Any], system: System, **kwargs: Any) -> None:  # noqa: ANN401
        runs = runs_told(document)
        kwargs.setdefault("initial", {SEEN: len(runs), "way": next_way(document)})
        super().__init__(*args, **kwargs)
        self.sources = sources_of(document)
        self._unit = Kind.SPEED.shown_in(system)
        for at, source in enumerate(self.sources):
            label = said_of(source) if source.counts else f"{source.name}, {self._unit}"
            self.fields[f"source-{at}"] = forms.CharField(
                label=label, max_length=40, required=False, widget=forms.TextInput(attrs=_NUMBERS)
            )

    def clean(self) -> dict[str, Any]:
        """Hold the run against what a wet-run file takes; every refusal stands at its box."""
        given = super().clean() or self.cleaned_data
        if self.errors:
            return given
        given["row"] = row = run_row(self._typed(given), self.sources)
        try:
            RunEntry.model_validate(row)
        except ValidationError as refused:
            for problem in problems_of(refused, Document("wetrun.toml", row, RunEntry)):
                self.add_error(self._box_of(problem.key), page_words(problem.limit, problem.remedy))
        return given

    def _typed(self, given: Mapping[str, Any]) -> dict[str, str]:
        typed = {"way": given["way"], "time": with_unit(given["time"], "s")}
        for at, source in enumerate(self.sources):
            text = given.get(f"source-{at}", "")
            typed[source.name] = text if source.counts else with_unit(text, self._unit)
        return typed

    def _box_of(self, key: str) -> str | None:
        """The box a refusal stands at: that of its source, else the box of its key."""
        _table, _dot, name = key.partition(".")
        at = next((at for at, one in enumerate(self.sources) if one.name == name), None)
        return f"source-{at}" if at is not None else key if key in self.fields else None


def course_page(request: DeskRequest, wet_run: WetRun, test: YardTest) -> HttpResponse:
    """Type the speed course.

    Parameters
    ----------
    request : DeskRequest
        What was sent: one more run, or the whole sheet.
    wet_run : WetRun
        An open one.
    test : YardTest
        The course.

    Returns
    -------
    HttpResponse
        The page; anew once what was sent is kept.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    told, one_more = told_at_test(request, wet_run, test), SEEN in request.POST
    document = told["document"]
    form = RunForm(request.POST if one_more else None, document=document, system=request.desk.system)
    if one_more and form.is_valid():
        new = keep_row(wet_run, request.desk, test, form.cleaned_data["row"], seen=form.cleaned_data[SEEN])
        messages.success(request, _("Run kept.") if new else _("That run was kept before."))
        return redirect("wet-run-test", wet_run=wet_run.pk, test=test.key)
    page = sheet_of_test(request, told, test, sent=request.method == "POST" and not one_more)
    if page.keeps():
        messages.success(request, _("%(test)s: kept.") % {"test": test.title})
        return redirect("wet-run", wet_run=wet_run.pk)
    told |= {"page": page, "sheet": page.sheet, "form": form}
    told |= {"runs": runs_told(document), "heads": [said_of(one) for one in sources_of(document)]}
    return render(request, "wet_runs/course.html", told)
