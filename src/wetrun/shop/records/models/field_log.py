"""Field logs as they were handed in, what was found in them, and setups driven over them."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models.base import BranchRecord
from wetrun.shop.records.models.machine import Machine
from wetrun.shop.records.models.season import Season

LOG_STATES = [("waiting", _("waiting")), ("ready", _("ready")), ("refused", _("cannot be used"))]


class FieldLog(BranchRecord):
    """A file as it came; read by the worker, never by a page."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="logs")
    name = models.CharField(_("file name"), max_length=200)
    passes = DocumentField(default=list)
    """Names of the passes it stands for; none means every pass without a log of its own."""
    season = models.ForeignKey(Season, null=True, on_delete=models.SET_NULL, related_name="logs")
    column_map = models.CharField(max_length=120, blank=True, default="")
    """Name of the branch's map of columns it is read by."""
    stored = models.CharField(max_length=200)
    """Path below the uploads, made by us: nothing of the given name is in it but the ending."""
    size = models.BigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, db_index=True)
    state = models.CharField(max_length=8, choices=LOG_STATES, default="waiting")
    refused = models.TextField(blank=True, default="")
    in_us = DocumentField(null=True)
    in_si = DocumentField(null=True)
    """What was found in it: facts, repairs, doubts, speeds."""
    ledger_key = models.CharField(max_length=128, blank=True, default="")
    taken_away_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return self.name


class Replay(BranchRecord):
    """One setup driven over one log."""

    log = models.ForeignKey(FieldLog, on_delete=models.CASCADE, related_name="replays")
    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="+")
    pass_name = models.CharField(max_length=200)
    tip = models.CharField(max_length=200, blank=True, default="")
    digest = models.CharField(max_length=64)
    method = models.CharField(max_length=120)
    in_us = DocumentField()
    in_si = DocumentField()
    map = DocumentField(null=True)
    """Cells of the map as GeoJSON."""

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"{self.pass_name}, {self.tip}, {self.log}"
