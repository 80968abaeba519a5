"""What happens to a machine between wet runs, what a branch reckons with, and what was booked for later."""

from __future__ import annotations

import uuid
from typing import Final

from django.db import models
from django.utils.translation import gettext_lazy as _

from wetrun.machine.proofs import Event
from wetrun.shop.accounts.models import UNITS
from wetrun.shop.document_field import DocumentField
from wetrun.shop.records.models.base import BranchRecord
from wetrun.shop.records.models.machine import Machine

COUNTERS: Final = "COUNTERS"
"""No event of the core: acres and hours as the machine counted them so far."""
KINDS: Final = [*((event.name, event.value) for event in Event), (COUNTERS, _("counters read"))]


class Correctable(BranchRecord):
    """A record that is never changed: another one stands in its place, or says that it never was."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="%(class)ss")
    corrects = models.OneToOneField("self", null=True, on_delete=models.SET_NULL, related_name="corrected_by")
    entry = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    """Made where it was typed, so that sending it twice keeps it once."""
    void = models.BooleanField(default=False)
    """True for a correction that says it was entered by mistake."""

    class Meta:
        abstract = True


class MachineEvent(Correctable):
    """Something that happened to a machine, as it was entered."""

    kind = models.CharField(_("what happened"), max_length=30, choices=KINDS)
    on = models.DateField(_("day"))
    before_tests = models.BooleanField(default=False)
    who = models.CharField(_("who"), max_length=200, blank=True, default="")
    note = models.CharField(_("note"), max_length=600, blank=True, default="")
    typed = DocumentField(default=dict)
    """Quantities as typed: area, hours, density_was, density_now."""
    area_m2 = models.FloatField(null=True)
    spraying_s = models.FloatField(null=True)
    was_kgpm3 = models.FloatField(null=True)
    now_kgpm3 = models.FloatField(null=True)
    density_in_monitor = models.BooleanField(default=True)
    """Whether the monitor's flow hung on a density when it was entered."""

    class Meta:
        ordering = ("-on", "-pk")

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.on}"


class YardRules(BranchRecord):
    """What a branch reckons with: how long proofs last, and what tests take. Without a row the usual values count."""

    lasts = DocumentField(default=dict)
    """By name of the proof: area, hours, days, as typed."""
    minutes = DocumentField(default=dict)
    """By name of the test: minutes to set it up and for each tip or section, as typed."""

    class Meta:
        ordering = ("pk",)
        verbose_name_plural = "yard rules"
        constraints = (models.UniqueConstraint(fields=("branch",), name="one_set_of_yard_rules"),)

    def __str__(self) -> str:
        return str(_("Yard rules"))


class Booking(BranchRecord):
    """Tests that did not fit the minutes there were, put off to a day."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="bookings")
    on = models.DateField(_("day"))
    tests = DocumentField(default=list)
    """Names of the tests."""
    unproven = DocumentField(default=list)
    """What stayed unproven when it was booked, in words."""
    note = models.CharField(_("note"), max_length=600, blank=True, default="")
    closed_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("on", "pk")

    def __str__(self) -> str:
        return f"{self.machine}, {self.on}"


class FillBook(BranchRecord):
    """The loads of a machine's season: what they were measured with, and the monitor's number."""

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="fill_books")
    title = models.CharField(_("title"), max_length=200)
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    document = DocumentField()
    """A fills file as typed, without its loads."""
    received = models.TextField(default="", blank=True)

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return self.title


class FilledLoad(Correctable):
    """One load as it was entered: filled, counted, left."""

    book = models.ForeignKey(FillBook, on_delete=models.CASCADE, related_name="loads")
    on = models.DateField(_("day"))
    document = DocumentField()
    """A table [[load]] of a fills file, as typed."""
    area_m2 = models.FloatField(null=True)

    class Meta:
        ordering = ("on", "pk")

    def __str__(self) -> str:
        return f"{self.machine}, {self.on}"
