"""Answers to questions about readings: somebody looked again, and what was typed stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.run_document import rows_of
from wetrun.shop.answers.wet_run_standing import brought_up_to_date
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.readings import RunProven

LONGEST_REMARK: Final = 200
LONGEST_AT: Final = 60


def keep_standing(wet_run: WetRun, desk: Desk, readings: Sequence[str], *, at: str, remark: str) -> int:
    """Keep that readings stand as typed, signed by whoever says so.

    Parameters
    ----------
    wet_run : WetRun
        An open one.
    desk : Desk
        Who looked again.
    readings : sequence of str
        Their names, as the question gave them.
    at : str
        When, as it will be read.
    remark : str
        What was seen.

    Returns
    -------
    int
        How many were kept: only what is asked about has an answer, and only one.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    asked = {name for one in rows_of(brought_up_to_date(wet_run).in_us or {}, "questions") for name in one["names"]}
    wanted = [name for name in dict.fromkeys(readings) if name in asked]
    with transaction.atomic():
        now = WetRun.objects.select_for_update(of=("self",)).select_related("branch", "machine").get(pk=wet_run.pk)
        if not now.is_open:
            raise RunProven
        before = rows_of(now.document, "stands")
        known = {one.get("reading") for one in before if isinstance(one, dict)}
        signed = {"by": desk.user.name, "at": at[:LONGEST_AT], "remark": remark.strip()[:LONGEST_REMARK]}
        added = [{"reading": name, **signed} for name in wanted if name not in known]
        if added:
            now.document = {**now.document, "stands": [*before, *added]}
            kept(now, desk, _("stands as typed: %(what)s") % {"what": ", ".join(one["reading"] for one in added)})
    return len(added)
