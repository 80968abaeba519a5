"""A season of a machine, and the tip plans made for it."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.shop.accounts.models import UNITS
from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models.base import BranchRecord, Frozen
from wetrun.shop.records.models.machine import Machine

_SAYS = (
    "season_id",
    "digest",
    "method",
    "answer",
    "sets",
    "held_low_frac",
    "held_high_frac",
    "parts",
    "in_us",
    "in_si",
    "inputs",
)
"""What a tip plan says; the other columns tell what became of it."""
PARTS_STATES = [("needed", _("to order")), ("ordered", _("ordered")), ("here", _("here"))]


class Season(BranchRecord):
    """What a machine has to do in a season: its passes, as typed."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="seasons")
    title = models.CharField(_("title"), max_length=200)
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    document = DocumentField()
    """A season file as typed, without [machine] and [customer]: those are the machine's and the customer's."""
    received = models.TextField(default="", blank=True)
    """The file as it was handed in, comments and all; empty for a season that was typed here."""
    first_day = models.DateField(null=True, db_index=True)
    last_day = models.DateField(null=True)
    problems = models.PositiveIntegerField(default=0)
    """How many things in it stand in the way of a plan, when it was last saved."""
    put_away_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-first_day", "-pk")

    def __str__(self) -> str:
        return self.title


class TipPlan(BranchRecord):
    """A tip plan as it was computed: never changed, only followed by another."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="tip_plans")
    digest = models.CharField(max_length=64)
    """Of everything it was computed from; another one means that the plan is out of date."""
    method = models.CharField(max_length=120)
    answer = models.TextField(default="")
    sets = models.PositiveIntegerField(default=0)
    held_low_frac = models.FloatField(default=0.0)
    held_high_frac = models.FloatField(default=0.0)
    parts = DocumentField(default=list)
    """What has to be bought: rows of ident, words, size, family, count, cost_cents."""
    in_us = DocumentField()
    in_si = DocumentField()
    inputs = DocumentField(default=dict)
    """The season file, tip file and logs (by content) it was computed from."""
    replaced_at = models.DateTimeField(null=True, db_index=True)
    agreed_at = models.DateTimeField(null=True)
    agreed_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")
    parts_state = models.CharField(max_length=8, choices=PARTS_STATES, default="needed")
    parts_at = models.DateTimeField(null=True)
    parts_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ("-pk",)
        constraints = (
            models.UniqueConstraint(
                fields=("season",), condition=models.Q(replaced_at=None), name="one_standing_plan_of_a_season"
            ),
        )

    def __str__(self) -> str:
        return self.answer or str(self.season)

    def save(self, *args: object, **kwargs: object) -> None:
        """Save a new plan, or what became of one; refuse to change what it says."""
        stood = TipPlan.objects.filter(pk=self.pk).values(*_SAYS).first()
        if stood is not None and any(getattr(self, name) != value for name, value in stood.items()):
            raise Frozen(_("A tip plan is never changed: make another one."))
        super().save(*args, **kwargs)  # type: ignore[arg-type]
