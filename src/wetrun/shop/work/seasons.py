"""Makes tip plans."""

from __future__ import annotations

from django.utils.translation import gettext as _

from wetrun.errors import NotDefined
from wetrun.shop.jobs.handlers import handles
from wetrun.shop.jobs.running import Result, Running
from wetrun.shop.records.models import Season


@handles("tip plan")
def tip_plan(job: Running) -> Result:
    """Make the tip plan of a season. A log that was tallied before the worker died is not tallied again."""
    from wetrun.shop.answers.tip_plans import keep_plan, tip_plan_of

    found = Season.objects.select_related("branch", "machine__customer")
    season = found.filter(pk=job.args["season"], branch=job.branch).first()
    if season is None:
        raise NotDefined(_("the season"), reason=_("it is no longer there"), remedy=_("Choose another one"))
    plan = tip_plan_of(season, progress=job.progress)
    return job.finish(lambda: {"tip_plan": keep_plan(plan, job.asked_by).pk})
