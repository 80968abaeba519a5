"""The forms by which tip files and maps of log columns are handed in: as a file or as its text, and nothing is lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar, Final, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.documents.catalogue_file import tips_of_text
from wetrun.documents.text_file import text_of_file
from wetrun.errors import InputProblems, Problem
from wetrun.fieldlog.readers.mapping import MOST_BYTES, mapping_from
from wetrun.shop.answers.file_names import wrong_with
from wetrun.shop.answers.shared_files import Shared
from wetrun.shop.pages.uploads import Upload
from wetrun.shop.records.models import Catalogue, ColumnMap

MOST_SHOWN: Final = 300
"""A table that was misread whole is not told row by row for ever."""


class SharedFileForm(forms.Form):
    """Takes one text file. `record` is what it holds, once it is valid."""

    most_bytes: ClassVar[int]
    fallback_encoding: ClassVar[str | None] = None

    over = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=1)
    file = forms.FileField(label=gettext_lazy("File"), required=False)
    text = forms.CharField(
        label=gettext_lazy("Or its text"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "autocomplete": "off", "wrap": "off"}),
        help_text=gettext_lazy("Where both are given, the file counts."),
    )
    name = forms.CharField(
        label=gettext_lazy("Name"),
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        help_text=gettext_lazy("What seasons call it, such as tips.csv. Left empty, it keeps the name of the file."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        self.fields["file"].help_text = _("up to %(most)s") % {"most": filesizeformat(self.most_bytes)}
        self.problems: tuple[Problem, ...] = ()

    def read(self, name: str, text: str) -> Shared:
        """Return the record of a text, not saved; raises `InputProblems` for a text that cannot be used."""
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        """Read name and text; what was read of a file that is refused stands in the text box, to be mended there."""
        cleaned = self.cleaned_data
        name, text = self._name(cleaned), self._text(cleaned)
        self._show(name, text)
        if not self.errors:
            try:
                self.record = self.read(name, text)
            except InputProblems as found:
                self.problems = found.problems
                self.add_error(None, str(found))
        return cleaned

    @property
    def shown_problems(self) -> tuple[Problem, ...]:
        """The problems a page shows."""
        return self.problems[:MOST_SHOWN]

    @property
    def more_problems(self) -> int:
        """How many more there are."""
        return max(len(self.problems) - MOST_SHOWN, 0)

    def ask_over(self, stands: Shared) -> None:
        """Ask whether the file of that name that stands is to be replaced: sent again, it is."""
        self.add_error("name", _("A file of that name stands already. Send again to put yours in its place."))
        self._change(over=str(stands.pk))

    def _name(self, cleaned: dict[str, Any]) -> str:
        upload: UploadedFile[Any] | None = cleaned.get("file")
        name = " ".join((cleaned.get("name") or (upload.name if upload is not None else "") or "").split())
        if not name:
            self.add_error("name", _("Give it a name: a text has none of its own."))
        elif wrong := wrong_with(name):
            words = _("“%(name)s”: %(wrong)s. Write a plain name such as tips.csv.")
            self.add_error("name", words % {"name": name, "wrong": wrong})
        return name

    def _text(self, cleaned: dict[str, Any]) -> str:
        upload: UploadedFile[Any] | None = cleaned.get("file")
        text = cleaned.get("text", "").replace("\r\n", "\n") if upload is None else self._text_of(upload)
        if upload is None and not text.strip():
            self.add_error("file", _("Choose a file, or paste its text below."))
        if len(text.encode(errors="replace")) > self.most_bytes:
            words = _("It is larger than %(most)s. Leave out what is not needed, or hand it in as several files.")
            self.add_error(None, words % {"most": filesizeformat(self.most_bytes)})
            return ""
        return text

    def _text_of(self, upload: UploadedFile[Any]) -> str:
        if not isinstance(upload, Upload) or upload.file is None:
            self.add_error("file", _("The file did not come in whole. Choose it again."))
            return ""
        upload.file.flush()
        try:
            return text_of_file(Path(upload.path), fallback_encoding=self.fallback_encoding)
        except InputProblems as found:
            (problem,) = found.problems
            said = Problem(upload.name or "", problem.key, problem.value, problem.limit, problem.remedy)
            self.add_error("file", str(said))
            return ""

    def _show(self, name: str, text: str) -> None:
        if text:
            self._change(name=name, text=text)

    def _change(self, **values: str) -> None:
        data = cast("QueryDict", self.data).copy()
        for field, value in values.items():
            data[self.add_prefix(field)] = value
        self.data = data


class TipFileForm(SharedFileForm):
    """Takes a tip file."""

    most_bytes = 1024**2
    fallback_encoding = "cp1252"

    def read(self, name: str, text: str) -> Catalogue:
        """Return the tip file of a text."""
        return Catalogue(name=name, text=text, tips=len(tips_of_text(name, text)))


class ColumnMapForm(SharedFileForm):
    """Takes a map of log columns."""

    most_bytes = MOST_BYTES

    def read(self, name: str, text: str) -> ColumnMap:
        """Return the map of a text."""
        mapping_from(text, file=name)
        return ColumnMap(name=name, text=text)
