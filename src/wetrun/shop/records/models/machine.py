"""The machine: the record everything else hangs on."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.accounts.models import UNITS
from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models.base import BranchRecord
from wetrun.shop.records.models.customer import Customer


class Machine(BranchRecord):
    """One boom sprayer of a customer."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="machines")
    name = models.CharField(_("name"), max_length=200)
    """As in its document; kept beside it so that lists need not read documents."""
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    document = DocumentField()
    """The table [machine] of a season file, as typed."""
    put_away_at = models.DateTimeField(null=True)

    season_now: int | None
    """Key of the season it is made ready for, where `wetrun.shop.records.readiness` asked for it."""

    class Meta:
        ordering = ("customer__name", "name", "pk")
        constraints = (models.UniqueConstraint(fields=("customer", "name"), name="one_machine_of_a_name"),)

    def __str__(self) -> str:
        return self.name

    def save(self, *args: object, **kwargs: object) -> None:
        """Save with the name its document gives."""
        self.name = str(self.document.get("name", ""))[:200]
        super().save(*args, **kwargs)  # type: ignore[arg-type]
