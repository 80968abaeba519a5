"""The audit trail: who did what to which record, when, and what stood there before."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from wetrun.shop.document_field import DocumentField


class Trail(models.Model):
    """One line of the trail. Written once, in the same transaction as what it tells of."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    machine = models.ForeignKey("records.Machine", null=True, on_delete=models.SET_NULL, related_name="trail")
    kind = models.CharField(max_length=30)
    """Name of the model."""
    key = models.CharField(max_length=40)
    """Primary key of the record, as text."""
    name = models.CharField(max_length=200)
    what = models.CharField(max_length=300)
    by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now, db_index=True)
    before = DocumentField(null=True)
    after = DocumentField(null=True)

    class Meta:
        ordering = ("-at", "-pk")
        indexes = (models.Index(fields=("branch", "kind", "key")),)

    def __str__(self) -> str:
        return f"{self.name}: {self.what}"
