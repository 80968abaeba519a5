"""Files that several seasons of a branch use: tips a maker sells, and what the columns of logs mean."""

from __future__ import annotations

from hashlib import sha256

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.records.models.base import BranchRecord


class NamedText(BranchRecord):
    """A text under the name files call it by; a new one under the same name takes the place of the old one."""

    name = models.CharField(_("file name"), max_length=120)
    text = models.TextField()
    sha256 = models.CharField(max_length=64, editable=False)
    """Of the text, so that lists need not read it to know whether it is another one."""
    replaced_at = models.DateTimeField(null=True)

    class Meta:
        abstract = True
        ordering = ("name", "-pk")

    def __str__(self) -> str:
        return self.name

    def save(self, *args: object, **kwargs: object) -> None:
        """Save with the hash of the text."""
        self.sha256 = sha256(self.text.encode()).hexdigest()
        super().save(*args, **kwargs)  # type: ignore[arg-type]


class Catalogue(NamedText):
    """A tip file (CSV), as it was handed in."""

    tips = models.PositiveIntegerField(default=0)

    class Meta(NamedText.Meta):
        constraints = (
            models.UniqueConstraint(
                fields=("branch", "name"), condition=models.Q(replaced_at=None), name="one_catalogue_of_a_name"
            ),
        )


class ColumnMap(NamedText):
    """A map of log columns (TOML), as it was handed in."""

    class Meta(NamedText.Meta):
        constraints = (
            models.UniqueConstraint(
                fields=("branch", "name"), condition=models.Q(replaced_at=None), name="one_column_map_of_a_name"
            ),
        )
