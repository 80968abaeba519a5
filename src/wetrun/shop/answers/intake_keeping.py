"""Keeps what comes over an intake's link: every step as it was typed, with its line in the trail."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.answers.intake_draft import Draft
from wetrun.shop.document_field import document_text
from wetrun.shop.intake.models import Intake
from wetrun.shop.links.models import Link
from wetrun.shop.links.sight import LinkRefused, Refusal, used
from wetrun.shop.records.trail import told

MOST_LETTERS: Final = 200_000
"""Of a whole draft: a hundred times what a long season takes, and too little to fill a disk with."""


class DraftTooLong(ValueError):  # noqa: N818 - named as a reader would say it
    """More was typed than a draft holds; the sentence says so, and nothing of the last step was kept."""

    def __init__(self) -> None:
        super().__init__(
            _("This is more than a form holds, so this step was not kept. Leave out what is not about the spraying.")
        )


def intake_of(link: Link) -> Intake:
    """Return the intake a link opens.

    Raises
    ------
    LinkRefused
        If it is gone, or closed to its customer.
    """
    found = Intake.objects.select_related("branch", "machine__customer", "season")
    intake = found.filter(pk=link.subject_key, branch=link.branch_id).first()
    if intake is None or intake.put_away_at is not None:
        raise LinkRefused(Refusal.REVOKED)
    if intake.handed_in_at is not None:
        raise LinkRefused(Refusal.USED_UP)
    return intake


def keep_typed(intake: Intake, change: Callable[[Draft], Draft], what: str) -> Intake:
    """Keep a change of a draft, made to what stands there now and not to what a page was filled from.

    Parameters
    ----------
    intake : Intake
        Open to its customer.
    change : callable
        Gives the new draft for the one that stands there.
    what : str
        For the trail.

    Returns
    -------
    Intake
        As it stands now.

    Raises
    ------
    DraftTooLong
        If it would not fit; nothing is kept then.
    """
    with transaction.atomic():
        now = still_open(intake)
        before, now.document = now.document, change(now.document)
        if len(document_text(now.document)) > MOST_LETTERS:
            raise DraftTooLong
        if now.document != before:
            _keep(now)
            told(now, what, None, before=before, after=now.document)
    return now


def keep_units(intake: Intake, units: str) -> Intake:
    """Keep the units a customer wants printed; what was typed keeps its own."""
    with transaction.atomic():
        now = still_open(intake)
        if units in {"us", "si"} and units != now.units:
            before, now.units = now.units, units
            _keep(now)
            told(now, _("units changed over the link"), None, before={"units": before}, after={"units": units})
    return now


def hand_in(intake: Intake, link: Link, *, filled_in_by: str, remarks: str) -> None:
    """Hand an intake in: from now on its link opens nothing, and it waits for the specialist.

    Parameters
    ----------
    intake : Intake
        Open to its customer.
    link : Link
        Open.
    filled_in_by : str
        Who did it.
    remarks : str
        What else there is to say.

    Raises
    ------
    LinkRefused
        If the link was closed in the meantime; nothing is handed in then.
    """
    with transaction.atomic():
        used(link)
        now = still_open(intake)
        now.filled_in_by, now.remarks, now.handed_in_at = filled_in_by, remarks, timezone.now()
        _keep(now)
        told(now, _("handed in over the link"), None)


def still_open(intake: Intake) -> Intake:
    """Return an intake as it stands now, locked; to be called inside a transaction.

    Raises
    ------
    LinkRefused
        If it was closed to its customer meanwhile.
    """
    now = Intake.objects.select_for_update().filter(pk=intake.pk).first()
    if now is None or now.put_away_at is not None:
        raise LinkRefused(Refusal.REVOKED)
    if now.handed_in_at is not None:
        raise LinkRefused(Refusal.USED_UP)
    return now


def _keep(intake: Intake) -> None:
    intake.typed_at = timezone.now()
    intake.save_over(intake.version)
