"""Photos of what was found on a walk round."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.records.models import BranchRecord, Handover

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
