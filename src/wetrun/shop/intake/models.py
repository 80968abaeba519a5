"""A customer asked for a season, and the logs that came with the answer."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.accounts.models import UNITS
from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models import BranchRecord, FieldLog, Machine, Season


class Stand(StrEnum):
    """How far an intake is."""

    ASKED = "asked"
    BEGUN = "begun"
    ANSWERED = "answered"
    """It waits for the specialist."""
    SETTLED = "settled"
    PUT_AWAY = "put away"


class Intake(BranchRecord):
    """What a customer is asked for one machine's season, and what was typed, as it was typed."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="intakes")
    season = models.ForeignKey(Season, null=True, on_delete=models.SET_NULL, related_name="intakes")
    """The season it is for; none yet where accepting it begins one."""
    title = models.CharField(_("title"), max_length=200)
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    wanted_by = models.DateField()
    document = DocumentField(default=dict)
    """Draft of the passes: ``format_version``, ``next`` (key of the next pass) and ``passes`` (``key``, ``typed``)."""
    remarks = models.TextField(blank=True, default="")
    filled_in_by = models.CharField(max_length=120, blank=True, default="")
    typed_at = models.DateTimeField(null=True)
    """When something was last typed over the link."""
    handed_in_at = models.DateTimeField(null=True)
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    decisions = DocumentField(null=True)
    """What became of each value: rows of place, typed, decided (take, keep, other, out), value."""
    mailed_to = models.CharField(max_length=254, blank=True, default="")
    mailed_at = models.DateTimeField(null=True)
    put_away_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"{self.title}, {self.machine}"

    @property
    def stand(self) -> Stand:
        """How far it is."""
        if self.put_away_at is not None:
            return Stand.PUT_AWAY
        if self.settled_at is not None:
            return Stand.SETTLED
        if self.handed_in_at is not None:
            return Stand.ANSWERED
        return Stand.ASKED if self.typed_at is None else Stand.BEGUN

    def is_late(self, today: date) -> bool:
        """Whether its answer is overdue."""
        return self.stand in {Stand.ASKED, Stand.BEGUN} and self.wanted_by < today


class IntakeLog(BranchRecord):
    """A field log that came over the link; no plan counts it before the intake is settled."""

    intake = models.ForeignKey(Intake, on_delete=models.CASCADE, related_name="intake_logs")
    log = models.OneToOneField(FieldLog, on_delete=models.CASCADE, related_name="from_intake")
    accepted_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return str(self.log)
