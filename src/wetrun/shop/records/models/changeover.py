"""A changeover: getting one product out before the next crop, and who did what when."""

from __future__ import annotations

import uuid

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from wetrun.shop.accounts.models import UNITS
from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models.base import BranchRecord, Frozen
from wetrun.shop.records.models.machine import Machine
from wetrun.shop.records.models.season import Season


class Changeover(BranchRecord):
    """A clean-out between two tanks. Signed it is never changed."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="changeovers")
    season = models.ForeignKey(Season, null=True, on_delete=models.SET_NULL, related_name="changeovers")
    title = models.CharField(_("title"), max_length=200)
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    document = DocumentField()
    """A changeover file as typed, without ``season``, ``[machine]`` and ``[record]``."""
    received = models.TextField(default="", blank=True)
    on = models.DateField(_("day"), null=True)
    sentence = models.TextField(blank=True, default="")
    reached = models.BooleanField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")
    method = models.CharField(max_length=300, blank=True, default="")
    in_us = DocumentField(null=True)
    in_si = DocumentField(null=True)
    problems = DocumentField(default=list)
    """What keeps it from being answered, as sentences with their keys."""
    files_then = DocumentField(null=True)
    """The files it was answered from, as text by name, when it was signed; None while it is open."""
    signed_at = models.DateTimeField(null=True)
    signed_by = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering = ("-on", "-pk")

    def __str__(self) -> str:
        return self.title

    def save(self, *args: object, **kwargs: object) -> None:
        """Save an open changeover; refuse to write over one that is signed."""
        if Changeover.objects.filter(pk=self.pk, signed_at__isnull=False).exists():
            raise Frozen(_("This changeover is signed: it is never changed."))
        super().save(*args, **kwargs)  # type: ignore[arg-type]


class ChangeoverNote(models.Model):
    """What was written down of one step: begun, done, how much water, or why it was skipped. Never changed."""

    entry = models.UUIDField(primary_key=True, default=uuid.uuid4)
    changeover = models.ForeignKey(Changeover, on_delete=models.CASCADE, related_name="notes")
    step = models.CharField(max_length=300)
    what = models.CharField(max_length=8, choices=[("begun", "begun"), ("done", "done"), ("skipped", "skipped")])
    water = models.CharField(max_length=40, blank=True, default="")
    because = models.CharField(max_length=600, blank=True, default="")
    by = models.CharField(max_length=200)
    user = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("at", "entry")

    def __str__(self) -> str:
        return f"{self.step}: {self.what}"
