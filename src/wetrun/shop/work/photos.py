"""Looks at photos that were sent."""

from __future__ import annotations

from django.utils.translation import gettext as _

from wetrun.errors import NotDefined
from wetrun.shop.answers.photos import KIND, look_at, swept
from wetrun.shop.handing.models import LOOKED_AT, Photo
from wetrun.shop.jobs.handlers import handles
from wetrun.shop.jobs.running import Result, Running


@handles(KIND)
def photo(job: Running) -> Result:
    """Write a photo anew. One that cannot be shown is a result, not a failure."""
    found = Photo.objects.select_related("branch").filter(pk=job.args["photo"], branch=job.branch, state=LOOKED_AT)
    one = found.first()
    if one is None:
        raise NotDefined(_("the photo"), reason=_("it was taken away"), remedy=_("Send it again"))
    came = one.stored
    look_at(one)

    def save() -> Result:
        one.save_over(one.version)
        return {"photo": one.pk, "state": one.state}

    result = job.finish(save)
    swept(came)
    return result
