"""Counts again what is not right in seasons, after a file they share was replaced."""

from __future__ import annotations

from wetrun.shop.answers.shared_files import RECOUNT
from wetrun.shop.jobs.handlers import handles
from wetrun.shop.jobs.running import Result, Running
from wetrun.shop.records.models import Machine


@handles(RECOUNT)
def recount_seasons(job: Running) -> Result:
    """Look through the seasons of the machines a job names; one that is gone by now is passed over."""
    from wetrun.shop.answers.seasons import recount

    keys = list(job.args["machines"])
    machines = Machine.objects.filter(branch=job.branch).in_bulk(keys)
    for done, key in enumerate(keys):
        job.progress(done / len(keys), f"{done} of {len(keys)} machines")
        if key in machines:
            recount(machines[key])
    return {"machines": len(keys)}
