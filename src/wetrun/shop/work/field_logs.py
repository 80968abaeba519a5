"""Reads field logs."""

from __future__ import annotations

from django.utils.translation import gettext as _

from wetrun.errors import NotDefined
from wetrun.shop.jobs.handlers import handles
from wetrun.shop.jobs.running import Result, Running
from wetrun.shop.records.models import FieldLog


@handles("field log")
def field_log(job: Running) -> Result:
    """Read a log that was handed in, and tally it. A log that cannot be used is a result, not a failure."""
    from wetrun.shop.answers.field_logs import keep_reading_of, read_log

    found = FieldLog.objects.select_related("branch", "machine__customer")
    log = found.filter(pk=job.args["log"], branch=job.branch, taken_away_at=None).first()
    if log is None:
        raise NotDefined(_("the log"), reason=_("it was taken away"), remedy=_("Hand it in again"))
    read_log(log, job.progress)

    def save() -> Result:
        keep_reading_of(log)
        return {"log": log.pk, "state": log.state}

    return job.finish(save)
