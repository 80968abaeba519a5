"""Drives sets over logs again."""

from __future__ import annotations

from django.utils.translation import gettext as _

from wetrun.errors import NotDefined
from wetrun.shop.jobs.handlers import handles
from wetrun.shop.jobs.running import Result, Running
from wetrun.shop.records.models import FieldLog, Replay, Season
from wetrun.shop.records.trail import told


@handles("replay")
def replay(job: Running) -> Result:
    """Drive the set of a plan, or another, over a log."""
    from wetrun.shop.answers.replays import ReplayAsked, replay_of

    args = dict(job.args)
    logs = FieldLog.objects.select_related("branch", "machine__customer")
    seasons = Season.objects.select_related("branch", "machine__customer")
    log = logs.filter(pk=args.pop("log"), branch=job.branch, taken_away_at=None).first()
    season = seasons.filter(pk=args.pop("season"), branch=job.branch).first()
    if log is None or season is None:
        raise NotDefined(_("the log or its season"), reason=_("it is no longer there"), remedy=_("Choose another one"))
    args.pop("digest", None)  # only tells one question from another
    done = replay_of(log, season, ReplayAsked(**args), job.progress)
    return job.finish(lambda: {"replay": _kept(done, job).pk})


def _kept(done: Replay, job: Running) -> Replay:
    done.made_by = job.asked_by
    done.save()
    told(done.log, f"{done.tip} driven over it for {done.pass_name}", job.asked_by)
    return done
