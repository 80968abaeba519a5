"""What templates ask of jobs."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from wetrun.shop.jobs.estimate import silence, time_left
from wetrun.shop.jobs.models import Job, State

register = template.Library()

PLACES: Final = {
    "tip plan": "tip-plan",
}
"""The page that shows what a kind of job made, where that is not the page of the record it is about."""
QUIET: Final = timedelta(minutes=1)
"""Nobody at a job for longer than this is worth a word."""


@register.filter
def subject_address(job: Job) -> str:
    """Return the address of the page that shows what a job is about; nothing if there is none.

    A record's page is called as Django calls its model, and so is the part of the address that holds its key.
    """
    if not job.subject:
        return ""
    for name in (PLACES.get(job.kind, job.subject), job.subject):
        try:
            return reverse(name, kwargs={job.subject: job.subject_key})
        except NoReverseMatch:
            continue
    return ""


@register.filter
def percent_done(job: Job) -> int:
    """Return how much of a job is done in whole per cent; all of it only when it is."""
    return 100 if job.state == State.DONE else min(99, int(job.progress * 100))


@register.filter
def left_words(job: Job) -> str:
    """Return about how long a job will still take; nothing while that cannot be said."""
    left = time_left(job, timezone.now())
    return "" if left is None else _("about %(time)s left") % {"time": length_words(left)}


@register.filter
def silence_words(job: Job) -> str:
    """Return what to say of an open job that nobody has been at for a while; nothing if somebody is."""
    quiet = silence(job, timezone.now())
    if quiet is None or quiet < QUIET:
        return ""
    if job.state == State.WAITING:
        return _(
            "Nobody has taken it up for %(time)s. Either other work is before it, or no worker runs: whoever keeps the "
            "server can start one."
        ) % {"time": length_words(quiet)}
    return _("Its worker has been silent for %(time)s. The next one goes on where this one was.") % {
        "time": length_words(quiet)
    }


def length_words(length: timedelta) -> str:
    """Return a length of time as one would say it.

    Parameters
    ----------
    length : timedelta
        Not negative.

    Returns
    -------
    str
        Whole tens of seconds up to a minute and a half, then minutes, then hours; never less than ten seconds.

    Example
    -------
    >>> [length_words(timedelta(seconds=s)) for s in (3, 64, 100, 7000)]
    ['10 s', '60 s', '2 min', '2 h']
    """
    seconds = length.total_seconds()
    if seconds < 90:
        return _("%(n)d s") % {"n": max(10, 10 * round(seconds / 10))}
    if seconds < 90 * 60:
        return _("%(n)d min") % {"n": round(seconds / 60)}
    return ngettext("%(n)d h", "%(n)d h", round(seconds / 3600)) % {"n": round(seconds / 3600)}
