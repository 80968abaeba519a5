"""Works changeovers out."""

from __future__ import annotations

from django.utils.translation import gettext as _

from wetrun.errors import NotDefined
from wetrun.shop.jobs.handlers import handles
from wetrun.shop.jobs.running import Result, Running
from wetrun.shop.records.models import Changeover


@handles("changeover")
def changeover(job: Running) -> Result:
    """Work a changeover out, and keep the answer, or what keeps it from one."""
    from wetrun.shop.answers.changeovers import changeover_of, keep_answer

    found = Changeover.objects.select_related("branch", "machine__customer", "season__machine__customer")
    asked = found.filter(pk=job.args["changeover"], branch=job.branch).first()
    if asked is None:
        raise NotDefined(_("the changeover"), reason=_("it is no longer there"), remedy=_("Begin a new one"))
    changeover_of(asked, job.progress)

    def save() -> Result:
        keep_answer(asked)
        return {"changeover": asked.pk, "problems": len(asked.problems)}

    return job.finish(save)
