"""Jobs: long work as rows of the shop's own database, so that what was asked for outlives page, server and worker."""

from __future__ import annotations

from typing import Final

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from wetrun.shop.document_field import DocumentField


class State(models.TextChoices):
    """Where a job stands."""

    WAITING = "waiting", _("waiting")
    RUNNING = "running", _("under way")
    DONE = "done", _("done")
    FAILED = "failed", _("not done")
    CANCELLED = "cancelled", _("cancelled")


OPEN: Final = (State.WAITING, State.RUNNING)
MOST_ATTEMPTS: Final = 3


class Job(models.Model):
    """One piece of work. Whoever holds its lease does it; what may be written to it, `lease` says."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=60)
    """Which handler does it."""
    subject = models.CharField(max_length=60, blank=True, default="")
    subject_key = models.CharField(max_length=40, blank=True, default="")
    """Model and key of the record it is about: jobs know no records, pages do."""
    words = models.CharField(_("what"), max_length=200)
    args = DocumentField(default=dict)
    question = models.CharField(max_length=64, editable=False)
    """Hash of kind, subject and args: the same question asked twice is one job."""
    state = models.CharField(_("state"), max_length=9, choices=State.choices, default=State.WAITING)
    progress = models.FloatField(default=0)
    progress_words = models.CharField(max_length=200, blank=True, default="")
    result = DocumentField(null=True)
    problem = models.TextField(blank=True, default="")
    attempts = models.PositiveIntegerField(default=0)
    """How often it was begun; never counted back, so that it tells a late worker from the present one."""
    most_attempts = models.PositiveIntegerField(default=MOST_ATTEMPTS)
    worker = models.CharField(max_length=120, blank=True, default="")
    lease_until = models.DateTimeField(null=True)
    cancel_asked = models.BooleanField(default=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    made_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+", editable=False)
    waiting_since = models.DateTimeField(default=timezone.now, editable=False)
    begun_at = models.DateTimeField(null=True)
    """Beginning of the latest attempt."""
    begun_progress = models.FloatField(default=0)
    """What was done before the latest attempt."""
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-pk",)
        indexes = (
            models.Index(fields=("state", "lease_until")),
            models.Index(fields=("branch", "begun_at")),
        )
        constraints = (
            models.UniqueConstraint(
                fields=("branch", "question"),
                condition=Q(state__in=OPEN, cancel_asked=False),
                name="one_open_job_per_question",
            ),
            models.CheckConstraint(
                condition=Q(state=State.RUNNING, lease_until__isnull=False)
                | (~Q(state=State.RUNNING) & Q(lease_until=None)),
                name="a_lease_while_under_way",
            ),
            models.CheckConstraint(
                condition=Q(state__in=OPEN, ended_at=None) | (~Q(state__in=OPEN) & Q(ended_at__isnull=False)),
                name="an_end_when_ended",
            ),
        )

    def __str__(self) -> str:
        return self.words

    @property
    def is_open(self) -> bool:
        """Whether it is still to be done."""
        return self.state in OPEN


class JobPart(models.Model):
    """A finished part of a job, kept as it is finished: a job that was killed goes on instead of starting over."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="parts")
    key = models.CharField(max_length=200)
    value = DocumentField(null=True)
    attempt = models.PositiveIntegerField()
    """The attempt that finished it."""

    class Meta:
        ordering = ("pk",)
        constraints = (models.UniqueConstraint(fields=("job", "key"), name="a_part_once"),)

    def __str__(self) -> str:
        return f"{self.job}: {self.key}"
