"""What all records have in common: a branch, who made them and when, a version that two people cannot both write."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self, TypeVar

from django.core.exceptions import PermissionDenied
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from wetrun.shop.accounts.desk import Desk


class Changed(Exception):  # noqa: N818 - named as a reader would say it
    """Somebody else changed a record since it was read; ``now`` is what stands there now."""

    def __init__(self, now: BranchRecord) -> None:
        self.now = now
        super().__init__(f"{now} was changed in the meantime")


class Frozen(PermissionDenied):
    """A record that is never changed any more: it is proven, or signed."""


M = TypeVar("M", bound=models.Model)


class RecordManager(models.Manager[M]):
    """Finds records."""

    def of(self, desk: Desk) -> models.QuerySet[M]:
        """Return the records of the branch somebody works in; none without a branch."""
        return self.filter(branch=desk.branch) if desk.branch is not None else self.none()


class BranchRecord(models.Model):
    """A record of one branch."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    made_by = models.ForeignKey("accounts.User", null=True, on_delete=models.SET_NULL, related_name="+", editable=False)
    changed_at = models.DateTimeField(auto_now=True)
    version = models.PositiveIntegerField(_("version"), default=1)

    objects = RecordManager()

    class Meta:
        abstract = True

    def save_over(self, expected: int) -> Self:
        """Save this record if it still has the version somebody read, and count the version up.

        Parameters
        ----------
        expected : int
            The version that was read.

        Returns
        -------
        BranchRecord
            This record.

        Raises
        ------
        Changed
            With the record as it is now; nothing was saved. To be called inside a transaction.
        """
        kind = type(self)
        if not kind._default_manager.filter(pk=self.pk, version=expected).update(version=expected + 1):
            raise Changed(kind._default_manager.get(pk=self.pk))
        self.version = expected + 1
        self.save()
        return self
