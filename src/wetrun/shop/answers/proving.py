"""Proves a wet run: freezes what it says with everything it was said from, and lets it supersede an earlier one."""

from __future__ import annotations

from copy import deepcopy

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.errors import NotDefined
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.wet_runs import digest_of_files, document_of, fill, judged, laid_out_of
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import MonitorSettings, WetRun
from wetrun.shop.records.models.base import Frozen
from wetrun.shop.records.trail import told


def prove(wet_run: WetRun, desk: Desk, supersedes: WetRun | None = None) -> WetRun:
    """Prove a wet run: its readings, files, machine and answer stay as they are from now on.

    Parameters
    ----------
    wet_run : WetRun
        An open one. A machine that fails is proven to fail: the verdict is what is kept, and what stays unproven.
    desk : Desk
        Who proves it.
    supersedes : WetRun or None
        A proven run of the same machine whose place it takes.

    Returns
    -------
    WetRun
        Saved, with the monitor's numbers as a record of their own if the run has any.

    Raises
    ------
    WetrunError
        If it cannot be judged.
    Frozen
        If it is proven already.
    NotDefined
        If a reading came in meanwhile, or the other run cannot be superseded by it.
    Changed
        If somebody changed it meanwhile.
    """
    _check_open(wet_run)
    fill(wet_run, judged(wet_run))
    with transaction.atomic():
        # From here on no reading of this run is kept until it is proven; see `wetrun.shop.records.readings`.
        now = WetRun.objects.select_for_update().get(pk=wet_run.pk)
        _check_open(now)
        laid_out = laid_out_of(wet_run)
        if digest_of_files(laid_out.texts) != wet_run.digest:
            reason = _("a reading was kept while it was being judged")
            raise NotDefined(str(wet_run), reason=reason, remedy=_("Look at the result again, then prove it"))
        wet_run.files_then, wet_run.machine_then = dict(laid_out.texts), deepcopy(wet_run.machine.document)
        wet_run.document = document_of(wet_run)
        wet_run.proven_at, wet_run.proven_by = timezone.now(), desk.user
        kept(wet_run, desk, _("proven: %(verdict)s") % {"verdict": wet_run.verdict}, after=_trail_of(wet_run))
        _keep_settings(wet_run, desk)
        if supersedes is not None:
            _supersede(supersedes, wet_run, desk)
    return wet_run


def follow_up(wet_run: WetRun, desk: Desk) -> WetRun:
    """Return a new open wet run with everything that was read in a proven one, to be corrected and proven in its place.

    Parameters
    ----------
    wet_run : WetRun
        Proven.
    desk : Desk
        Who opens it.

    Returns
    -------
    WetRun
        Saved.
    """
    following = WetRun(
        branch=wet_run.branch,
        machine=wet_run.machine,
        season=wet_run.season,
        title=wet_run.title,
        units=wet_run.units,
        document=deepcopy(wet_run.document),
        on=wet_run.on,
        technician=wet_run.technician,
        follows=wet_run,
    )
    return kept(following, desk, _("opened to correct the run proven on %(day)s") % {"day": wet_run.proven_at})


def _trail_of(wet_run: WetRun) -> dict[str, str]:
    return {"verdict": wet_run.verdict, "sentence": wet_run.sentence, "digest": wet_run.digest}


def _check_open(wet_run: WetRun) -> None:
    if not wet_run.is_open:
        raise Frozen(_("This wet run is proven: it is superseded by another, never changed."))


def _keep_settings(wet_run: WetRun, desk: Desk) -> None:
    monitor = wet_run.document.get("monitor")
    if not isinstance(monitor, dict):
        return
    settings = MonitorSettings(
        branch=wet_run.branch,
        machine=wet_run.machine,
        wet_run=wet_run,
        units=wet_run.units,
        document=monitor,
        on=wet_run.on or desk.today,
        by=wet_run.technician or desk.user.name,
        why=_("wet run “%(title)s” proven") % {"title": wet_run.title},
    )
    kept(settings, desk, _("taken down from a proven wet run"))


def _supersede(earlier: WetRun, later: WetRun, desk: Desk) -> None:
    reason = ""
    if earlier.is_open:
        reason = _("it is not proven, so nothing supersedes it")
    elif earlier.machine_id != later.machine_id:
        reason = _("it is of another machine")
    # A proven run refuses to be saved; the link is all that is ever added to it, and only once.
    elif not WetRun.objects.filter(pk=earlier.pk, superseded_by=None).update(superseded_by=later):
        reason = _("another run supersedes it already")
    if reason:
        raise NotDefined(str(earlier), reason=reason, remedy=_("Prove this run by itself, or choose another"))
    told(earlier, _("superseded by “%(title)s”") % {"title": later.title}, desk.user)
