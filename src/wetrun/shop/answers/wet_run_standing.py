"""A wet run's answer, worked out again when its readings changed: what a page shows is never an old verdict."""

from __future__ import annotations

from typing import Final

from wetrun.shop.answers.wet_runs import is_judged, judge
from wetrun.shop.records.models import WetRun

_ANSWER: Final = ("problems", "verdict", "agrees", "sentence", "digest", "method", "in_us", "in_si")


def brought_up_to_date(wet_run: WetRun) -> WetRun:
    """Return a wet run whose answer is that of its readings as they are now.

    Parameters
    ----------
    wet_run : WetRun
        A proven one is left as it was proven.

    Returns
    -------
    WetRun
        The same, judged again if it has to be, which takes about a second for a boom of 72 tips; the answer is kept, so
        that nobody waits for it twice. Its version stays: nothing of what was typed is changed.
    """
    if wet_run.is_open and not is_judged(wet_run):
        judge(wet_run)
        # A run that was proven in the meantime keeps the answer it was proven with.
        open_run = WetRun.objects.filter(pk=wet_run.pk, proven_at=None)
        open_run.update(**{name: getattr(wet_run, name) for name in _ANSWER})
    return wet_run
