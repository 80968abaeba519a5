"""A wet run: what was read on clean water, reading by reading, and what it proved."""

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


class WetRun(BranchRecord):
    """One session of water tests on one machine. Open it takes readings; proven it is only ever superseded."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="wet_runs")
    season = models.ForeignKey(Season, null=True, on_delete=models.SET_NULL, related_name="wet_runs")
    title = models.CharField(_("title"), max_length=200)
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    document = DocumentField()
    """A wet-run file as typed, without ``season`` and ``[machine]``; readings of `Reading` are laid over it."""
    settled = DocumentField(default=dict)
    """Number of the last reading that went into the document, by test: readings up to it are not laid over it again."""
    machine_then = DocumentField(null=True)
    """The machine as it was when the run was proven; None while it is open."""
    files_then = DocumentField(null=True)
    """The files it was judged from, as text by name, when it was proven; None while it is open."""
    received = models.TextField(default="", blank=True)
    on = models.DateField(_("day"), null=True)
    technician = models.CharField(_("technician"), max_length=200, blank=True, default="")
    verdict = models.CharField(max_length=12, blank=True, default="")
    agrees = models.BooleanField(null=True)
    """Whether its readings agree with each other; None where they were too few to be held together."""
    proofs = DocumentField(default=list)
    """Names of what its tests proved, see `wetrun.shop.answers.run_proofs`."""
    sentence = models.TextField(blank=True, default="")
    digest = models.CharField(max_length=64, blank=True, default="")
    method = models.CharField(max_length=300, blank=True, default="")
    in_us = DocumentField(null=True)
    in_si = DocumentField(null=True)
    problems = DocumentField(default=list)
    """What keeps it from being judged, as sentences."""
    proven_at = models.DateTimeField(null=True)
    proven_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    follows = models.ForeignKey("self", null=True, on_delete=models.SET_NULL, related_name="+")
    """The proven run whose place it takes once it is proven itself."""
    superseded_by = models.OneToOneField("self", null=True, on_delete=models.SET_NULL, related_name="supersedes")

    class Meta:
        ordering = ("-on", "-pk")

    def __str__(self) -> str:
        return self.title

    def save(self, *args: object, **kwargs: object) -> None:
        """Save an open run; refuse to write over one that is proven."""
        if WetRun.objects.filter(pk=self.pk, proven_at__isnull=False).exists():
            raise Frozen(_("This wet run is proven: it is superseded by another, never changed."))
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    @property
    def is_open(self) -> bool:
        """Whether it still takes readings."""
        return self.proven_at is None


class Reading(models.Model):
    """One thing that was read, as it was typed. Nothing here is ever changed: a later one at the same place stands."""

    entry = models.UUIDField(primary_key=True, default=uuid.uuid4)
    """Made where it was typed, so that sending it twice keeps it once."""
    wet_run = models.ForeignKey(WetRun, on_delete=models.CASCADE, related_name="readings")
    place = models.CharField(max_length=120)
    """Where it stands in the wet-run file, such as ``catch.readings.23``."""
    typed = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    """When it was typed, by the clock of the device if it told."""
    kept_at = models.DateTimeField(default=timezone.now)
    number = models.BigIntegerField(default=0)
    """Order in which readings of this run were kept."""

    class Meta:
        ordering = ("number",)
        indexes = (models.Index(fields=("wet_run", "number")),)

    def __str__(self) -> str:
        return f"{self.place}: {self.typed}"
