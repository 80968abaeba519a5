"""Photos of what was found on a walk round, and machines handed over by a link."""

from __future__ import annotations

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.accounts.models import UNITS
from wetrun.shop.records.models import BranchRecord, Handover, Machine, TipPlan

LOOKED_AT = "being looked at"
READY = "ready"
REFUSED = "refused"
STATES = [(LOOKED_AT, _("being looked at")), (READY, _("ready")), (REFUSED, _("refused"))]


class Photo(BranchRecord):
    """A photo of one point of a walk round. What the camera called it and wrote into it is kept nowhere."""

    handover = models.ForeignKey(Handover, on_delete=models.CASCADE, related_name="photos")
    look = models.CharField(max_length=40)
    """Key of the point of the walk."""
    sha256 = models.CharField(max_length=64)
    """Of the file as it came in."""
    stored = models.CharField(max_length=200, blank=True, default="")
    """Its path below the uploads: the file as it came in until it was looked at, then the picture written anew."""
    size = models.PositiveBigIntegerField(default=0)
    """Bytes of what is stored."""
    wide = models.PositiveIntegerField(default=0)
    high = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=20, choices=STATES, default=LOOKED_AT)
    refused = models.TextField(blank=True, default="")
    """Why it is shown to nobody."""

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.handover}, {self.look}"

    @property
    def is_ready(self) -> bool:
        """Whether there is a picture to show."""
        return self.state == READY


class Offer(BranchRecord):
    """A machine that whoever drives it takes over by a link: the cab card of one pass, and any number of walks."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="offers")
    plan = models.ForeignKey(TipPlan, null=True, on_delete=models.SET_NULL, related_name="+")
    """Whose cab card is shown; none where no plan was made."""
    pass_name = models.CharField(max_length=200, blank=True, default="")
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    once = models.BooleanField(default=False)
    """Whether the first signature closes the link."""

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"{self.machine}, {self.pass_name}" if self.pass_name else str(self.machine)


class Walk(BranchRecord):
    """One operator's walk over a link: a handover that nobody else on the same link can reach by accident."""

    offer = models.ForeignKey(Offer, on_delete=models.CASCADE, related_name="walks")
    handover = models.OneToOneField(Handover, on_delete=models.CASCADE, related_name="walk")
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    """Its part of the address."""
    supersedes = models.ForeignKey(Handover, null=True, on_delete=models.SET_NULL, related_name="done_again")
    """The signed handover it stands in for once it is signed itself."""

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return str(self.handover)
