"""The form for a file of the command line's: chosen or pasted, looked at, then kept."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.conf import settings
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.pages.uploads import TextFileField


class FileForm(forms.Form):
    """Takes a file, or its text."""

    file = TextFileField(label=gettext_lazy("File"), required=False, endings=".toml")
    text = forms.CharField(
        label=gettext_lazy("Or its text, pasted"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false"}),
    )
    name = forms.CharField(required=False, max_length=200, widget=forms.HiddenInput)

    def __init__(self, *args: Any, usual: str, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        self._usual = usual

    def clean(self) -> dict[str, Any]:
        """Take the file before the text, and one of the two at least."""
        cleaned = super().clean() or {}
        handed = cleaned.get("file")
        if handed is not None:
            cleaned["text"], cleaned["name"] = handed.text, handed.name
        elif not (cleaned.get("text") or "").strip() and not self.errors:
            self.add_error("file", _("Choose a file, or paste its text."))
        elif len((cleaned.get("text") or "").encode()) > settings.MOST_TEXT_BYTES:
            self.add_error("text", _("That is too long to be such a file."))
        cleaned["name"] = cleaned.get("name") or self._usual
        # A browser sends line ends of its own; a file is kept with those it had.
        cleaned["text"] = (cleaned.get("text") or "").replace("\r\n", "\n")
        return cleaned

    def show_again(self, text: str, name: str) -> None:
        """Show what was handed in as text, so that it can be mended and sent again without choosing the file anew."""
        data = cast("QueryDict", self.data).copy()
        data["text"], data["name"] = text, name
        self.data = data
