"""Rows and sheets by their entry, and readings that met another one at their tip."""

from __future__ import annotations

import uuid

from django.db import models
from django.utils import timezone

from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models import Reading, WetRun


class YardEntry(models.Model):
    """A row or a sheet that came in from a device and was kept; sending it again keeps it once."""

    entry = models.UUIDField(primary_key=True)
    """Made where it was typed."""
    wet_run = models.ForeignKey(WetRun, on_delete=models.CASCADE, related_name="yard_entries")
    test = models.CharField(max_length=40)
    typed = DocumentField()
    """What stood in the boxes, as lists of texts by name of the box."""
    by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    """When it was typed, by the clock of the device."""
    kept_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("kept_at", "pk")

    def __str__(self) -> str:
        return f"{self.test} {self.entry}"


class SecondReading(models.Model):
    """A reading of a tip that had another one meanwhile: kept beside it until a person decides."""

    entry = models.UUIDField(primary_key=True, default=uuid.uuid4)
    """Made where it was typed."""
    wet_run = models.ForeignKey(WetRun, on_delete=models.CASCADE, related_name="second_readings")
    against = models.ForeignKey(Reading, on_delete=models.CASCADE, related_name="seconds")
    """What stood there when it came in."""
    place = models.CharField(max_length=120)
    typed = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    """When it was typed, by the clock of the device."""
    kept_at = models.DateTimeField(default=timezone.now)
    decided_at = models.DateTimeField(null=True)
    decided_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    is_taken = models.BooleanField(null=True)
    """Whether it took the place of the first; None while nobody decided."""

    class Meta:
        ordering = ("kept_at", "pk")

    def __str__(self) -> str:
        return f"{self.place}: {self.typed}"

    @property
    def tip(self) -> str:
        """Position of its tip."""
        return self.place.rpartition(".")[2]
