"""What the monitor was left with, and the machine handed to whoever drives it."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.machine.walk_round import Found
from wetrun.shop.accounts.models import UNITS
from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models.base import BranchRecord
from wetrun.shop.records.models.machine import Machine
from wetrun.shop.records.models.season import Season
from wetrun.shop.records.models.wet_run import WetRun


class MonitorSettings(BranchRecord):
    """The numbers of a monitor at one moment, to the last zero. Never changed: the next moment is another record."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="settings")
    wet_run = models.ForeignKey(WetRun, null=True, on_delete=models.SET_NULL, related_name="settings")
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    document = DocumentField()
    """The table [monitor] of a wet-run file: profile, as_found, as_left."""
    on = models.DateField(_("day"))
    by = models.CharField(_("by"), max_length=200)
    why = models.CharField(_("why"), max_length=300, blank=True, default="")

    class Meta:
        ordering = ("-on", "-pk")
        verbose_name_plural = "monitor settings"

    def __str__(self) -> str:
        return f"{self.machine}, {self.on}"


class Handover(BranchRecord):
    """A machine handed to an operator: what was checked on the walk round, what the monitor showed, who signed."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="handovers")
    season = models.ForeignKey(Season, null=True, on_delete=models.SET_NULL, related_name="+")
    pass_name = models.CharField(max_length=200, blank=True, default="")
    operator = models.CharField(_("operator"), max_length=200)
    checks = DocumentField(default=list)
    """The walk round: rows of key, words, answer (right, wrong, not there), remark."""
    numbers = DocumentField(default=list)
    """Monitor numbers: rows of name, wanted, shown, words on what a difference does."""
    remarks = models.TextField(blank=True, default="")
    signed_at = models.DateTimeField(null=True)
    signed_name = models.CharField(max_length=200, blank=True, default="")
    over_link = models.BooleanField(default=False)
    """Whether the operator did it alone, over a link."""

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"{self.machine}, {self.operator}"

    @property
    def differing(self) -> list[dict[str, Any]]:
        """The rows of numbers that were not as the monitor was left."""
        return [row for row in self.numbers if row["same"] is False]

    @property
    def wrong_points(self) -> list[dict[str, Any]]:
        """The rows of the walk that were found wrong."""
        return [row for row in self.checks if row["found"] == Found.WRONG.value]
