"""Links that were made, and wrong tries at guessing one."""

from __future__ import annotations

from enum import StrEnum

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from wetrun.shop.records.models import BranchRecord, Machine


class Purpose(StrEnum):
    """What a link is for; a token of one purpose opens nothing of another."""

    INTAKE = "intake"
    HANDOVER = "handover"


PURPOSES = [(Purpose.INTAKE.value, _("intake")), (Purpose.HANDOVER.value, _("handover"))]


class Link(BranchRecord):
    """A link to one record for one purpose. Who made it and when stands in every record; its token is kept nowhere."""

    purpose = models.CharField(max_length=10, choices=PURPOSES)
    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="links")
    subject = models.CharField(max_length=60)
    """The kind of record it leads to, as Django calls it."""
    subject_key = models.CharField(max_length=40)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    until = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
    revoked_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    opened_at = models.DateTimeField(null=True)
    """When it was first opened; a messenger that looks ahead at addresses opens it too."""
    used_at = models.DateTimeField(null=True)
    """When what it was made for was done; it opens nothing any more."""

    class Meta:
        ordering = ("-pk",)
        indexes = (models.Index(fields=("subject", "subject_key")),)

    def __str__(self) -> str:
        return f"{self.get_purpose_display()}, {self.machine}"

    @property
    def is_open(self) -> bool:
        """Whether its token still opens what it leads to."""
        return self.revoked_at is None and self.used_at is None and self.until > timezone.now()


class WrongTry(models.Model):
    """A token nobody was given, and from where: gone again as soon as it no longer counts."""

    whence = models.CharField(max_length=64, db_index=True)
    """A keyed hash of the network address: enough to count by, too little to know somebody by."""
    at = models.DateTimeField(default=timezone.now, db_index=True)

    def __str__(self) -> str:
        return f"{self.at}"
