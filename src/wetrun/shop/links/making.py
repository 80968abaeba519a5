"""Makes links, and takes them back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.links.tokens import drawn, hash_of
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import BranchRecord, Machine
from wetrun.shop.records.trail import told


@dataclass(frozen=True, slots=True)
class NewLink:
    """A link with its token, for the one page that shows it.

    Attributes
    ----------
    link : Link
        Saved.
    token : str
        Shown once, kept nowhere.
    """

    link: Link
    token: str


def links_to(record: BranchRecord, purpose: Purpose) -> models.QuerySet[Link]:
    """Return the links of a purpose that were made to a record, the latest first."""
    return Link.objects.filter(
        branch=record.branch_id, purpose=purpose.value, subject=record._meta.model_name, subject_key=str(record.pk)
    )


def end_of_day(day: date, zone: ZoneInfo) -> datetime:
    """Return the last minute of a day on a branch's clock: a link opens to the end of its last day."""
    return datetime.combine(day + timedelta(days=1), time(), tzinfo=zone) - timedelta(minutes=1)


def made(desk: Desk, purpose: Purpose, record: BranchRecord, machine: Machine, *, until: datetime) -> NewLink:
    """Make a link to a record; those made before to the same record for the same purpose open nothing any more.

    Parameters
    ----------
    desk : Desk
        Of whoever makes it.
    purpose : Purpose
        What it is for.
    record : BranchRecord
        What it leads to, and nothing else.
    machine : Machine
        The machine the record hangs on, or the record itself.
    until : datetime
        When it expires.

    Returns
    -------
    NewLink
        With the token, which nobody can ask for again.
    """
    token = drawn()
    link = Link(
        branch=record.branch,
        purpose=purpose.value,
        machine=machine,
        subject=record._meta.model_name or "",
        subject_key=str(record.pk),
        token_hash=hash_of(token),
        until=until,
    )
    with transaction.atomic():
        for earlier in links_to(record, purpose).filter(revoked_at=None, used_at=None):
            revoked(desk, earlier)
        kept(link, desk, _("link made"), after={"until": until})
    return NewLink(link, token)


def revoked(desk: Desk, link: Link) -> bool:
    """Take a link back.

    Parameters
    ----------
    desk : Desk
        Of whoever does it.
    link : Link
        Any.

    Returns
    -------
    bool
        Whether there was anything left to take back.
    """
    still = Link.objects.filter(pk=link.pk, revoked_at=None, used_at=None)
    with transaction.atomic():
        done = bool(still.update(revoked_at=timezone.now(), revoked_by=desk.user))
        if done:
            told(link, _("link revoked"), desk.user)
    return done
