"""What our forms share: the version a form was filled from, and what to say when somebody else was quicker."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _

from wetrun.shop.records.models.base import BranchRecord, Changed


class VersionedForm(forms.ModelForm):  # type: ignore[type-arg]
    """A form of a record that remembers which version it was filled from."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=1)

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["version"] = self.instance.version
        for field in self.fields.values():
            field.widget.attrs.setdefault("autocomplete", "off")

    @property
    def read_version(self) -> int | None:
        """The version the form was filled from; None for a new record."""
        return self.cleaned_data.get("version") or (self.instance.version if self.instance.pk else None)

    def say_changed(self, changed: Changed) -> None:
        """Say that somebody else was quicker: what was typed stays, and what stands there now is shown."""
        self.add_error(None, changed_words(changed.now))
        for name in self.fields:
            if name != "version" and hasattr(changed.now, name):
                stands = getattr(changed.now, name)
                if str(stands) != str(self.cleaned_data.get(name, "")):
                    self.add_error(name, _("Now stands there: %(value)s") % {"value": stands or _("nothing")})
        data = cast("QueryDict", self.data).copy()
        data[self.add_prefix("version")] = str(changed.now.version)
        self.data = data


def changed_words(now: BranchRecord) -> str:
    """Return what to say to somebody whose record was changed by another in the meantime."""
    return _(
        "Somebody else changed “%(name)s” while you were typing. What you typed is still here and not saved. Look at "
        "what stands there now, then send again to put yours in its place."
    ) % {"name": now}
