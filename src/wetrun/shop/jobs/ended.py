"""Lets ended jobs go: what they did stands in the records, and pages look at the latest of a kind and subject only."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.db.models import Exists, OuterRef

from wetrun.shop.jobs.models import OPEN, Job

KEPT_FOR: Final = timedelta(days=90)
_AT_ONCE: Final = 500


def let_go(now: datetime) -> int:
    """Delete jobs that ended long ago and have a later one of the same kind and subject.

    Parameters
    ----------
    now : datetime
        What is counted back from.

    Returns
    -------
    int
        How many went, with their parts. Never more than some hundred at once, so that no writer waits for it.
    """
    later = Job.objects.filter(
        branch=OuterRef("branch"),
        kind=OuterRef("kind"),
        subject=OuterRef("subject"),
        subject_key=OuterRef("subject_key"),
        pk__gt=OuterRef("pk"),
    )
    old = Job.objects.exclude(state__in=OPEN).filter(Exists(later), ended_at__lt=now - KEPT_FOR)
    keys = list(old.order_by("pk").values_list("pk", flat=True)[:_AT_ONCE])
    return Job.objects.filter(pk__in=keys).delete()[1].get(Job._meta.label, 0)
